"""Owns one boat's starting spread: which rods, how deep each, what each is for."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from analysis.decision.answer import Answer, Period
from analysis.decision.bands import MOST_ON_SPREAD
from analysis.decision.leads import what_they_follow
from analysis.spread.expected import AS_GOOD, LineRates
from analysis.spread.experiment import Experiment, experiment
from analysis.spread.exploring import Learning, explorers
from analysis.spread.hedge import Hedge, hedged
from analysis.spread.layout import Layout, Line, Solver, Towed
from analysis.spread.line_outs import Advised, advised_lines, longest_lines, speed_of_boat
from analysis.spread.reasons import RodReason
from analysis.spread.rods import (
    SIDES,
    SIDES_FROM,
    SideFrom,
    Slot,
    inner_first,
    slots_of,
    stations,
    usual_rods,
)
from analysis.spread.unmeasured import Unmeasured, unmeasured
from analysis.units import Units

if TYPE_CHECKING:
    from analysis.rates.build_exposure import BoatSeason

Array = NDArray[np.float64]

BEST = "best band"
EXPLORE = "explore"
NEAREST = "nearest"
"""A rod whose gear does not reach the band, and where it reaches there is nothing to learn."""
SHALLOWEST_M = 1.0
MOST_DIVERS = 4
"""Divers a side that are tried."""


@dataclass(frozen=True, kw_only=True)
class BoatFacts:
    """What there is to say of a boat's starting spread.

    Attributes
    ----------
    boat : str
    units : Units
        The boat's own.
    rods, exploring, short : int
        Rods put down, how many of these explore, and how many others do not reach the band.
    speed_mps : float
    close : tuple of pairs of str
        Rods near enough to tangle.
    left_out : int
        Rods usual, or ``asked`` for, that are not put down.
    asked : int or None
    hedge : Hedge or None
        How far apart the rods for the band stand; None where they stand no farther than line-outs
        that do as well.
    experiment : Experiment or None
        The two line-outs to run side by side.
    unmeasured : tuple of Unmeasured
        Line-outs of the plan on gear that no soak tried.
    sides_from : str
        The least that says on which side some rod stands; see `analysis.spread.rods.Slot`.
    lacks : str
        ``sets`` or ``rods`` where nothing could be planned for want of these.
    """

    boat: str
    units: Units
    rods: int = 0
    exploring: int = 0
    short: int = 0
    speed_mps: float = np.nan
    close: tuple[tuple[str, str], ...] = ()
    left_out: int = 0
    asked: int | None = None
    hedge: Hedge | None = None
    experiment: Experiment | None = None
    unmeasured: tuple[Unmeasured, ...] = ()
    sides_from: SideFrom = "log"
    lacks: str = ""


@dataclass(frozen=True, kw_only=True)
class BoatPlanner:
    """One boat with what its plan rests on."""

    season: BoatSeason
    period: Period
    edges_m: Array
    teaches: Learning
    units: Units
    slots: list[Slot]
    speed_mps: float
    longest_m: Mapping[str, float]
    reach_m: Mapping[str, float]
    advised: Mapping[Towed, Sequence[Advised]]
    told: bool
    capped: bool

    @classmethod
    def of(
        cls,
        answer: Answer,
        period: Period,
        teaches: Learning,
        season: BoatSeason,
        log: int,
        gears: Collection[str] | None,
        advised: Sequence[Advised] | None = None,
    ) -> BoatPlanner:
        """Gather a boat's rods, usual speed, longest lines and reach.

        ``advised`` is what `advised_lines` found of the boat in this period among others; found
        here unless given.
        """
        slots = slots_of(season, gears)
        speed = speed_of_boat(answer, period.name, log)
        longest = longest_lines(season)
        used = {slot.gear for slot in slots}
        if advised is None:
            advised = list(advised_lines(answer, season, log, [period]))
        by_tackle: dict[Towed, list[Advised]] = {}
        for line in advised:
            if line.period == period.name:
                by_tackle.setdefault((line.gear, line.lure), []).append(line)
        return cls(
            season=season,
            period=period,
            edges_m=answer.hours.edges_m,
            teaches=teaches,
            units=season.log.boat.units,
            slots=slots,
            speed_mps=speed,
            longest_m=longest,
            reach_m={
                gear: max(
                    _reach(season, gear, lure, longest[gear], speed)
                    for lure in {slot.lure for slot in slots if slot.gear == gear}
                )
                for gear in used
            },
            advised=by_tackle,
            told=answer.told,
            capped=bool(answer.caps_of_less)
            or period.on_spread > MOST_ON_SPREAD
            or what_they_follow(answer) == "temperature",
        )

    @property
    def named(self) -> NDArray[np.intp]:
        """Return the bands that the period's answer names."""
        return np.flatnonzero(self.period.judgement.named)

    @property
    def band_m(self) -> tuple[float, float]:
        """Edges of the band, or the two neighbours, to cover."""
        return float(self.edges_m[self.named[0]]), float(self.edges_m[self.named[-1] + 1])

    def usual(self, asked: int | None) -> int:
        """Rods wanted: those asked for, or the number usually down."""
        return min(usual_rods(self.season), len(self.slots)) if asked is None else asked

    def plan(self, asked: int | None) -> Layout:
        """Lay the spread out, with fewer divers a side where more would come too near.

        Rods asked for are all put down, flagged where they come near each other; where nobody
        asked, those are left out that cannot be kept apart. Rods are put farther apart where that
        hedges what they share, unless more would then tangle.
        """
        solver = Solver(season=self.season, speed_mps=self.speed_mps, advised=self.advised)
        near = self._laid_out(asked, solver, AS_GOOD)
        hedge = self.hedge(asked)
        if hedge.width == AS_GOOD:
            return near
        apart = self._laid_out(asked, solver, hedge.width)
        worse = _flags(apart) > _flags(near) or len(apart.rods) < len(near.rods)
        return near if worse else replace(apart, hedge=hedge)

    def hedge(self, asked: int | None) -> Hedge:
        """Choose how far apart the rods for the band are put."""
        chosen = self._stations(self.usual(asked), MOST_DIVERS, asked)
        rods = [
            (rates, line.share)
            for line in self._lines(chosen)
            if line.share is not None and (rates := self._rates(line.slot)) is not None
        ]
        return hedged(rods)

    def _rates(self, slot: Slot) -> LineRates | None:
        """Rates of a rod's line-outs on the setting nearest its usual one."""
        known = self.advised.get((slot.gear, slot.lure), ())
        if not known:
            return None
        usual = np.nan_to_num(slot.usual_setting)
        return min(known, key=lambda one: abs(np.nan_to_num(one.setting) - usual)).advice.rates

    def _stations(self, wanted: int, divers: int, asked: int | None) -> list[tuple[Slot, ...]]:
        """Choose the rods to put down, with so many divers a side at most."""
        return stations(
            self.slots,
            wanted,
            self.reach_m,
            self.band_m[0],
            kinds={gear: self.season.log.boat.gears[gear] for gear in self.reach_m},
            most_divers=divers,
            add=asked is not None,
        )

    def _laid_out(self, asked: int | None, solver: Solver, width: float) -> Layout:
        """Lay the spread out, the rods for the band as far apart as a width lets them."""
        wanted = self.usual(asked)
        tried: list[Layout] = []
        last: list[tuple[Slot, ...]] = []
        for divers in range(MOST_DIVERS, 0, -1):
            chosen = self._stations(wanted, divers, asked)
            if chosen == last:
                continue
            last = list(chosen)
            lines = self._lines(chosen)
            tried += [
                solver.lay_out(
                    self._by_depth(lines, deepest_first=deepest, explorers_out=out), width
                )
                for out in (True, False)
                for deepest in (True, False)
            ]
            if len(tried[-1].rods) == wanted and not min(map(_flags, tried)):
                break  # fewer divers would not do better

        def worth(laid: Layout) -> tuple[int, int]:
            few, near = -len(laid.rods), _flags(laid)
            return (few, near) if asked is not None else (min(near, 1), few)

        return min(tried, key=worth)

    def _lines(self, chosen: list[tuple[Slot, ...]]) -> list[Line]:
        """Give every rod its depth and purpose."""
        gears, edges = self.season.log.boat.gears, self.edges_m
        low, high = self.band_m
        chosen.sort(key=lambda rods: (gears[rods[0].gear].place.order, inner_first(rods[0])))
        may_explore = _who_explores(chosen, self.period, self.reach_m, low)
        explored: dict[str, int] = {}
        for slot in (slot for rods in chosen for slot in rods if slot.rod in may_explore):
            band = self._to_explore(self.reach_m[slot.gear], set(explored.values()))
            if band is not None:
                explored[slot.rod] = band
        short = {gear for gear, reach in self.reach_m.items() if not reach > low}
        covering = [
            rods
            for rods in chosen
            if rods[0].gear not in short and not all(slot.rod in explored for slot in rods)
        ]
        lines = []
        for rods in chosen:
            for slot in rods:
                share = None
                if slot.rod in explored:
                    band = explored[slot.rod]
                    depth, purpose = 0.5 * (edges[band] + edges[band + 1]), EXPLORE
                    why = self._why_explore(band)
                elif slot.gear in short:
                    depth, why = self._nearest(self.reach_m[slot.gear])
                    purpose = NEAREST
                else:
                    # Inner lines deepest: a fish on an outer one passes behind and above them.
                    share = (covering.index(rods) + 0.5) / len(covering)
                    depth, purpose = high - (high - low) * share, BEST
                    why = RodReason(band_m=self.band_m, units=self.units)
                lines.append(
                    Line(
                        slot=slot,
                        depth_m=max(float(depth), SHALLOWEST_M),
                        longest_m=self.longest_m[slot.gear],
                        purpose=purpose,
                        why=why,
                        share=share,
                    )
                )
        return lines

    def _by_depth(
        self, lines: Sequence[Line], *, deepest_first: bool, explorers_out: bool
    ) -> list[Line]:
        """Give the divers of each side their depths anew.

        Those for the band stand with the deepest innermost or outermost; explorers stand farthest
        out or farthest in, so that the others are alike on both sides.
        """
        gears = self.season.log.boat.gears
        out = [line for line in lines if not gears[line.slot.gear].place.planes]
        for side in dict.fromkeys(line.slot.side for line in lines):
            divers = [
                line
                for line in lines
                if line.slot.side == side and gears[line.slot.gear].place.planes
            ]
            cover = [line for line in divers if line.purpose == BEST]
            cover.sort(key=lambda line: line.depth_m, reverse=deepest_first)
            explore = [line for line in divers if line.purpose != BEST]
            ordered = [*cover, *explore] if explorers_out else [*explore, *cover]
            out += [
                replace(what, slot=place.slot, longest_m=place.longest_m)
                for place, what in zip(divers, ordered, strict=True)
            ]
        return out

    def _to_explore(self, reach_m: float, taken: set[int]) -> int | None:
        """Choose the band that a rod of some reach explores; None where none is worth it."""
        found = self.teaches
        middle = 0.5 * (self.edges_m[:-1] + self.edges_m[1:])
        within = middle <= max(reach_m, middle[0])
        worth = np.where(within, found.worth, 0.0)
        free = ~np.isin(np.arange(len(middle)), list(taken))
        for asked in (np.where(free, worth, 0.0), worth):
            if asked.max() > 0:
                return int(np.argmax(asked))
        unknown = np.flatnonzero(within & ~found.known & ~self.period.judgement.named)
        if not len(unknown):
            return None
        return int(unknown[np.argmin(np.abs(unknown - self.named.mean()))])

    def _why_explore(self, band: int) -> RodReason:
        """Say in numbers why a band is explored."""
        known = bool(self.teaches.known[band])
        return RodReason(
            band_m=(float(self.edges_m[band]), float(self.edges_m[band + 1])),
            units=self.units,
            explores=self.period.name,
            rod_hours=float(self.period.rod_hours[band]) if known else None,
            chance=float(self.teaches.chance[band]) if known else 0.0,
        )

    def _nearest(self, reach_m: float) -> tuple[float, RodReason]:
        """Choose the depth of a rod that does not reach the band: the best that it reaches."""
        top = self.edges_m[:-1]
        rate = np.median(np.nan_to_num(self.period.draws), axis=1)
        band = int(np.argmax(np.where(top < reach_m, rate, -1.0)))
        middle = 0.5 * (top[band] + self.edges_m[band + 1])
        why = RodReason(band_m=self.band_m, units=self.units, short=True)
        return float(min(middle, reach_m)), why

    def _on_both_sides(self) -> list[Advised]:
        """Return what is advised for gear that has rods to port and to starboard."""
        sides = {(slot.gear, slot.side) for slot in self.slots}
        return [
            line
            for (gear, _), lines in self.advised.items()
            if {(gear, side) for side in SIDES} <= sides
            for line in lines
        ]

    def facts(self, made: Layout, asked: int | None) -> BoatFacts:
        """Say in numbers what the boat puts down, and what may tangle or was left out."""
        close = made.clearance.loc[made.clearance["flagged"].astype(bool)]
        return BoatFacts(
            boat=self.season.log.boat.name,
            units=self.units,
            rods=len(made.rods),
            exploring=int((made.table["purpose"] == EXPLORE).sum()),
            short=int((made.table["purpose"] == NEAREST).sum()),
            speed_mps=self.speed_mps,
            close=tuple(zip(close["rod_a"], close["rod_b"], strict=True)),
            left_out=max(self.usual(asked) - len(made.rods), 0),
            asked=asked,
            sides_from=max((slot.side_from for slot in self.slots), key=SIDES_FROM.index),
            hedge=made.hedge,
            experiment=experiment(self._on_both_sides(), _hours_fished(self.season)),
            unmeasured=unmeasured(
                self.advised,
                self.season,
                made.table.loc[made.table["purpose"] == BEST],
                told=self.told,
                capped=self.capped,
            ),
        )


