"""What some boats logged, week by week: the counts that enough boats stand behind."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pandas as pd

from analysis.effort.count import sets_set_aside
from analysis.log.files.words import plain
from analysis.log.wording.spelling import same_name
from analysis.rates.build_exposure import BoatSeason
from analysis.review.season_course import week_of
from analysis.review.species import spellings
from analysis.weekly.catches import outcomes_told
from analysis.weekly.disclosure import (
    Audience,
    audience_of,
    merge_small,
    parts_of,
    safe,
    stands,
)
from analysis.weekly.figures import Counts, Row


@dataclass(frozen=True, kw_only=True, eq=False)
class Logbook:
    """Trips, strikes and rod-hours of all season folders, each with its boat and week.

    A trip belongs whole to the ISO week of the local date on which it began.

    Attributes
    ----------
    seasons : tuple of BoatSeason
    audience : Audience
    trips : DataFrame
        ``log, boat, trip, week, area``; ``log`` is the number of the season folder.
    strikes : DataFrame
        ``log, boat, trip, week, species, outcome, placed``.
    slices : DataFrame
        ``log, boat, trip, week, set, hours, strikes``.
    aside : DataFrame
        ``log, boat, trip, week, hours``: rows of sets that were set aside, repeated ones left
        out; NaN where their times do not tell the hours.
    lures : dict
        Each lure as written to how most write it.
    tellable : frozenset of str
        Species and lures that enough boats wrote down, at any time, to be named.
    """

    seasons: tuple[BoatSeason, ...]
    audience: Audience
    trips: pd.DataFrame
    strikes: pd.DataFrame
    slices: pd.DataFrame
    aside: pd.DataFrame
    lures: Mapping[str, str]
    tellable: frozenset[str]
    _counted: dict[str, Counts | None] = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, seasons: Sequence[BoatSeason]) -> Logbook:
        """Gather season folders.

        Raises
        ------
        SharingError
            For two boats of which one does not allow it.
        """
        audience = audience_of(season.log.boat for season in seasons)
        trips = _gathered(seasons, lambda season: season.log.trips)
        trips["week"] = week_of(trips["date"])
        strikes = _gathered(seasons, lambda season: season.effort.strikes)
        species = spellings(strikes["species"].astype(str))
        strikes["species"] = strikes["species"].map(species)
        slices = _gathered(seasons, lambda season: season.effort.slices)
        aside = _gathered(seasons, lambda season: sets_set_aside(season.log, season.effort))
        aside["week"] = week_of(aside["date"])
        lures = spellings_of_lures(slices["lure"])
        week = trips.set_index(["log_number", "trip"])["week"]
        for frame in (strikes, slices):
            of = pd.MultiIndex.from_frame(frame[["log_number", "trip"]])
            frame["week"] = week.reindex(of).to_numpy()
        written = pd.concat(
            [
                strikes[["boat"]].assign(name=strikes["species"]),
                slices[["boat"]].assign(name=slices["lure"].map(lures)),
            ]
        )
        boats = written.groupby("name")["boat"].nunique()
        return cls(
            seasons=tuple(seasons),
            audience=audience,
            trips=trips[["log_number", "boat", "trip", "week", "area"]],
            strikes=strikes[["log_number", "boat", "trip", "week", "species", "outcome", "placed"]],
            slices=slices[["log_number", "boat", "trip", "week", "set", "hours", "strikes"]],
            aside=aside[["log_number", "boat", "trip", "week", "hours"]],
            lures=lures,
            tellable=frozenset({"", *boats.index[boats >= audience.least]}),
        )

    def enough(self, boats: int) -> bool:
        """Tell whether so many boats are enough for a figure."""
        return boats >= self.audience.least

    def sets_in(self, week: str) -> int:
        """Count the sets whose rod-hours count in a week."""
        slices = self.slices[self.slices["week"] == week]
        return len(slices[["log_number", "set"]].drop_duplicates())

    def counts(self, week: str) -> Counts | None:
        """Return the figures of a week; None where it has no trip, or of too few boats."""
        if week not in self._counted:
            self._counted[week] = self._count(week)
        return self._counted[week]

    def _count(self, week: str) -> Counts | None:
        trips = self.trips[self.trips["week"] == week]
        boats = trips["boat"].nunique()
        if trips.empty or not self.enough(boats):
            return None
        least = self.audience.least
        slices = self.slices[self.slices["week"] == week]
        fished = stands(parts_of(slices, "hours"), least)
        counts = Counts(
            boats=int(boats),
            trips=len(trips) if stands(parts_of(trips), least) else None,
            rod_hours=float(slices["hours"].sum()) if fished else None,
        )
        strikes = self.strikes[self.strikes["week"] == week]
        return self._with_catch(counts, strikes) if safe(parts_of(strikes), least) else counts

    def _with_catch(self, counts: Counts, strikes: pd.DataFrame) -> Counts:
        """Add what was caught, the strikes of the week being told."""
        least = self.audience.least
        groups = self.species_groups(strikes)
        apart = [strikes[strikes["species"].isin(names)] for names in groups]
        columns, flags = outcomes_told([_outcomes(rows) for rows in apart], least)
        placed = strikes["placed"].astype(bool)
        tell_placed = counts.rod_hours is not None and all(
            safe(parts_of(strikes[rows]), least) for rows in (placed, ~placed)
        )
        all_told = _numbers(strikes, columns)
        rows_told = [
            _numbers(rows, columns if told else ()) for rows, told in zip(apart, flags, strict=True)
        ]
        return replace(
            counts,
            strikes=len(strikes),
            landed=all_told.get("landed"),
            released=all_told.get("released"),
            placed=int(placed.sum()) if tell_placed else None,
            species=tuple(
                Row(
                    **self.told_names(names),
                    strikes=len(rows),
                    landed=told.get("landed"),
                    released=told.get("released"),
                )
                for names, rows, told in zip(groups, apart, rows_told, strict=True)
            ),
        )

    def species_groups(self, strikes: pd.DataFrame) -> list[tuple[str, ...]]:
        """Group the species of some strikes so that enough boats stand behind each group."""
        return groups_of(strikes, "species", None, self.audience.least)

    def told_names(self, names: Sequence[str]) -> dict[str, Any]:
        """Return which of some names may be told, and whether there are others."""
        told = [name for name in names if name in self.tellable]
        return {"names": tuple(_sorted(told)), "more": len(told) < len(names)}

    def areas(self, week: str) -> tuple[tuple[str, ...], bool]:
        """Return the areas fished that may be named, and whether there were others.

        An area is named where enough boats fished there, or where a boat that fished there has
        ``name_areas = true`` under ``[sharing]``.
        """
        trips = self.trips[(self.trips["week"] == week) & (self.trips["area"] != "")]
        named, others = {}, False
        for key, rows in trips.groupby(trips["area"].map(same_name)):
            allowed = any(
                self.seasons[log].log.boat.sharing.get("name_areas", False)
                for log in rows["log_number"]
            )
            # Even a boat alone is no exception: its report may be handed on.
            if rows["boat"].nunique() >= max(self.audience.least, 3) or allowed:
                named[str(key)] = str(rows["area"].mode().iloc[0])
            else:
                others = True
        return tuple(named[key] for key in sorted(named)), others

    def boats_named(self, week: str) -> tuple[str, ...]:
        """Return the boats that fished and may be named."""
        logs = self.trips.loc[self.trips["week"] == week, "log_number"].unique()
        boats = [self.seasons[log].log.boat for log in logs]
        refused = {same_name(boat.name) for boat in boats if not boat.name_boat}
        return tuple(sorted({b.name for b in boats if same_name(b.name) not in refused}))

    @property
    def club(self) -> str | None:
        """Name of the club, where all boats are of the same one."""
        clubs = {same_name(season.log.boat.club or "") for season in self.seasons}
        return self.seasons[0].log.boat.club if len(clubs) == 1 else None


def _outcomes(strikes: pd.DataFrame) -> dict[str, dict[str, float]]:
    """Count strikes by outcome and boat."""
    outcome = strikes["outcome"].where(strikes["outcome"].isin(["landed", "released"]), "neither")
    return {name: parts_of(strikes[outcome == name]) for name in ("landed", "released", "neither")}


def _numbers(strikes: pd.DataFrame, columns: Sequence[str]) -> dict[str, int]:
    """Count strikes with each of some outcomes."""
    return {name: int((strikes["outcome"] == name).sum()) for name in columns}


def spellings_of_lures(names: pd.Series) -> dict[str, str]:
    """Gather lures that differ only in capitals and spaces, by the most frequent spelling.

    Likeness of letters, as for species, would take 'Ember 7' for 'Ember 9'.
    """
    counts = names.value_counts()
    title: dict[str, str] = {}
    for name in counts.index:
        title.setdefault(same_name(str(name)), str(name))
    return {str(name): title[same_name(str(name))] for name in counts.index}


def groups_of(
    rows: pd.DataFrame, column: str, weight: str | None, least: int
) -> list[tuple[str, ...]]:
    """Group the values of a column so that enough boats stand behind each group.

    Parameters
    ----------
    rows : DataFrame
        With ``boat``.
    column : str
    weight : str or None
        Column that says how much each row adds; each adds one by default.
    least : int

    Returns
    -------
    list of tuple of str
        Every value in exactly one group.
    """
    added = np.ones(len(rows)) if weight is None else rows[weight].to_numpy(dtype=float)
    cells: dict[str, dict[str, float]] = {}
    each = pd.Series(added).groupby([rows[column].to_numpy(), rows["boat"].to_numpy()], sort=False)
    sums = each.sum()
    for name, boat, part in sums.reset_index().itertuples(index=False):
        cells.setdefault(str(name), {})[str(boat)] = float(part)
    # Where all are one, that one is the total, which is told anyway.
    told, merged = merge_small(cells, least)
    return [*((name,) for name in told), *([tuple(merged)] if merged else [])]


def _sorted(names: list[str]) -> list[str]:
    """Return names in the order of the alphabet, one that is not written last."""
    return sorted(names, key=lambda name: (not name, name.casefold()))


def _gathered(
    seasons: Sequence[BoatSeason], frame_of: Callable[[BoatSeason], pd.DataFrame]
) -> pd.DataFrame:
    """Put one frame of every season below each other, with its log and its boat's key."""
    frames = [
        plain(frame_of(season)).assign(log_number=log, boat=same_name(season.log.boat.name))
        for log, season in enumerate(seasons)
    ]
    return pd.concat(frames, ignore_index=True)
