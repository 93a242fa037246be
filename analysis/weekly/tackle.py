"""What was towed in a week, and what it brought: by kind of gear and by lure, as far as told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pandas as pd

from analysis.weekly.catches import strikes_told
from analysis.weekly.club_log import Logbook, groups_of
from analysis.weekly.disclosure import parts_of
from analysis.weekly.disclosure_audit import gives_away, parts_told
from analysis.weekly.figures import Row

COLUMNS = ("kind", "lure")

Groups = Sequence[tuple[str, ...]]


def tackle_of(
    book: Logbook, week: str, slices: pd.DataFrame, bands: Sequence[Sequence[int]]
) -> dict[str, tuple[Row, ...]]:
    """Return rod-hours and strikes by kind of gear and by lure.

    A table is left out where it would, with the bands, the species and the totals of the same
    week, give one boat away.

    Parameters
    ----------
    book : Logbook
    week : str
    slices : DataFrame
        The week's slices with ``boat, hours, strikes, kind, lure, band``.
    bands : sequence of sequences of int
        The bands whose rod-hours are told as one.

    Returns
    -------
    dict of str to tuple of Row
        ``kind`` and ``lure``, empty where left out.
    """
    least = book.audience.least
    tables: dict[str, Groups] = {
        column: groups_of(slices, column, "hours", least) for column in COLUMNS
    }
    counts = book.counts(week)
    tell_strikes = counts is not None and counts.placed is not None
    strikes = book.strikes[book.strikes["week"] == week]
    while (
        least > 1
        and tables
        and (
            _hours_give_away(slices, tables, bands)
            or (tell_strikes and _strikes_give_away(book, slices, strikes, tables))
        )
    ):
        tables.popitem()  # the lures first
    return {
        column: _rows(book, slices, column, tables.get(column, ()), tell_strikes)
        for column in COLUMNS
    }


def _hours_give_away(
    slices: pd.DataFrame, tables: Mapping[str, Groups], bands: Sequence[Sequence[int]]
) -> bool:
    """Audit the rod-hours over boat, band, kind and lure."""
    atoms = slices[["boat", "band", *COLUMNS]].drop_duplicates()
    return gives_away(parts_told(atoms, {"band": bands, **tables}), list(atoms["boat"]))


def _strikes_give_away(
    book: Logbook, slices: pd.DataFrame, strikes: pd.DataFrame, tables: Mapping[str, Groups]
) -> bool:
    """Audit the strikes over boat, species, kind and lure.

    What a boat towed and which species it ever logged is taken to be known, but not whether it
    had a strike this week.
    """
    towed = slices[["boat", *COLUMNS]].drop_duplicates()
    if not strikes["placed"].all():
        # Those on no rod of the records are in the species and in no table of tackle.
        adrift = towed[["boat"]].drop_duplicates()
        towed = pd.concat([towed, adrift.assign(kind=None, lure=None)], ignore_index=True)
    logged = book.strikes[book.strikes["species"].isin(strikes["species"])]
    atoms = towed.merge(logged[["boat", "species"]].drop_duplicates(), on="boat")
    told = parts_told(atoms, {"species": book.species_groups(strikes), **tables})
    return gives_away(told, list(atoms["boat"]))


def _rows(
    book: Logbook, slices: pd.DataFrame, column: str, groups: Groups, tell_strikes: bool
) -> tuple[Row, ...]:
    apart = [slices[slices[column].isin(names)] for names in groups]
    told = strikes_told([parts_of(rows, "strikes") for rows in apart], book.audience.least)
    return tuple(
        Row(
            # Kinds are words of ours, lures what somebody typed.
            **({"names": names} if column == "kind" else book.told_names(names)),
            rod_hours=float(rows["hours"].sum()),
            strikes=int(rows["strikes"].sum()) if tell_strikes and tell else None,
        )
        for names, rows, tell in zip(groups, apart, told, strict=True)
    )
