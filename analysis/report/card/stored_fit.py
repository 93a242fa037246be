"""Owns the stored fit: what cards rest on, kept beside a review, found again by what made it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from analysis.render.staging import put_in_place, staging
from analysis.report.fingerprints import digest, inputs_digest, program_digest
from analysis.report.packed import UnreadableError, pack, unpack
from analysis.spread.basis import Basis, basis_of, days_water, learnt_water
from analysis.water.day import DaysWater

if TYPE_CHECKING:
    from analysis.decision.answer import Answer
    from analysis.rates.build_exposure import BoatSeason
    from analysis.season import Season

STORE = ".season-fit.npz"
"""Hidden file of a review's folder. Whoever deletes it loses time alone."""


@dataclass(frozen=True, kw_only=True)
class StoredFit:
    """What cards rest on.

    Attributes
    ----------
    key : str
        Fingerprint of the logs and the program that it was made of.
    boats : tuple of Basis
        One a boat and season, the latest season first.
    newer : bool
        Whether a card made it although a review was there, whose log or program is another.
    """

    key: str
    boats: tuple[Basis, ...]
    newer: bool = False


def key_of(folders: Sequence[Path]) -> str:
    """Return the fingerprint of a fit of some logs by this program."""
    return digest([inputs_digest(folders), program_digest()])


class Waters:
    """What is known of each water on each day; asked once, unless an answer's strikes told more.

    Parameters
    ----------
    season : Season
    """

    def __init__(self, season: Season) -> None:
        self._every = (*season.seasons, *season.earlier)
        self._asked: dict[tuple[int, int | None], DaysWater | None] = {}

    def of(self, one: BoatSeason, answer: Answer, log: int) -> DaysWater | None:
        """Return the water of a season folder, whose number in the answer is ``log``."""
        learnt = learnt_water(answer, log)
        key = id(one.water), None if learnt is None else id(answer)
        if key not in self._asked:
            sharing = [other for other in self._every if other.water is one.water]
            self._asked[key] = days_water(sharing, learnt)
        return self._asked[key]


def fit_of(season: Season, waters: Waters | None = None) -> StoredFit:
    """Gather what cards rest on from an analysed season, and from the one before it.

    Parameters
    ----------
    season : Season
    waters : Waters, optional
        Its waters, where they are asked for something else, too.
    """
    waters = waters or Waters(season)
    boats = _bases(season.answer, season.seasons, waters)
    if season.before is not None:
        boats += _bases(season.before, season.earlier, waters)
    return StoredFit(key=key_of(season.folders), boats=tuple(boats))


def species_of(season: Season, waters: Waters | None = None) -> tuple[Basis, ...]:
    """Gather the same of each species whose depth the season reviewed can tell in some month.

    Parameters
    ----------
    season : Season
    waters : Waters, optional
        As of `fit_of`.
    """
    waters = waters or Waters(season)
    return tuple(
        basis
        for species, answer in season.by_species.items()
        if any(period.judgement.verdict != "open" for period in answer.periods[1:])
        for basis in _bases(answer, season.seasons, waters, species)
    )


def _bases(
    answer: Answer, some: Sequence[BoatSeason], waters: Waters, species: str = ""
) -> list[Basis]:
    """Gather what advice rests on of each boat of an answer."""
    return [
        basis_of(answer, one, log, waters.of(one, answer, log), species)
        for log, one in enumerate(some)
        if not one.effort.slices.empty
    ]


def stage_fit(fit: StoredFit, folder: Path) -> None:
    """Write a fit into a scratch folder, to be put in place with other files."""
    pack(fit, folder / STORE)


def store_fit(fit: StoredFit, folder: Path) -> None:
    """Put a fit in place in a folder.

    Raises
    ------
    WriteError
        When the folder cannot be written to.
    """
    with staging(folder) as scratch:
        stage_fit(fit, scratch)
        put_in_place(scratch, folder)


def find_fit(places: Iterable[Path], key: str) -> StoredFit | None:
    """Return the first fit of a fingerprint in some folders; None where there is none."""
    for place in places:
        try:
            fit = unpack(place / STORE, StoredFit)
        except (FileNotFoundError, UnreadableError):
            continue
        if fit.key == key:
            return fit
    return None
