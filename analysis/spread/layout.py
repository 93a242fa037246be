"""Owns the layout of a spread: settings and line-outs that keep lines apart, and clearances."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise, product
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import pandas as pd

from analysis.depth import RodLine, clearances, line_out_to, line_paths
from analysis.depth.clearance import NEAR_M, SIDEWAYS_CLEARANCE_M, Clearance, LinePath
from analysis.depth.kinds import Gear
from analysis.effort.on_board import trail_m
from analysis.spread.expected import AS_GOOD
from analysis.spread.hedge import Hedge, line_at
from analysis.spread.line_outs import Advised
from analysis.spread.reasons import NearReason, RodReason
from analysis.spread.rods import SIDES, Slot
from analysis.units import LINE_STEP, Units, from_si, to_si

if TYPE_CHECKING:
    from analysis.rates.build_exposure import BoatSeason

TIP_STEP_M = 0.5
"""How much farther out each further rod tip of a kind is than the one before; the first one's
place is the kind's (a boat of 2.5 m beam with rods out to the side; common practice, no source)."""
INNER_Y_M = 1.2
"""Where the lines run that the innermost diver must keep clear of: a rigger's."""
Towed = tuple[str, str]
"""A gear, and the lure that dives on it; empty for one that does not."""
TABLE = (
    *("rod", "gear", "side", "setting", "line_out", "unit", "depth_m", "depth_sd_m"),
    *("lateral_m", "setback_m", "purpose", "why", "line_out_m", "tip_y_m"),
)
CLEARANCE = ("rod_a", "rod_b", "least_m", "sideways_m", "flagged", "why")


@dataclass(frozen=True, kw_only=True)
class Line:
    """A rod with what it is for.

    Attributes
    ----------
    slot : Slot
    depth_m : float
        Wanted depth.
    longest_m : float
        Most line there is.
    purpose : str
    why : RodReason
    share : float or None
        Of a line that goes where it is expected to catch best: its place among the line-outs that
        do nearly as well, 0 the longest, 1 the shortest.
    """

    slot: Slot
    depth_m: float
    longest_m: float
    purpose: str
    why: RodReason
    share: float | None = None


@dataclass(frozen=True, kw_only=True)
class Layout:
    """A laid-out spread, of several that are tried.

    Attributes
    ----------
    rods : tuple of dict
        From port to starboard: rows of `table` but for ``depth_sd_m``.
    lines : tuple of RodLine
        The same rods as lines in the water.
    clearance : DataFrame
        How near lines come.
    hedge : Hedge or None
    """

    rods: tuple[dict[str, Any], ...]
    lines: tuple[RodLine, ...]
    clearance: pd.DataFrame
    hedge: Hedge | None = None

    @cached_property
    def table(self) -> pd.DataFrame:
        """The rods, with how well their depths are known: worked out for the spread chosen."""
        doubts = [line.depth_sd_m for line in self.lines]
        return pd.DataFrame(self.rods, columns=list(TABLE)).assign(depth_sd_m=doubts)


@dataclass(frozen=True, kw_only=True)
class _Run:
    """A line solved: what to let out, and where it runs from its tip."""

    setting: float
    line_out_m: float
    lateral_m: float


_Wanted = tuple[Slot, _Run, int]
"""A rod, what it is to let out, and its place among those of its kind and side, from inside."""


@dataclass(frozen=True, kw_only=True)
class _Settled:
    """A line as it is set: its row of the table, the line, its path, and its counter's scale."""

    row: dict[str, Any]
    line: RodLine
    path: LinePath
    counter_scale: float


