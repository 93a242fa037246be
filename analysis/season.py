"""From season folders to every result table: the one place that knows the order."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from importlib.metadata import version
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.decision.answer import Answer, answer
from analysis.decision.caps import Cap
from analysis.diagnostics.checks import check_table
from analysis.diagnostics.sensitivity import compare_strata
from analysis.effort import count_effort
from analysis.effort.gaps import without_hours
from analysis.effort.losses import unheld
from analysis.effort.on_board import calibrations_of
from analysis.errors import SET_ASIDE_COLUMNS
from analysis.log import SeasonLog, read_log
from analysis.log.files.words import plain
from analysis.log.twice import refuse_twice
from analysis.rates.build_exposure import (
    BoatSeason,
    combine,
    further_of,
    gaps_of,
    join,
    sets_without_depth,
    usual_doubts,
)
from analysis.rates.exposure import Exposure
from analysis.rates.model_selection import RULE, UNSEEN_RULE
from analysis.rates.slice_depths import slice_depths
from analysis.rates.standardised import TemperatureAt
from analysis.review.findings import findings_table
from analysis.review.tables import review
from analysis.show import sentences
from analysis.show.season.log_words import first_words
from analysis.show.sentences import stages
from analysis.spread.plan import check_plan
from analysis.spread.rods import refuse_rods
from analysis.stats.beside import Errand, beside, share_out
from analysis.stats.threads import one_thread
from analysis.summary import Summary
from analysis.units import DEFAULT_BAND, Units, band_height_m
from analysis.water.table import water_table
from analysis.water.waters import waters_of

READINGS_TO_PART = 500
"""Readings from which a second process makes out the water while gear is calibrated."""

Progress = Callable[[str, float], None]


@dataclass(frozen=True, kw_only=True)
class Options:
    """What a person may choose of an analysis.

    Attributes
    ----------
    band : str or None
        Height of the depth bands with its unit, such as ``10 ft``; by default 10 ft or 3 m.
    seed : int
        Of every draw: the same log gives the same result.
    rods : int or None
        Rods of next season's starting spread; by default those usually down, eight at most.
    gears : tuple of str or None
        Gears on board next season; by default all of boat.toml.
    plan_for : str or None
        Period of this season that the starting spread is made for, such as ``2026-05``, ``May``
        or ``season``; see `analysis.spread.plan.plan_period`.
    lures : bool
        Whether each lure has an effect of its own, shrunk as those of gears are.
    sensitivity : bool
        Whether the season's bands are also told by the other ways to account for days and hours.
    """

    band: str | None = None
    seed: int = 20260401
    rods: int | None = None
    gears: tuple[str, ...] | None = None
    plan_for: str | None = None
    lures: bool = False
    sensitivity: bool = False

    def __post_init__(self) -> None:
        """Refuse bands of an absurd height, and a number of rods that no boat puts down.

        Raises
        ------
        UsageError
        """
        if self.band is not None:
            band_height_m(self.band)
        refuse_rods(self.rods)

    def band_m(self, units: Units) -> float:
        """Height of the bands in metres."""
        return band_height_m(self.band or f"{DEFAULT_BAND[units.depth]} {units.depth}")


@dataclass(frozen=True, kw_only=True)
class Season:
    """All that was worked out of some season folders.

    Attributes
    ----------
    tables : mapping of str to DataFrame
        By the name of the result file.
    summary : Summary
        What ``summary.json`` holds.
    answer : Answer
        The fitted model and judged bands of the season reviewed, for further questions.
    seasons : tuple of BoatSeason
        The season folders of the year reviewed.
    before : Answer or None
        The year before by the same calculation, where its logs were given.
    earlier : tuple of BoatSeason
        The season folders of that year.
    folders : tuple of Path
        All that were read.
    by_species : mapping of str to Answer
        The season reviewed by the strikes of each species that has enough.
    """

    tables: Mapping[str, pd.DataFrame]
    summary: Summary
    answer: Answer
    seasons: tuple[BoatSeason, ...]
    before: Answer | None
    earlier: tuple[BoatSeason, ...] = ()
    folders: tuple[Path, ...] = ()
    by_species: Mapping[str, Answer] = field(default_factory=dict)


@one_thread
def analyse(
    folders: Sequence[Path], options: Options | None = None, progress: Progress | None = None
) -> Season:
    """Analyse season folders of one or more boats and years.

    The latest year among them is reviewed; its boats are fitted together, each strike compared
    only with rods of its own boat at that time. The year before, if given, is fitted by the same
    calculation for comparison.

    Parameters
    ----------
    folders : sequence of Path
    options : Options, optional
    progress : callable, optional
        Told what is being done and how far it is, 0 to 1.

    Returns
    -------
    Season

    Raises
    ------
    LogError
        Where a folder cannot be read.
    UsageError
        For a gear or a period of the options that the season does not have; nothing is fitted.
    """
    chosen = options or Options()
    tell = progress or _silent
    everyone = read_seasons(folders, lambda stage, share: tell(stage, 0.3 * share))
    year = max(season.log.year for season in everyone)
    current = tuple(season for season in everyone if season.log.year == year)
    earlier = tuple(season for season in everyone if season.log.year == year - 1)
    units = current[0].log.boat.units
    tell(stages.JOINING, 0.3)
    exposures = joined(everyone, vetted=current)
    months = set(_of(current, everyone, exposures).table["period"])
    check_plan(current, sorted(months), gears=chosen.gears, plan_for=chosen.plan_for)
    tell(stages.FITTING, 0.4)

    def fitted(some: tuple[BoatSeason, ...], *, reviewed: bool) -> Answer:
        exposure = _of(some, everyone, exposures)
        return season_answer(some, exposure, chosen, units, checked=reviewed, effects=reviewed)

    asked = beside(
        lambda: fitted(earlier, reviewed=False) if earlier else None, worth=bool(earlier)
    )
    with asked as of_earlier:
        now = fitted(current, reviewed=True)
        before = of_earlier.result()
    tell(stages.REVIEWING, 0.7)
    water = Errand(lambda: _water(current, now.exposure))
    gaps = Errand(lambda: _gaps(everyone, exposures))
    further = review(
        now,
        before,
        current,
        temperature_of(current),
        units,
        seed=chosen.seed,
        rods=chosen.rods,
        gears=chosen.gears,
        plan_for=chosen.plan_for,
        also=(water, gaps),
    )
    tell(stages.WRITING, 0.9)
    tables = {
        "exposure": _to_be_written(combine(exposures).table),
        "water": water.made,
        "bands": now.table,
        "effects": now.effects,
        "set_aside": _set_aside(everyone, exposures),
        "changed": _changed(everyone),
        "findings": findings_table(everyone),
        "checks": check_table((*now.checks, *further.checks)),
        "choice": now.choice.table,
        "gaps": gaps.made,
        "rows": _rows(everyone),
        **sentences.worded(further, units),
    }
    if chosen.sensitivity:
        tell(stages.COMPARING, 0.92)
        tables["sensitivity"] = _sensitivity(now, chosen.seed)
    summary = _summary(everyone, current, tables, now, chosen, units)
    summary["told"] = sentences.told(further, now, before, units)
    tell(stages.DONE, 1.0)
    return Season(
        tables=tables,
        summary=summary,
        answer=now,
        seasons=current,
        before=before,
        earlier=earlier,
        folders=tuple(folders),
        by_species=further.by_species,
    )


def _silent(stage: str, share: float) -> None:
    """Tell nobody."""


def read_seasons(
    folders: Sequence[Path],
    progress: Progress | None = None,
    leave_out: Collection[str] = (),
) -> list[BoatSeason]:
    """Read, vet and count season folders, in the order given; `leave_out` as `read_log` does.

    Raises
    ------
    LogError
        Where a folder cannot be read, or two hold the same trips.
    """
    tell = progress or _silent
    first = (len(folders) + 1) // 2
    rest = folders[first:]

    def read_rest() -> list[SeasonLog]:
        return [read_log(folder, leave_out) for folder in rest]

    with beside(read_rest, worth=bool(rest)) as others:
        logs: list[SeasonLog] = []
        for number, folder in enumerate(folders[:first]):
            tell(f"{stages.READING} {folder.name}", number / first)
            logs.append(read_log(folder, leave_out))
        logs += others.result()
    refuse_twice(logs)
    measured = sum(len(log.readings) for log in logs if log.readings is not None)
    with beside(lambda: waters_of(logs), worth=measured > READINGS_TO_PART) as waters:
        counted = [(log, count_effort(log), calibrations_of(log, logs)) for log in logs]
        depths = [slice_depths(*each) for each in counted]
        return [
            BoatSeason(log=log, effort=effort, water=water, calibrations=trials, depths=depth)
            for (log, effort, trials), depth, water in zip(
                counted, depths, waters.result(), strict=True
            )
        ]


def joined(seasons: Sequence[BoatSeason], vetted: Sequence[BoatSeason] = ()) -> list[Exposure]:
    """Join depth and water to the slices of each season folder; meanwhile vet the logs of some."""
    each = [Errand(partial(join, [season])) for season in seasons]
    found = [Errand(partial(getattr, season, "found"), stays=True) for season in vetted]
    share_out([*each, *found], worth=len(each) + len(found) > 1)
    return [errand.made for errand in each]


def _of(
    chosen: Sequence[BoatSeason], everyone: Sequence[BoatSeason], exposures: Sequence[Exposure]
) -> Exposure:
    """Exposures of some of the season folders, combined in their order."""
    of = {id(season): exposure for season, exposure in zip(everyone, exposures, strict=True)}
    return combine([of[id(season)] for season in chosen])


def season_answer(
    seasons: Sequence[BoatSeason],
    exposure: Exposure,
    options: Options,
    units: Units,
    *,
    checked: bool = True,
    effects: bool = True,
    apart: Collection[str] | None = None,
) -> Answer:
    """Fit and judge the boats of one season; the fit's checks and effects may be left out.

    ``exposure`` is that of ``seasons``, in their order; ``apart`` is as `answer` takes it.
    """
    edges = _edges(exposure, options.band_m(units))
    rng = np.random.default_rng(options.seed)
    water = temperature_of(seasons)
    return answer(
        exposure,
        water,
        edges,
        rng,
        checked=checked,
        effects=effects,
        apart=apart,
        lures=options.lures,
        depth_unit=units.depth,
        log_caps=_log_caps(seasons),
    )


def _sensitivity(now: Answer, seed: int) -> pd.DataFrame:
    """Tell the season's judged bands by each way to account for days and hours."""
    rng = np.random.default_rng([seed, 2])
    return compare_strata(now.exposure, now.choice.model, now.hours, now.season.judged, rng)


