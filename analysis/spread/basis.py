"""Owns what advice for a day rests on: one boat's season as fitted, kept small enough to store."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.decision.leads import what_they_follow
from analysis.rates.effects import weighted_quantile
from analysis.rates.line_depths import GearLines
from analysis.rates.standardised import SEASON
from analysis.rates.terms import RateModel
from analysis.spread.expected import RateByDepth
from analysis.spread.line_outs import (
    asked_line_outs_m,
    fished_m,
    longest_lines,
    speed_of_boat,
    speed_scatter,
)
from analysis.spread.rods import Slot, slots_of, usual_rods, usual_settings
from analysis.units import Units
from analysis.water.day import DaysWater, Learnt

if TYPE_CHECKING:
    from analysis.decision.answer import Answer, Period
    from analysis.rates.build_exposure import BoatSeason

Array = NDArray[np.float64]

MARGIN_DAYS = 14
"""Days before a season's first trip and after its last for which its fit may still speak."""
OFF_BY = 0.25
"""Share by which a speed is off where a card says what that costs."""
SPEEDS = (1.0, 1.0 - OFF_BY, 1.0 + OFF_BY)
_NOON_H = 12.0


@dataclass(frozen=True, kw_only=True)
class PeriodBasis:
    """What one period of the season tells.

    Attributes
    ----------
    name : str
        ``season`` or a month.
    curve : RateByDepth or None
    level : (draws,) array
        Rate of the boat's usual hour in the period where the curves of the water are at zero.
    judged : (bands,) bool array
    speed_mps, speed_scatter : float
        The boat's own; see `analysis.spread.line_outs`.
    on_spread : float
        Share of the rod-hours that rest on a trip's spread alone.
    """

    name: str
    curve: RateByDepth | None
    level: Array
    judged: NDArray[np.bool_]
    speed_mps: float
    speed_scatter: float
    on_spread: float


@dataclass(frozen=True, kw_only=True)
class Tackle:
    """One gear on board.

    Attributes
    ----------
    lines : GearLines
    dial : tuple of float
        Settings the log used; NaN for gear without a dial.
    longest_m : float
    hours : float
        Rod-hours it fished in the season.
    lead_m, leader_m : float
        As usual in the log; NaN where not written down.
    """

    lines: GearLines
    dial: tuple[float, ...]
    longest_m: float
    hours: float
    lead_m: float
    leader_m: float

    @property
    def trail_m(self) -> float:
        """Lead or leader that trails level behind the deep end; 0 where not logged, or for none."""
        trails = {"lead_m": self.lead_m, "leader_length_m": self.leader_m}
        return float(np.nan_to_num(trails.get(self.lines.belief.gear.place.trail, 0.0)))


@dataclass(frozen=True, kw_only=True)
class Basis:
    """One boat's season as fitted, with all that advice for a day needs of it.

    Attributes
    ----------
    boat : str
    season : int
        Its year.
    units : Units
    edges_m : (bands + 1,) array
    fished_m : tuple of float
        See `analysis.spread.line_outs.fished_m`.
    depth_m : (depths,) array
        Where the curves are told.
    model : RateModel
        Its terms of the water.
    coef : (draws, columns) array
    background : (draws,) array
        See `analysis.rates.fit.Fit`.
    follows : str
        What the fish followed; see `analysis.decision.leads.what_they_follow`.
    periods : tuple of PeriodBasis
        The season first.
    water : DaysWater or None
        None where no temperature below the surface is known.
    days_of_year : tuple of float
        The first and the last day fished.
    gears : mapping of str to Tackle
    slots : tuple of Slot
    usual_rods : int
    tip_height_m, counter_scale : mapping of str to float
        By rod.
    strikes, trips : int
        That the fit rests on.
    told : bool
        Whether strikes enough compare rods, and the season names a band at all.
    capped : bool
        Whether something known of the logs keeps every verdict from being clear.
    guessed : bool
        Whether the water was measured at its surface alone, so that strikes tell the rest.
    species : str
        Whose strikes these are; empty for all together.
    """

    boat: str
    season: int
    units: Units
    edges_m: Array
    fished_m: tuple[float, float]
    depth_m: Array
    model: RateModel
    coef: Array
    background: Array
    follows: str
    periods: tuple[PeriodBasis, ...]
    water: DaysWater | None
    days_of_year: tuple[float, ...]
    gears: Mapping[str, Tackle]
    slots: tuple[Slot, ...]
    usual_rods: int
    tip_height_m: Mapping[str, float]
    counter_scale: Mapping[str, float]
    strikes: int
    trips: int
    told: bool
    capped: bool
    guessed: bool
    species: str = ""

    def period_of(self, month: int) -> PeriodBasis:
        """Return the season's month of that number, or the nearest that was fished; the season."""
        months = [one for one in self.periods if one.name != SEASON and one.judged.any()]
        if not months:
            return self.periods[0]
        return min(months, key=lambda one: abs(int(one.name[5:7]) - month))