@dataclass(frozen=True, kw_only=True)
class Solver:
    """Lays out spreads of one boat at one speed, each line solved once.

    Attributes
    ----------
    season : BoatSeason
        Whose gear, heights of rod tips and counters it is.
    speed_mps : float
    advised : mapping of Towed to sequence of Advised
        What is expected to catch best, by gear and lure. What it does not name is let out to the
        depth wanted.
    """

    season: BoatSeason
    speed_mps: float
    advised: Mapping[Towed, Sequence[Advised]] = field(default_factory=dict)
    solved: dict[tuple[object, ...], list[_Run]] = field(default_factory=dict)
    settled: dict[tuple[object, ...], _Settled] = field(default_factory=dict)

    def lay_out(self, lines: Sequence[Line], width: float = AS_GOOD) -> Layout:
        """Choose settings and line-outs.

        Divers of a side stand in the order given, the first innermost. Among all choices of
        settings that rise outward, the one is taken that keeps 15 ft between neighbouring divers
        with the lowest settings, or where none does, keeps the nearest two farthest apart. Both
        sides get the same settings.

        Parameters
        ----------
        lines : sequence of Line
            From the middle outward.
        width : float
            How far apart lines for the band are put; see `analysis.spread.hedge`.

        Returns
        -------
        Layout
            A line that cannot run near its depth is not in the table.
        """
        gears = self.season.log.boat.gears
        runs = {line.slot.rod: self._runs(line, width) for line in lines}
        divers = [line for line in lines if gears[line.slot.gear].place.planes]
        settings = _settings(divers, runs, gears)
        others = [line for line in lines if line not in divers and runs[line.slot.rod]]
        settings |= {line.slot.rod: runs[line.slot.rod][0] for line in others}
        count: Counter[tuple[str, int]] = Counter()
        wanted: list[tuple[Line, _Wanted]] = []
        for line in lines:
            if line.slot.rod in settings:
                row = line.slot.side, gears[line.slot.gear].place.order
                wanted.append((line, (line.slot, settings[line.slot.rod], count[row])))
                count[row] += 1
        self._settle([one for _, one in wanted])
        rods, paths = [], []
        for line, one in wanted:
            found = self.settled[one]
            why = replace(
                line.why,
                lure=line.slot.lure,
                all_do_m=self._as_good(line, found.row["setting"]),
                apart=line.share is not None and width > AS_GOOD,
                beyond="" if line.share is None else _beyond(found.row["depth_m"], line.why),
                counter=found.row["line_out"],
                counter_scale=found.counter_scale,
            )
            rods.append(({**found.row, "purpose": line.purpose, "why": why}, found.line))
            paths.append(found.path)
        across = {path.rod: float(path.points_m[0, 1]) for path in paths if not path.reason}
        rods.sort(key=lambda rod: across.get(rod[1].rod, 0.0))
        units = self.season.log.boat.units
        near = [_reading(pair, units) for pair in clearances(paths)]
        return Layout(
            rods=tuple(row for row, _ in rods),
            lines=tuple(set_line for _, set_line in rods),
            clearance=pd.DataFrame(near, columns=list(CLEARANCE)),
        )

    def _runs(self, line: Line, width: float) -> list[_Run]:
        """Every setting that can run a line at its depth, or the nearest it gets to it."""
        height = self.season.log.boat.tip_height_of(line.slot.rod)
        towed = (line.slot.gear, line.slot.lure)
        advised = self.advised.get(towed, ()) if line.share is not None else ()
        wish = (line.share, width) if advised else line.depth_m
        key = (*towed, wish, height, line.longest_m)
        if key not in self.solved:
            self.solved[key] = (
                _let_out(line, advised, width, self.season, self.speed_mps, height)
                if advised
                else _solve(line, self.season, self.speed_mps, height)
            )
        return self.solved[key]

    def _as_good(self, line: Line, setting: float) -> tuple[float, float] | None:
        """Return between which line-outs a line may be let out as well; None where not known."""
        if line.share is None:
            return None
        for known in self.advised.get((line.slot.gear, line.slot.lure), ()):
            if np.array_equal(known.setting, setting, equal_nan=True):
                return known.advice.line_out_low_m, known.advice.line_out_high_m
        return None

    def _settle(self, wanted: Sequence[_Wanted]) -> None:
        """Round line-outs to steps of counters, and find where the lines then run."""
        new = [one for one in wanted if one not in self.settled]
        counters = [_counter(slot, run, self.season) for slot, run, _ in new]
        lines = [
            _rod_line(*one, counter, self.season, self.speed_mps)
            for one, counter in zip(new, counters, strict=True)
        ]
        for one, counter, line, path in zip(new, counters, lines, line_paths(lines), strict=True):
            self.settled[one] = _settled(one[0], counter, line, path, self.season)


def _beyond(depth_m: float, why: RodReason) -> Literal["", "shallower", "deeper"]:
    """Say on which side of its band a line runs, a quarter of the band and more away from it."""
    low, high = why.band_m
    away = (high - low) / 4
    if depth_m < low - away:
        return "shallower"
    return "deeper" if depth_m > high + away else ""


def _let_out(
    line: Line,
    advised: Sequence[Advised],
    width: float,
    season: BoatSeason,
    speed_mps: float,
    height: float,
) -> list[_Run]:
    """Let a line out to its place among the line-outs that a width allows on each setting."""
    share = 0.0 if line.share is None else line.share
    settings = np.array([known.setting for known in advised])
    line_out = np.array([line_at(known.advice.rates, width, share) for known in advised])
    line_out = np.minimum(line_out, line.longest_m)
    found = season.belief(line.slot.gear).locate(
        setting=settings,
        line_out_m=line_out,
        speed_mps=speed_mps,
        tip_height_m=height,
        **season.rig(line.slot.gear, line.slot.lure),
    )
    return [
        _Run(setting=float(setting), line_out_m=float(out), lateral_m=abs(float(lateral)))
        for setting, out, lateral in zip(settings, line_out, found.lateral_m, strict=True)
        if np.isfinite(lateral)
    ]