def _log_caps(seasons: Sequence[BoatSeason]) -> tuple[Cap, ...]:
    """Return what the logs lack so that no verdict may be clear."""
    several = len(seasons) > 1
    strikes = pd.concat([season.effort.strikes for season in seasons], ignore_index=True)
    lost = [
        Cap(code="loss", loss=loss, boat=season.log.boat.name if several else "")
        for season in seasons
        for loss in season.found.losses
        if loss.stops or loss.doubted
    ]
    return (*lost, *(Cap(code="loss", loss=loss) for loss in unheld(strikes)))


def temperature_of(seasons: Sequence[BoatSeason]) -> TemperatureAt:
    """Return the function that tells the water's temperature for some boats, by their number."""

    def temperature_at(
        log: int, trips: NDArray[np.object_], times: NDArray[np.int64], depth_m: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        return seasons[log].temperature_at(trips, times, depth_m)

    return temperature_at


def _edges(exposure: Exposure, band_m: float) -> NDArray[np.float64]:
    """Edges of bands from the surface to below the deepest lure."""
    depth = exposure.depth_m
    deepest = float(np.nanmax(depth)) if np.isfinite(depth).any() else band_m
    return band_m * np.arange(int(np.floor(deepest / band_m)) + 2, dtype=float)


def _water(seasons: Sequence[BoatSeason], exposure: Exposure) -> pd.DataFrame:
    """Tabulate the waters of some boats down to the deepest lure."""
    deepest_m = float(np.nanmax(exposure.depth_m, initial=0.0))
    return water_table(
        [season.water for season in seasons], [season.log for season in seasons], deepest_m
    )


def _to_be_written(slices: pd.DataFrame) -> pd.DataFrame:
    """Return slices with the text that other programs look for as plain text."""
    text = ["boat", "trip", "rod", "side", "gear", "source", "speed_kind", "period"]
    return slices.assign(**plain(slices[text]))


def _set_aside(seasons: Sequence[BoatSeason], exposures: Sequence[Exposure]) -> pd.DataFrame:
    """Every row set aside while reading, counting effort, or joining depth, with its log."""
    found = []
    for season, exposure in zip(seasons, exposures, strict=True):
        depthless = sets_without_depth(season, exposure)
        found.append((season.log.set_aside, season.effort.set_aside, depthless))
    return _with_log(seasons, found)


def _changed(seasons: Sequence[BoatSeason]) -> pd.DataFrame:
    """Every field emptied or read otherwise than written, its row kept, with its log."""
    return _with_log(
        seasons,
        [
            (season.log.changed, season.effort.changed, season.water.doubts_of(season.log))
            for season in seasons
        ],
    )


def _with_log(
    seasons: Sequence[BoatSeason], found: Iterable[Iterable[pd.DataFrame]]
) -> pd.DataFrame:
    """Put what was found in each season folder under each other, with the folder's name."""
    frames = [
        frame[list(SET_ASIDE_COLUMNS)].assign(log=season.log.folder.name)
        for season, several in zip(seasons, found, strict=True)
        for frame in several
    ]
    return pd.concat(frames, ignore_index=True)


def _gaps(seasons: Sequence[BoatSeason], exposures: Sequence[Exposure]) -> pd.DataFrame:
    rows = [
        {"log": season.log.folder.name, **vars(gap)}
        for season, exposure in zip(seasons, exposures, strict=True)
        for gap in gaps_of(
            season,
            unsolved=exposure.table["depth_note"].to_numpy(),
            untried=usual_doubts(season.calibrations),
            further=further_of(season),
        )
    ]
    return pd.DataFrame(rows, columns=["log", "what", "cost", "remedy"])


def _rows(seasons: Sequence[BoatSeason]) -> pd.DataFrame:
    frames = [season.log.rows.assign(log=season.log.folder.name) for season in seasons]
    return pd.concat(frames, ignore_index=True)[["log", "table", "read", "kept", "set_aside"]]


def _first_lacking(season: BoatSeason) -> list[str]:
    """Say what a log lacks or lost that a reader must know before any answer."""
    boat = season.log.boat.name
    lacking = without_hours(season.log, season.effort)
    lost = first_words(season.found.losses)
    return [*([f"{boat}: {lacking}."] if lacking else []), *(f"{boat}: {line}" for line in lost)]


def _on_spread(slices: pd.DataFrame) -> float:
    """Rod-hours that rest on a spread alone."""
    return float(slices.loc[slices["source"] == "spread", "hours"].sum())


def _summary(
    everyone: Sequence[BoatSeason],
    current: Sequence[BoatSeason],
    tables: Mapping[str, pd.DataFrame],
    now: Answer,
    options: Options,
    units: Units,
) -> Summary:
    names = {season.log.folder.name for season in current}
    strikes = pd.concat([season.effort.strikes for season in current], ignore_index=True)
    rules = [RULE, UNSEEN_RULE] if now.exposure.water_unseen else [RULE]
    return {
        "boats": sorted({season.log.boat.name for season in current}),
        "season": str(current[0].log.year),
        "units": vars(units),
        "trips": sum(len(season.log.trips) for season in current),
        "sets": sum(len(season.effort.sets) for season in current),
        "rod_hours": float(now.exposure.table["hours"].sum()),
        "rod_hours_on_spread": _on_spread(now.exposure.table),
        "strikes": len(strikes),
        "strikes_placed": int(strikes["placed"].sum()),
        "landed": int((strikes["outcome"] == "landed").sum()),
        "set_aside": int(tables["set_aside"]["log"].isin(names).sum()),
        "best": sentences.best_rows(now, units),
        "first_lines": [
            *(line for season in current for line in _first_lacking(season)),
            *sentences.first_lines(now, units),
        ],
        "model": now.choice.used,
        "formula": now.formula,
        "why": " ".join([f"{now.choice.why}.", *rules]),
        "status": now.fit.status,
        "version": version("rodhours"),
        "parameters": {"band_m": options.band_m(units), "seed": options.seed},
        "hashes": {
            f"{season.log.folder.name}/{name}": digest
            for season in everyone
            for name, digest in season.log.hashes.items()
        },
    }
