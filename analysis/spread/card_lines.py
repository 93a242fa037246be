"""Each rod's line-out by expected rate, where it runs, and what a wrong speed costs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.rates.effects import BOUNDS
from analysis.rates.line_depths import LineDepths
from analysis.spread.basis import OFF_BY, SPEEDS, Basis, PeriodBasis
from analysis.spread.expected import AS_GOOD, Advice, RateByDepth, advise, expected_rates
from analysis.spread.hedge import Hedge, hedged, line_at
from analysis.spread.line_outs import asked_line_outs_m
from analysis.spread.rods import Slot, inner_first, key_of, usual_settings
from analysis.units import LINE_STEP, from_si

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class CardLine:
    """One rod.

    Attributes
    ----------
    rod, side, gear : str
    lure : str
        The lure that dives for which its line-out is; empty for one that does not.
    setting : float
        NaN for gear without a dial.
    line_out, line_out_low, line_out_high : float
        What its counter shows, in ``unit``: the one advised, and between which all do nearly as
        well.
    unit : str
    depth_m, depth_sd_m : float
        Where the lure runs, given soaks and strikes.
    temp_c, temp_sd_c : float
        The water there; NaN where unknown.
    rate, rate_low, rate_high : float
        Strikes per rod-hour expected on a usual day, with 90 % bounds.
    loss, loss_high : float
        Share of the rate given up against knowing curve, depth and water: median, 95 % bound.
    apart : bool
        Whether it stands away from its own best line-out, to hedge a doubt that all rods share.
    if_slow, if_fast : float
        Share of the rate that is lost where the boat goes a quarter slower, or faster, by the
        depth alone; below 0 where it gains.
    lead_m, leader_m : float
        As usual in the log; NaN where not known.
    trials : int
        Soaks of this gear that its depth rests on.
    """

    rod: str
    side: str
    gear: str
    lure: str
    setting: float
    line_out: float
    line_out_low: float
    line_out_high: float
    unit: str
    depth_m: float
    depth_sd_m: float
    temp_c: float
    temp_sd_c: float
    rate: float
    rate_low: float
    rate_high: float
    loss: float
    loss_high: float
    apart: bool
    if_slow: float
    if_fast: float
    lead_m: float
    leader_m: float
    trials: int


@dataclass
class Planner:
    """Line-outs of one boat in one period, each gear and setting worked out once."""

    basis: Basis
    period: PeriodBasis
    curve: RateByDepth | None
    rng: np.random.Generator
    temps: Array | None
    band_m: tuple[float, float] | None

    def __post_init__(self) -> None:
        """Begin with nothing worked out."""
        self._lines: dict[tuple[str, str, float, float], LineDepths] = {}
        self._advice: dict[tuple[str, str, float], Advice | None] = {}

    def depths(self, slot: Slot, faster: float = 1.0) -> LineDepths:
        """Return where all line-outs of a rod's tackle run, at a multiple of the usual speed.

        All settings that rods with its gear and lure usually fish are asked at the three speeds
        of a card.
        """
        if (*_tackle_of(slot), faster) not in self._lines:
            tackle = self.basis.gears[slot.gear]
            usual = usual_settings(self.basis.slots, slot.gear, slot.lure)
            ways = [(one, speed) for one in usual for speed in SPEEDS]
            found = tackle.lines.depths_of_each(
                np.array([one for one, _ in ways]),
                asked_line_outs_m(tackle.longest_m, self.basis.units.length),
                self.period.speed_mps * np.array([speed for _, speed in ways]),
                np.full(len(ways), self.period.speed_scatter),
                slot.lure,
            )
            for (one, speed), lines in zip(ways, found, strict=True):
                self._lines[slot.gear, slot.lure, key_of(one), speed] = lines
        return self._lines[*_tackle_of(slot), faster]

    def advice(self, slot: Slot) -> Advice | None:
        """Return what is expected to catch best on a rod's tackle."""
        key = _tackle_of(slot)
        if key not in self._advice:
            lines = self.depths(slot)
            self._advice[key] = (
                None
                if self.curve is None
                else advise(
                    *(self.curve, lines, self.basis.edges_m, self.period.judged),
                    fished_m=self.basis.fished_m,
                    within_m=self.band_m,
                )
            )
        return self._advice[key]

    def reach_m(self, gear: str) -> float:
        """How deep a gear gets on the tackle with which its rods usually fish deepest."""
        return max(
            (
                float(np.nanmax(self.depths(slot).depth_m, initial=0.0))
                for slot in self.basis.slots
                if slot.gear == gear
            ),
            default=0.0,
        )

    def hedge(self, stations: Sequence[Sequence[Slot]]) -> Hedge:
        """Choose how far apart rods are put that share the doubt of depth and curve."""
        return hedged([(advice.rates, share) for _, advice, share in self._placed(stations)])

    def lines(
        self, stations: Sequence[Sequence[Slot]], width: float
    ) -> tuple[tuple[CardLine, ...], list[Array]]:
        """Give every rod its line-out, and return the draws of its rate beside it.

        Parameters
        ----------
        stations : sequence of sequence of Slot
            Rods that stand alike to port and to starboard, from the middle of the boat outward.
        width : float
            How far apart the rods are put; see `analysis.spread.hedge`. At `AS_GOOD` a rod that is
            the only one of its gear and setting on its side takes the best line-out, and several
            stand at even steps among those that do nearly as well. The inner ones are longest.
        """
        placed = self._placed(stations)
        alike = Counter(_sort_of(slot) for slot, _, _ in placed)
        before: Counter[tuple[str, str, float, str]] = Counter()
        found, rates = [], []
        for slot, advice, share in sorted(placed, key=lambda one: inner_first(one[0])):
            sort = _sort_of(slot)
            if width > AS_GOOD:
                out_m = line_at(advice.rates, width, share)
            elif alike[sort] == 1:
                out_m = advice.line_out_m
            else:
                low, high = advice.line_out_low_m, advice.line_out_high_m
                out_m = high - (before[sort] + 0.5) / alike[sort] * (high - low)
            before[sort] += 1
            line, rate = self._line(slot, advice, out_m, apart=width > AS_GOOD)
            found.append(line)
            rates.append(rate)
        slots = [slot for station in stations for slot in station]
        return tuple(sorted(found, key=lambda line: across(line, slots))), rates

    def _placed(self, stations: Sequence[Sequence[Slot]]) -> list[tuple[Slot, Advice, float]]:
        """Rods that have advice, each with its place from the longest line-out to the shortest."""
        advised = [
            [(slot, advice) for slot in station if (advice := self.advice(slot)) is not None]
            for station in stations
        ]
        able = [station for station in advised if station]
        return [
            (slot, advice, (place + 0.5) / len(able))
            for place, station in enumerate(able)
            for slot, advice in station
        ]

    def _line(
        self, slot: Slot, advice: Advice, out_m: float, *, apart: bool
    ) -> tuple[CardLine, Array]:
        assert self.curve is not None
        basis, tackle = self.basis, self.basis.gears[slot.gear]
        usual = self.depths(slot)
        at = np.argmin(np.abs(usual.line_out_m - out_m), keepdims=True)
        one = usual.take(at)
        rate = expected_rates(self.curve, one)[:, 0]
        own = self.rng.standard_normal(len(rate)) * one.own_sd[0]
        depth = one.depth_m[0] * np.exp(one.log_shift[:, 0] + own)
        temp = _at_depths(basis.depth_m, self.temps, depth)
        off = {
            share: expected_rates(self.curve, self.depths(slot, 1.0 + share).take(at)).mean()
            for share in (-OFF_BY, OFF_BY)
        }
        middle, low, high = np.quantile(rate, (0.5, *BOUNDS))
        counter = self._counter(slot, float(one.line_out_m[0]))
        good = [self._counter(slot, end) for end in (advice.line_out_low_m, advice.line_out_high_m)]
        asked = int(np.argmin(np.abs(advice.rates.line_out_m - one.line_out_m[0])))
        loss, loss_high = np.quantile(1.0 - advice.rates.share[:, asked], (0.5, BOUNDS[1]))
        line = CardLine(
            rod=slot.rod,
            side=slot.side,
            gear=slot.gear,
            lure=slot.lure,
            setting=slot.usual_setting,
            line_out=counter,
            line_out_low=good[0] if apart else min(good[0], counter),
            line_out_high=good[1] if apart else max(good[1], counter),
            unit=basis.units.length,
            depth_m=float(depth.mean()),
            depth_sd_m=float(depth.std()),
            temp_c=float(temp.mean()),
            temp_sd_c=float(temp.std()),
            rate=float(middle),
            rate_low=float(low),
            rate_high=float(high),
            loss=float(loss),
            loss_high=float(loss_high),
            apart=apart and not good[0] <= counter <= good[1],
            if_slow=1.0 - float(off[-OFF_BY] / rate.mean()),
            if_fast=1.0 - float(off[OFF_BY] / rate.mean()),
            lead_m=tackle.lead_m,
            leader_m=tackle.leader_m,
            trials=tackle.lines.belief.trials,
        )
        return line, rate

    def _counter(self, slot: Slot, line_out_m: float) -> float:
        """Return what the rod's counter shows for a true line-out, in the steps a hand lets out."""
        unit = self.basis.units.length
        shown = line_out_m / self.basis.counter_scale[slot.rod]
        return LINE_STEP[unit] * round(float(from_si(shown, "length", unit)) / LINE_STEP[unit])