def _hours_fished(season: BoatSeason) -> float:
    """Hours of a season from the first line in to the last line out, trip by trip."""
    trips = season.log.trips
    return float((trips["end"] - trips["start"]).dt.total_seconds().sum() / 3600.0)


def _flags(laid: Layout) -> int:
    return int(laid.clearance["flagged"].sum())


def _reach(season: BoatSeason, gear: str, lure: str, longest_m: float, speed_mps: float) -> float:
    """Return how deep a gear gets on its deepest setting; 0 where it cannot be solved."""
    found = season.belief(gear).locate(
        setting=season.dial(gear),
        line_out_m=longest_m,
        speed_mps=speed_mps,
        tip_height_m=season.tip_height_m,
        **season.rig(gear, lure),
    )
    return float(np.max(np.nan_to_num(found.depth_m)))


def _who_explores(
    chosen: Sequence[tuple[Slot, ...]],
    period: Period,
    reach_m: Mapping[str, float],
    need_m: float,
) -> set[str]:
    """Return the rods that may explore: those that cannot cover the band, and the least used."""
    found = {slot.rod for rods in chosen for slot in rods if not reach_m[slot.gear] > need_m}
    count = explorers(sum(len(rods) for rods in chosen), period.judgement.verdict)
    able = sorted(
        (rods for rods in chosen if reach_m[rods[0].gear] > need_m),
        key=lambda rods: sum(slot.hours for slot in rods),
    )
    for rods in able[:-1]:  # at least one pair stays on the band
        for slot in reversed(rods):
            if len(found) < count:
                found.add(slot.rod)
    return found
