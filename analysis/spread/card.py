"""What to set on a day to come: each rod's line-out by expected rate, with all that is in doubt."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from analysis.decision.bands import MOST_ON_SPREAD, NEAR, Judgement, judge
from analysis.depth import RodLine, clearances, line_paths
from analysis.depth.kinds import Gear
from analysis.rates.effects import BOUNDS
from analysis.rates.standardised import INNER
from analysis.spread.basis import Basis, PeriodBasis, Tackle
from analysis.spread.card_lines import CardLine, Planner
from analysis.spread.expected import AS_GOOD, RateByDepth
from analysis.spread.hedge import Hedge
from analysis.spread.layout import TIP_STEP_M
from analysis.spread.rods import Slot, inner_first, key_of, stations
from analysis.units import Units, to_si
from analysis.water.day import DayWater

Array = NDArray[np.float64]

MOST_DIVERS = 4
"""Divers a side, as in a starting spread."""


@dataclass(frozen=True, kw_only=True)
class Card:
    """What to set on a day, or in a month.

    Attributes
    ----------
    boat : str
    day : date
    season : int
        Year of the season that it rests on.
    period : str
        The part of it: a month, or ``season``.
    units : Units
    follows : str
    strikes, trips : int
        That the fit rests on.
    verdict : str
    p_near : float
    band_m : tuple of float or None
        Edges of the band, or two neighbours, named for the day.
    target_c : tuple of float or None
        10 and 90 % bounds of the water in the middle of it.
    surface_c, thermocline_m : tuple of float or None
        Mean and sd.
    speed_mps : float
    lines : tuple of CardLine
        From port to starboard.
    total : tuple of float
        Strikes an hour of all rods together: median and 90 % bounds.
    profile : (depths, 4) array
        Depth in m, median and 90 % bounds of the temperature in C; no rows where unknown.
    close : tuple of pairs of str
        Rods that may tangle.
    hedge : Hedge or None
        How far apart the rods stand since they share a doubt; None where they stand no farther
        than line-outs that do as well.
    left_out : int
        Rods asked for that the log has no place for.
    not_fished : tuple of str
        Gears of boat.toml that the log never fished.
    unreached : tuple of str
        Rods whose gear runs in no band that was fished enough to be judged.
    day_used : bool
        Whether the day's own water went in, not only the period's.
    guessed : bool
        Whether the water was measured at its surface alone, and strikes told the rest.
    beyond : tuple of str
        Sides of the band on which nothing was fished enough; see `Judgement.beyond`.
    begun : bool
        Whether there is a log of the day's own year, too.
    """

    boat: str
    day: date
    season: int
    period: str
    units: Units
    follows: str
    strikes: int
    trips: int
    verdict: str
    p_near: float
    band_m: tuple[float, float] | None
    target_c: tuple[float, float] | None
    surface_c: tuple[float, float] | None
    thermocline_m: tuple[float, float] | None
    speed_mps: float
    lines: tuple[CardLine, ...]
    total: tuple[float, float, float]
    profile: Array
    close: tuple[tuple[str, str], ...]
    hedge: Hedge | None
    left_out: int
    not_fished: tuple[str, ...]
    unreached: tuple[str, ...]
    day_used: bool
    guessed: bool
    beyond: tuple[str, ...] = ()
    begun: bool = False

    @property
    def poorer(self) -> frozenset[str]:
        """Rods expected to catch less than within a tenth of the best one."""
        most = max((line.rate for line in self.lines), default=0.0)
        return frozenset(line.rod for line in self.lines if line.rate < NEAR * most)


def make_card(
    basis: Basis,
    day: date,
    water: DayWater | None,
    rods: int | None = None,
    *,
    period: str = "",
    tangles: bool = True,
) -> Card:
    """Choose every rod's line-out for a day.

    Parameters
    ----------
    basis : Basis
    day : date
    water : DayWater or None
        Of the day; None where nothing is known of it.
    rods : int, optional
        Rods wanted; by default the number usually down.
    period : str
        A period whose own curve is taken, in place of one made for the water of the day.
    tangles : bool
        Whether to tell which rods may tangle, for which each line's whole path is worked out.

    Returns
    -------
    Card
    """
    rng = np.random.default_rng(day.toordinal())
    found = {one.name: one for one in basis.periods}
    here = found[period] if period else basis.period_of(day.month)
    draws = len(basis.coef)
    temps = None if water is None else water.temp_draws(basis.depth_m, draws, rng)
    by_day = not period and (temps is not None or not basis.model.warm)
    curve = curve_of_day(basis, here, day, temps) if by_day else here.curve
    judgement = _judged(basis, here, curve)
    band = _band(basis, judgement)
    planner = Planner(basis=basis, period=here, curve=curve, rng=rng, temps=temps, band_m=band)
    down, left_out = _rods_down(basis, planner, band, rods)
    lines, rates, close, hedge = _set_out(basis, planner, down, tangles=tangles)
    slots = [slot for station in down for slot in station]
    return Card(
        boat=basis.boat,
        day=day,
        season=basis.season,
        period=here.name,
        units=basis.units,
        follows=basis.follows,
        strikes=basis.strikes,
        trips=basis.trips,
        verdict=judgement.verdict,
        p_near=judgement.p_near,
        band_m=band,
        target_c=_bounds_at(basis.depth_m, temps, band),
        surface_c=None if water is None else water.surface,
        thermocline_m=None if water is None else water.middle,
        speed_mps=here.speed_mps,
        lines=lines,
        total=_total(rates),
        profile=_profile(basis.depth_m, temps),
        close=close,
        hedge=hedge,
        left_out=left_out,
        not_fished=tuple(name for name, gear in basis.gears.items() if not gear.hours > 0),
        unreached=tuple(slot.rod for slot in slots if slot.rod not in {line.rod for line in lines}),
        day_used=by_day and temps is not None,
        guessed=basis.guessed,
        beyond=judgement.beyond(here.judged),
    )


def curve_of_day(basis: Basis, period: PeriodBasis, day: date, temps: Array | None) -> RateByDepth:
    """Rate by depth in each draw's own water of the day, at the boat's usual level of the period.

    ``(exp(terms of the water) + background) x level``; see `analysis.rates.trip_rates.Levels`.
    """
    draws = len(basis.coef)
    depth = np.repeat(basis.depth_m, draws)
    low, high = basis.days_of_year
    day_of_year = float(np.clip(day.timetuple().tm_yday, low, high))
    values: dict[str, NDArray[np.generic]] = {
        "depth_m": depth,
        "drift": np.column_stack([depth, np.full(len(depth), day_of_year)]),
    }
    if temps is not None:
        values["lure_temp_c"] = temps.ravel()
    design = basis.model.design(values, len(depth)).reshape(len(basis.depth_m), draws, -1)
    log = np.einsum("zdc,dc->zd", design, basis.coef)
    return RateByDepth(depth_m=basis.depth_m, rate=(np.exp(log) + basis.background) * period.level)


def _judged(basis: Basis, period: PeriodBasis, curve: RateByDepth | None) -> Judgement:
    """Judge the bands that were fished enough, by the curve."""
    bands = len(basis.edges_m) - 1
    if curve is None:
        return judge(np.full((bands, 1), np.nan), np.zeros(bands, dtype=bool))
    rates = curve.rate.reshape(bands, INNER, -1).mean(axis=1)
    may_be_clear = not basis.capped and period.on_spread <= MOST_ON_SPREAD
    found = judge(rates, period.judged, may_be_clear=may_be_clear)
    return found if basis.told else found.as_open()


def _band(basis: Basis, judgement: Judgement) -> tuple[float, float] | None:
    named = np.flatnonzero(judgement.named)
    if not len(named):
        return None
    return float(basis.edges_m[named[0]]), float(basis.edges_m[named[-1] + 1])


def _bounds_at(
    depth_m: Array, temps: Array | None, band: tuple[float, float] | None
) -> tuple[float, float] | None:
    """10 and 90 % bounds of the water in the middle of a band."""
    if temps is None or band is None:
        return None
    nearest = int(np.argmin(np.abs(depth_m - 0.5 * sum(band))))
    low, high = np.quantile(temps[nearest], (0.1, 0.9))
    return float(low), float(high)


def _profile(depth_m: Array, temps: Array | None) -> Array:
    if temps is None:
        return np.empty((0, 4))
    low, middle, high = np.quantile(temps, (BOUNDS[0], 0.5, BOUNDS[1]), axis=1)
    return np.column_stack([depth_m, middle, low, high])


def _total(rates: Sequence[Array]) -> tuple[float, float, float]:
    if not rates:
        return (np.nan, np.nan, np.nan)
    middle, low, high = np.quantile(np.sum(rates, axis=0), (0.5, *BOUNDS))
    return float(middle), float(low), float(high)


def _rods_down(
    basis: Basis, planner: Planner, band: tuple[float, float] | None, wanted: int | None
) -> tuple[list[tuple[Slot, ...]], int]:
    """Choose the rods to put down, inner ones first, and count those the log has no place for."""
    count = basis.usual_rods if wanted is None else wanted
    if not basis.slots:
        return [], count
    used = {slot.gear for slot in basis.slots}
    reach = {gear: planner.reach_m(gear) for gear in used}
    chosen = stations(
        basis.slots,
        min(count, len(basis.slots)),
        reach,
        0.0 if band is None else band[0],
        kinds=_kinds(basis.gears),
        most_divers=MOST_DIVERS,
        add=False,
    )
    order = {gear: tackle.lines.belief.gear.place.order for gear, tackle in basis.gears.items()}
    chosen.sort(key=lambda rods: (order[rods[0].gear], inner_first(rods[0])))
    return chosen, max(count - sum(map(len, chosen)), 0)


Pairs = tuple[tuple[str, str], ...]


def _set_out(
    basis: Basis, planner: Planner, down: Sequence[Sequence[Slot]], *, tangles: bool
) -> tuple[tuple[CardLine, ...], list[Array], Pairs, Hedge | None]:
    """Let the rods out, farther apart where that hedges what they share and tangles no more."""
    speed = planner.period.speed_mps
    lines, rates = planner.lines(down, AS_GOOD)
    hedge = planner.hedge(down)
    hedges = hedge.width > AS_GOOD
    close = _too_close(basis, lines, speed) if tangles or hedges else ()
    if hedges:
        apart, apart_rates = planner.lines(down, hedge.width)
        near = _too_close(basis, apart, speed)
        if len(near) <= len(close):
            return apart, apart_rates, near, hedge
    return lines, rates, close, None


def _kinds(gears: Mapping[str, Tackle]) -> dict[str, Gear]:
    return {name: tackle.lines.belief.gear for name, tackle in gears.items()}


def _too_close(basis: Basis, lines: Sequence[CardLine], speed_mps: float) -> Pairs:
    """Pairs of lines that may tangle, as a starting spread flags them."""
    count: Counter[tuple[str, int]] = Counter()
    out: list[RodLine] = []
    inner = sorted(lines, key=lambda line: (key_of(line.setting), line.rod))
    for line in inner:
        tackle = basis.gears[line.gear].lines
        belief, rig = tackle.belief, tackle.towing.rigs.get(line.lure, {})
        place = belief.gear.place
        row = (line.side, place.order)
        sign = {"port": -1.0, "starboard": 1.0}.get(line.side, 0.0)
        scale = basis.counter_scale[line.rod]
        out.append(
            RodLine(
                rod=line.rod,
                belief=belief,
                line_out_m=float(to_si(line.line_out, "length", line.unit)) * scale,
                speed_mps=speed_mps,
                side=line.side,
                setting=line.setting,
                tip_y_m=sign * (place.tip_y_m + TIP_STEP_M * count[row]),
                tip_height_m=basis.tip_height_m[line.rod],
                trail_m=0.0 if rig else basis.gears[line.gear].trail_m,
                rig=rig,
            )
        )
        count[row] += 1
    near = clearances(line_paths(out))
    return tuple((pair.rod, pair.other) for pair in near if pair.flagged)