def _tackle_of(slot: Slot) -> tuple[str, str, float]:
    """Return what a rod usually fishes: gear, lure that dives, and setting."""
    return slot.gear, slot.lure, key_of(slot.usual_setting)


def _sort_of(slot: Slot) -> tuple[str, str, float, str]:
    """Return what makes rods alike: their tackle and side."""
    return *_tackle_of(slot), slot.side


def _at_depths(depth_m: Array, temps: Array | None, wanted: Array) -> Array:
    """Temperature of each draw's own water at its own depth; NaN where unknown."""
    if temps is None:
        return np.full(wanted.shape, np.nan)
    step = depth_m[1] - depth_m[0]
    place = np.clip((wanted - depth_m[0]) / step, 0.0, len(depth_m) - 1.001)
    below = place.astype(np.intp)
    share, draw = place - below, np.arange(len(wanted))
    return np.asarray((1.0 - share) * temps[below, draw] + share * temps[below + 1, draw])


def across(line: CardLine, slots: Sequence[Slot]) -> tuple[int, int]:
    """From port to starboard, outer rods at the sides."""
    order = [slot.rod for slot in sorted(slots, key=inner_first)]
    place = order.index(line.rod)
    return (-1, -place) if line.side == "port" else (int(line.side == "starboard"), place)