def basis_of(
    answer: Answer, season: BoatSeason, log: int, water: DaysWater | None, species: str = ""
) -> Basis:
    """Gather what advice rests on of one boat.

    Parameters
    ----------
    answer : Answer
    season : BoatSeason
    log : int
        Its number among the season folders of the answer.
    water : DaysWater or None
        Of `days_water`.
    species : str
        Whose strikes the answer is of; empty for all together.
    """
    boat = season.log.boat
    longest = longest_lines(season)
    slots = tuple(slots_of(season))
    periods = tuple(_period_basis(answer, period, log) for period in answer.periods)
    gears = {gear: _tackle(answer, season, log, gear, longest[gear]) for gear in boat.gears}
    _solve_ahead(gears, slots, periods, boat.units.length)
    rods = [slot.rod for slot in slots]
    day = answer.exposure.table["day"].to_numpy(dtype=float)
    of_water = answer.fit.model.of_water
    return Basis(
        boat=boat.name,
        season=season.log.year,
        units=boat.units,
        edges_m=answer.hours.edges_m,
        fished_m=fished_m(answer.exposure),
        depth_m=answer.hours.depth_m.ravel(),
        model=answer.fit.model.water,
        coef=answer.fit.draws[:, of_water],
        background=answer.fit.background,
        follows=what_they_follow(answer),
        periods=periods,
        water=water,
        days_of_year=(float(day.min()), float(day.max())),
        gears=gears,
        slots=slots,
        usual_rods=min(usual_rods(season), len(slots)),
        tip_height_m={rod: boat.tip_height_of(rod) for rod in rods},
        counter_scale={rod: boat.counter_scale_of(rod) for rod in rods},
        strikes=answer.fit.strikes,
        trips=answer.fit.trips,
        told=answer.told and bool(answer.season.judgement.named.any()),
        capped=bool(answer.caps_of_less),
        guessed=season.water_unseen,
        species=species,
    )


def learnt_water(answer: Answer, log: int) -> Learnt | None:
    """Return what the strikes of an answer told of a season folder's water; None for nothing."""
    own = answer.exposure.latent.ways_of(log)
    if own is None:
        return None
    ways, place = own
    fit = answer.fit
    return Learnt(ways=ways, amounts=fit.waters[fit.refit][:, place])


def days_water(seasons: list[BoatSeason], learnt: Learnt | None = None) -> DaysWater | None:
    """Ask a water for each day that a card may be made for: of its seasons and the one after.

    Parameters
    ----------
    seasons : list of BoatSeason
        All that share one water.
    learnt : Learnt, optional
        What strikes told of it, from `learnt_water`. A water that was measured at its surface
        alone is not known without it.
    """
    known = seasons[0].water
    if known.field is None or not (known.years or learnt):
        return None
    trips = pd.concat([season.log.trips for season in seasons])
    if trips.empty:
        return None
    dates = pd.DatetimeIndex(pd.to_datetime(trips["date"]))
    first, last = int(dates.day_of_year.min()), int(dates.day_of_year.max())
    years = range(int(dates.year.min()), int(dates.year.max()) + 2)
    day = np.concatenate(
        [
            np.arange(first - 1 - MARGIN_DAYS, last + MARGIN_DAYS, dtype=np.int64)
            + int(np.datetime64(f"{year}-01-01").astype("datetime64[D]").astype(np.int64))
            for year in years
        ]
    )
    return DaysWater.of(known.field, np.unique(day), _fishing_hour(trips), learnt)


def _fishing_hour(trips: pd.DataFrame) -> float:
    """Hour of the day, UTC, about which trips lie."""
    middle = trips["start"] + (trips["end"] - trips["start"]) / 2
    hour = (middle.dt.hour + middle.dt.minute / 60.0).dropna()
    return float(hour.median()) if len(hour) else _NOON_H


def _period_basis(answer: Answer, period: Period, log: int) -> PeriodBasis:
    return PeriodBasis(
        name=period.name,
        curve=RateByDepth.of(period, answer.hours.depth_m),
        level=_usual_level(answer, period.name, log),
        judged=period.judged,
        speed_mps=speed_of_boat(answer, period.name, log),
        speed_scatter=speed_scatter(answer, period.name, log),
        on_spread=period.on_spread,
    )


def _usual_level(answer: Answer, period: str, log: int) -> Array:
    """Mean over a boat's hours of a period, else the season's, of trip level and mix (draws,)."""
    hours, levels = answer.hours, answer.levels
    mine = np.unique(answer.exposure.trip[answer.exposure.table["log_number"] == log])
    own = np.isin(hours.trip, mine)
    here = own & (hours.period == period)
    here = here if here.any() else own
    weight = hours.weight[here] / hours.weight[here].sum()
    trip = hours.trip[here]
    return np.asarray(weight @ (levels.level[trip] * levels.mix[trip]))


def _tackle(answer: Answer, season: BoatSeason, log: int, gear: str, longest_m: float) -> Tackle:
    sets = season.effort.sets
    mine = sets.loc[sets["gear"] == gear]
    shared = answer.exposure.shared.get((log, gear))
    return Tackle(
        lines=GearLines.of(season, gear, shared, answer.fit, np.random.default_rng(0)),
        dial=season.dial(gear),
        longest_m=season.log.boat.gears[gear].longest_m(longest_m),
        hours=float(mine["hours"].sum()),
        lead_m=_usual(mine, "lead_m"),
        leader_m=_usual(mine, "leader_length_m"),
    )


def _usual(sets: pd.DataFrame, column: str) -> float:
    """Median of a column by rod-hours; NaN where it was not written down."""
    known = sets.dropna(subset=[column])
    if known.empty:
        return float(np.nan)
    values = known[column].to_numpy(dtype=float)
    return weighted_quantile(values, known["hours"].to_numpy(dtype=float), 0.5)


def _solve_ahead(
    gears: Mapping[str, Tackle],
    slots: Sequence[Slot],
    periods: Sequence[PeriodBasis],
    unit: str,
) -> None:
    """Solve what cards of all periods will ask: together it costs little more than for one."""
    speeds = np.outer([period.speed_mps for period in periods], SPEEDS).ravel()
    for gear, lure in {(slot.gear, slot.lure): None for slot in slots}:
        tackle = gears[gear]
        settings = usual_settings(slots, gear, lure)
        tackle.lines.towing.knots(
            np.repeat(settings, len(speeds)),
            np.tile(speeds, len(settings)),
            float(asked_line_outs_m(tackle.longest_m, unit)[-1]),
            lure,
        )
