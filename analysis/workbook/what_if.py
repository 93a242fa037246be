"""Owns what one rod would do with another gear, line-out, leader, speed or day than it had."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.decision.answer import Answer
from analysis.depth import RodLine, line_path
from analysis.depth.clearance import LinePath
from analysis.effort.on_board import trail_m
from analysis.errors import RodhoursError, UsageError
from analysis.rates.build_exposure import BoatSeason
from analysis.rates.effects import BOUNDS, weighted_quantile
from analysis.rates.terms import Effects
from analysis.show.workbook import what_if_words
from analysis.show.workbook.cards import Card
from analysis.spread.basis import Basis, PeriodBasis, basis_of, days_water, learnt_water
from analysis.spread.card import curve_of_day
from analysis.spread.expected import RateByDepth, expected_rates
from analysis.spread.layout import TIP_STEP_M
from analysis.spread.rods import Slot, inner_first, slots_of
from analysis.units import Units
from analysis.workbook.narrowing import nearest_of
from analysis.workbook.spelled import Spelled

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class RodSet:
    """What a rod fishes: gear, dial setting (NaN without one), true line-out, leader and speed.

    ``lure`` is the name in boat.toml of the lure that dives which it fishes; empty for others.

    Examples
    --------
    >>> import rodhours
    >>> rod = rodhours.open(rodhours.example()).boat_to_ask().usual("P1")
    >>> rod.gear, rod.setting, round(rod.line_out_m, 1)
    ('diver', 2.0, 36.6)
    """

    rod: str
    gear: str
    setting: float
    line_out_m: float
    leader_m: float
    speed_mps: float
    day: date
    lure: str = ""


@dataclass(frozen=True, kw_only=True)
class RodAt:
    """Where a rod's lure runs, and what is expected of it.

    Attributes
    ----------
    fishes : RodSet
    depth_m, depth_sd_m, temp_c, temp_sd_c : float
        Given soaks and strikes; temperature NaN where the water is unknown.
    rate : (draws,) array
        Strikes per rod-hour at the boat's usual mix of tackle.
    """

    fishes: RodSet
    depth_m: float
    depth_sd_m: float
    temp_c: float
    temp_sd_c: float
    rate: Array


@dataclass(frozen=True, kw_only=True)
class WhatIf(Spelled):
    """A rod as it was and as it might be set.

    Attributes
    ----------
    boat : str
    units : Units
    was, wished : RodAt
    ratio : (draws,) array
        Of the wished rod's rate to that of the rod as it was: depth, water, leader and gear, draw
        by draw of one fit, so that what both share cancels.
    fished_m : (2,) tuple of float
        Depths between which all but one in a hundred of the boat's rod-hours lie.
    untried : bool
        Whether the log never had that gear and setting, whose own effect is then unknown.
    ends, paths : DataFrame
        The spread with the rod as wished; see `analysis.show.workbook.spread_lines`.

    Examples
    --------
    >>> import rodhours
    >>> asked = rodhours.open(rodhours.example()).what_if("P1", line_out=(100, "ft"))
    >>> asked.was.fishes.line_out_m > asked.wished.fishes.line_out_m, asked.beyond
    (True, True)
    """

    boat: str
    units: Units
    was: RodAt
    wished: RodAt
    ratio: Array
    fished_m: tuple[float, float]
    untried: bool
    ends: pd.DataFrame
    paths: pd.DataFrame

    @property
    def bounds(self) -> tuple[float, float, float]:
        """The ratio: median, and 90 % bounds."""
        low, middle, high = np.quantile(self.ratio, (BOUNDS[0], 0.5, BOUNDS[1]))
        return float(middle), float(low), float(high)

    @property
    def changed(self) -> bool:
        """Whether anything is wished otherwise than it was."""
        return repr(self.was.fishes) != repr(self.wished.fishes)  # NaN does not equal itself

    @property
    def beyond(self) -> bool:
        """Whether the lure runs where the boat hardly fished, so that the log cannot tell."""
        low, high = self.fished_m
        return not low <= self.wished.depth_m <= high

    @property
    def card(self) -> Card:
        """What it says of itself."""
        return what_if_words.what_if(self)

    def __repr__(self) -> str:
        """Say what is expected, in plain text."""
        return self.card.text

    def _repr_html_(self) -> str:
        """Return the same for notebooks, the spread below."""
        return self.card.html + what_if_words.spread(self).html


class Boat:
    """One boat of a season, ready to be asked about its rods; making it takes about a second.

    Examples
    --------
    >>> import rodhours
    >>> boat = rodhours.open(rodhours.example()).boat_to_ask()
    >>> boat.name, boat.usual("P1").gear
    ('Heron', 'diver')
    """

    def __init__(self, answer: Answer, season: BoatSeason, log: int) -> None:
        if answer.fit.smoothing is None or season.effort.slices.empty:
            msg = "the log cannot tell what a rod would do: no strike compares rods in it."
            raise RodhoursError(msg)
        self._answer, self._season = answer, season
        self._paths: dict[tuple[object, ...], tuple[RodLine, LinePath]] = {}
        self._usual: dict[str, RodSet] = {}
        self._curves: dict[date, tuple[RateByDepth | None, Array | None]] = {}
        self.basis: Basis = basis_of(
            answer, season, log, days_water([season], learnt_water(answer, log))
        )
        self.slots: list[Slot] = slots_of(season)
        table = answer.exposure.table
        mine = table[(table["log_number"] == log).to_numpy() & table["depth_m"].notna().to_numpy()]
        depth, hours = (mine[name].to_numpy(dtype=float) for name in ("depth_m", "hours"))
        self.fished_m = (
            weighted_quantile(depth, hours, 0.005),
            weighted_quantile(depth, hours, 0.995),
        )

    @property
    def name(self) -> str:
        """Of the boat."""
        return self.basis.boat

    def usual(self, rod: str) -> RodSet:
        """Return what a rod fished most, on the middle one of the days fished.

        Raises
        ------
        UsageError
            For a rod that the log does not have.

        Examples
        --------
        >>> import rodhours
        >>> rodhours.open(rodhours.example()).boat_to_ask().usual("S1").gear
        'rigger'
        """
        if rod not in self._usual:
            self._usual[rod] = self._found_usual(rod)
        return self._usual[rod]

    def _found_usual(self, rod: str) -> RodSet:
        slot = next((one for one in self.slots if one.rod == rod), None)
        if slot is None:
            known = [one.rod for one in self.slots]
            raise UsageError(nearest_of(f"{self.name} has no rod", rod, known))
        sets = self._season.effort.sets
        mine = sets[(sets["rod"] == rod) & (sets["gear"] == slot.gear)]
        if not np.isnan(slot.usual_setting):
            mine = mine[mine["setting"] == slot.usual_setting]
        out = mine.dropna(subset="line_out_m")
        leader = mine.dropna(subset="leader_length_m")
        days = sorted(pd.to_datetime(self._season.log.trips["date"]).dt.date)
        middle = days[len(days) // 2]
        return RodSet(
            rod=rod,
            gear=slot.gear,
            setting=slot.usual_setting,
            line_out_m=_median(out, "line_out_m"),
            leader_m=_median(leader, "leader_length_m"),
            speed_mps=self.basis.period_of(middle.month).speed_mps,
            day=middle,
            lure=slot.lure,
        )

    def what_if(self, was: RodSet, wished: RodSet) -> WhatIf:
        """Compare a rod as it was with what is wished of it, by the same draws of the fit.

        Both on the day wished: what another day brings is no merit of a setting.

        Examples
        --------
        >>> import rodhours
        >>> boat = rodhours.open(rodhours.example()).boat_to_ask()
        >>> usual = boat.usual("S1")
        >>> boat.what_if(usual, usual).bounds
        (1.0, 1.0, 1.0)
        """
        was = replace(was, day=wished.day)
        before, after = (self._at(one, np.random.default_rng(0)) for one in (was, wished))
        ratio = after.rate / before.rate * self._tackle(was, wished)
        after = replace(after, rate=before.rate * ratio)
        ends, paths = self._spread(wished)
        return WhatIf(
            boat=self.name,
            units=self.basis.units,
            was=before,
            wished=after,
            ratio=ratio,
            fished_m=self.fished_m,
            untried=self._code(wished) < 0,
            ends=ends,
            paths=paths,
        )

    def _at(self, rod: RodSet, rng: np.random.Generator) -> RodAt:
        period = self.basis.period_of(rod.day.month)
        if rod.day not in self._curves:
            self._curves[rod.day] = self._curve(rod.day, period)
        curve, temps = self._curves[rod.day]
        lines = self.basis.gears[rod.gear].lines.depths(
            rod.setting, np.array([rod.line_out_m]), rod.speed_mps, period.speed_scatter, rod.lure
        )
        if curve is None or not np.isfinite(lines.depth_m[0]):
            why = "nothing is known of the rate" if curve is None else "it runs at no depth"
            msg = f"{rod.rod}: {why} there. Remedy: another line-out, setting or speed."
            raise UsageError(msg)
        rate = expected_rates(curve, lines)[:, 0]
        own = rng.standard_normal(len(rate)) * lines.own_sd[0]
        depth = lines.depth_m[0] * np.exp(lines.log_shift[:, 0] + own)
        temp = np.full(len(depth), np.nan)
        if temps is not None:
            at = [np.interp(z, self.basis.depth_m, temps[:, n]) for n, z in enumerate(depth)]
            temp = np.array(at)
        return RodAt(
            fishes=rod,
            depth_m=float(depth.mean()),
            depth_sd_m=float(depth.std()),
            temp_c=float(temp.mean()),
            temp_sd_c=float(temp.std()),
            rate=rate,
        )

    def _curve(self, day: date, period: PeriodBasis) -> tuple[RateByDepth | None, Array | None]:
        """Rate by depth in the water of a day, as a card for that day has it."""
        basis = self.basis
        since_1970 = (day - date(1970, 1, 1)).days
        water = None if basis.water is None else basis.water.on(since_1970)
        rng = np.random.default_rng(day.toordinal())
        temps = None if water is None else water.temp_draws(basis.depth_m, len(basis.coef), rng)
        if temps is None and basis.model.warm:
            return period.curve, None
        return curve_of_day(basis, period, day, temps), temps

    def _tackle(self, was: RodSet, wished: RodSet) -> Array:
        """How many times better the wished tackle is at equal depth, draw by draw."""
        model, draws = self._answer.fit.model, self._answer.fit.draws
        both = (was, wished)
        leaders = np.array([rod.leader_m for rod in both])
        values: dict[str, NDArray[np.generic]] = {
            "gear_setting": np.array([self._code(rod) for rod in both])
        }
        if np.isfinite(leaders).all():
            values["leader_length_m"] = leaders
        design = model.design(values, 2)
        return np.asarray(np.exp(draws @ (design[1] - design[0])))

    def _code(self, rod: RodSet) -> int:
        """Return the number of a gear and setting among those fished; -1 for none."""
        term = self._answer.fit.model.term("gear_setting")
        known = self._answer.exposure.table["gear_setting"]
        levels = term.levels if isinstance(term, Effects) else tuple(known.unique())
        name = rod.gear if np.isnan(rod.setting) else f"{rod.gear} {rod.setting:g}"
        return levels.index(name) if name in levels else -1

    def _spread(self, wished: RodSet) -> tuple[pd.DataFrame, pd.DataFrame]:
        """Every rod as it usually is, and the one asked about as wished."""
        places = _places(self.slots)
        ends, points = [], []
        for slot in self.slots:
            rod = wished if slot.rod == wished.rod else self.usual(slot.rod)
            if np.isnan(rod.line_out_m):
                continue
            line, path = self._path(slot, rod, places[slot.rod], wished.speed_mps)
            end = path.points_m[0] if not path.reason else np.full(3, np.nan)
            ends.append(
                {
                    "rod": slot.rod,
                    "side": slot.side,
                    "gear": rod.gear,
                    "setting": rod.setting,
                    "line_out_m": rod.line_out_m,
                    "depth_m": path.depth_m,
                    "depth_sd_m": line.depth_sd_m,
                    "across_m": end[1],
                    "astern_m": end[0],
                    "reason": path.reason,
                }
            )
            along = dict(zip(("astern_m", "across_m", "depth_m"), path.points_m.T, strict=True))
            points.append(pd.DataFrame({"rod": slot.rod, **along}))
        return pd.DataFrame(ends), pd.concat(points, ignore_index=True)

    def _path(
        self, slot: Slot, rod: RodSet, place: int, speed_mps: float
    ) -> tuple[RodLine, LinePath]:
        """Solve a line once: a spread changes by one rod at a time."""
        key = (slot.rod, rod.gear, rod.lure, f"{rod.setting:g}", rod.line_out_m, speed_mps)
        if key not in self._paths:
            boat = self._season.log.boat
            sign = {"port": -1.0, "starboard": 1.0}.get(slot.side, 0.0)
            tip_y_m = boat.gears[rod.gear].place.tip_y_m + TIP_STEP_M * place
            rig = self._season.rig(rod.gear, rod.lure)
            line = RodLine(
                rod=slot.rod,
                belief=self._season.belief(rod.gear),
                line_out_m=rod.line_out_m,
                speed_mps=speed_mps,
                side=slot.side,
                setting=rod.setting,
                tip_y_m=sign * tip_y_m,
                tip_height_m=boat.tip_height_of(slot.rod),
                # a lure that dives hangs on its lead or leader: that is part of the solution
                trail_m=0.0 if rig else trail_m(self._season.log, rod.gear),
                rig=rig,
            )
            self._paths[key] = line, line_path(line)
        return self._paths[key]


def _median(sets: pd.DataFrame, column: str) -> float:
    """Median of a column by rod-hours; NaN where it was not written down."""
    if sets.empty:
        return float(np.nan)
    values, hours = (sets[name].to_numpy(dtype=float) for name in (column, "hours"))
    return weighted_quantile(values, hours, 0.5)


def _places(slots: Sequence[Slot]) -> Mapping[str, int]:
    """Each rod's place on its side, the innermost 0."""
    return {
        slot.rod: place
        for side in ("port", "starboard", "centre")
        for place, slot in enumerate(
            sorted((one for one in slots if one.side == side), key=inner_first)
        )
    }