def _solve(line: Line, season: BoatSeason, speed_mps: float, height: float) -> list[_Run]:
    """Solve a line on every setting of its dial, at its depth or the nearest it gets to it."""
    dial = season.dial(line.slot.gear)
    belief = season.belief(line.slot.gear)
    # A band's edge may lie just beyond what a gear does: then as near as it gets.
    for part in (1.0, 0.9, 0.8, 0.7):
        found = line_out_to(
            belief,
            setting=dial,
            depth_m=line.depth_m * part,
            speed_mps=speed_mps,
            tip_height_m=height,
            longest_m=line.longest_m,
            rig=season.rig(line.slot.gear, line.slot.lure),
        )
        runs = [
            _Run(setting=float(setting), line_out_m=float(out), lateral_m=abs(float(lateral)))
            for setting, out, lateral in zip(dial, found.line_out_m, found.lateral_m, strict=True)
            if np.isfinite(out)
        ]
        if runs:
            return runs
    return []


def _settings(
    divers: Sequence[Line], runs: dict[str, list[_Run]], gears: Mapping[str, Gear]
) -> dict[str, _Run]:
    """Choose the settings of all divers, those of both sides alike."""
    sides = {
        side: [line for line in divers if line.slot.side == side and runs[line.slot.rod]]
        for side in (*SIDES, "centre")
    }
    chosen: dict[str, _Run] = {}
    places = max((len(of_side) for of_side in sides.values()), default=0)
    if not places:
        return chosen
    dials = [
        sorted(
            {
                run.setting
                for of_side in sides.values()
                if place < len(of_side)
                for run in runs[of_side[place].slot.rod]
            }
        )
        for place in range(places)
    ]
    best: tuple[float, float] | None = None
    for settings in product(*dials):
        if any(outer < inner for inner, outer in pairwise(settings)):
            continue
        tried, gaps = {}, []
        for of_side in sides.values():
            across = 0.0
            for place, line in enumerate(of_side):
                options = [run for run in runs[line.slot.rod] if run.setting <= settings[place]]
                run = options[-1] if options else runs[line.slot.rod][0]
                tried[line.slot.rod] = run
                tip_y_m = gears[line.slot.gear].place.tip_y_m + TIP_STEP_M * place
                now = tip_y_m + run.lateral_m
                inner = INNER_Y_M if place == 0 else across
                gaps.append(now - inner)
                across = now
        score = (min(min(gaps), SIDEWAYS_CLEARANCE_M), -float(sum(settings)))
        if best is None or score > best:
            best, chosen = score, tried
    return chosen


def _counter(slot: Slot, run: _Run, season: BoatSeason) -> float:
    """Round a line-out to the steps that a hand lets out, by its rod's counter."""
    boat = season.log.boat
    step = LINE_STEP[boat.units.length]
    shown = run.line_out_m / boat.counter_scale_of(slot.rod)
    return max(step * round(float(from_si(shown, "length", boat.units.length)) / step), step)


def _rod_line(
    slot: Slot, run: _Run, place: int, counter: float, season: BoatSeason, speed_mps: float
) -> RodLine:
    """Let a rod out to what its counter shows, at its place on the boat."""
    boat = season.log.boat
    rig = season.rig(slot.gear, slot.lure)
    sign = {"port": -1.0, "starboard": 1.0}.get(slot.side, 0.0)
    true_m = float(to_si(counter, "length", boat.units.length))
    return RodLine(
        rod=slot.rod,
        belief=season.belief(slot.gear),
        line_out_m=true_m * boat.counter_scale_of(slot.rod),
        speed_mps=speed_mps,
        side=slot.side,
        setting=run.setting,
        tip_y_m=sign * (boat.gears[slot.gear].place.tip_y_m + TIP_STEP_M * place),
        tip_height_m=boat.tip_height_of(slot.rod),
        # a lure that dives hangs on its lead or leader: that is part of the solution
        trail_m=0.0 if rig else trail_m(season.log, slot.gear),
        rig=rig,
    )


def _settled(
    slot: Slot, counter: float, line: RodLine, path: LinePath, season: BoatSeason
) -> _Settled:
    """Put down where a line runs as the plan has it."""
    sign = {"port": -1.0, "starboard": 1.0}.get(slot.side, 0.0)
    row = {
        "rod": slot.rod,
        "gear": slot.gear,
        "side": slot.side,
        "setting": line.setting,
        "line_out": counter,
        "unit": season.log.boat.units.length,
        "depth_m": path.depth_m,
        "lateral_m": sign * abs(path.lateral_m),
        "setback_m": path.setback_m + line.trail_m,
        "line_out_m": line.line_out_m,
        "tip_y_m": line.tip_y_m,
    }
    scale = season.log.boat.counter_scale_of(slot.rod)
    return _Settled(row=row, line=line, path=path, counter_scale=scale)


def _reading(found: Clearance, units: Units) -> dict[str, Any]:
    """Return whether two lines may tangle, and why."""
    why = None
    if found.crossed:
        why = NearReason(how="cross", limit_m=0.0, units=units)
    elif found.flagged and found.both_plane:
        why = NearReason(how="divers", limit_m=SIDEWAYS_CLEARANCE_M, units=units)
    elif found.flagged:
        why = NearReason(how="pass", limit_m=NEAR_M, units=units)
    return {
        "rod_a": found.rod,
        "rod_b": found.other,
        "least_m": found.least_m,
        "sideways_m": found.sideways_m,
        "flagged": found.flagged,
        "why": why,
    }
