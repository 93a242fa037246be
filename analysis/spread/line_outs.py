"""What line-out on each gear and setting is expected to catch best in each period."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.depth.limits import USUAL_SPEED_MPS
from analysis.labels import Z90
from analysis.rates.effects import weighted_quantile
from analysis.rates.line_depths import GearLines
from analysis.rates.standardised import SEASON
from analysis.result_schema import RESULTS
from analysis.spread.expected import Advice, RateByDepth, advise
from analysis.spread.rods import slots_of
from analysis.units import LINE_STEP, to_si

if TYPE_CHECKING:
    from analysis.decision.answer import Answer, Period
    from analysis.rates.build_exposure import BoatSeason
    from analysis.rates.exposure import Exposure

Array = NDArray[np.float64]

UNLOGGED_LINE_M = 75.0
"""Most line for a gear that the log never had out: about 250 ft (common practice, no source)."""
HARDLY_FISHED = 0.01
"""Share of the rod-hours at either end of the depths at which no line is aimed: about there a curve
ceases to bend (`analysis.stats.pspline.Smooth.over`), and may run on upwards."""


@dataclass(frozen=True, kw_only=True)
class Target:
    """A depth to put lures at, and the speed to do it at."""

    depth_m: float
    speed_mps: float


def target_of(answer: Answer, period: Period) -> Target | None:
    """Return the middle of a period's best band, at its median speed; None where none is named.

    Where two neighbours are named it is the middle of the two.
    """
    named = np.flatnonzero(period.judgement.named)
    if not len(named):
        return None
    edges = answer.hours.edges_m
    depth = 0.5 * (edges[named[0]] + edges[named[-1] + 1])
    return Target(depth_m=float(depth), speed_mps=usual_speed(answer, period.name))


def usual_speed(answer: Answer, period: str) -> float:
    """Median speed of a period's rod-hours; the season's, or a usual one, where none is logged."""
    table = answer.exposure.table
    speed = table["speed_mps"].to_numpy(dtype=float)
    hours = table["hours"].to_numpy()
    for here in ((table["period"] == period).to_numpy(), np.ones(len(table), dtype=bool)):
        known = here & np.isfinite(speed)
        if known.any():
            return weighted_quantile(speed[known], hours[known], 0.5)
    return USUAL_SPEED_MPS


def speed_of_boat(answer: Answer, period: str, log: int) -> float:
    """Median speed of a boat's rod-hours in a period, or the season; else that of all boats."""
    for speed, hours in _speeds(answer, period, log):
        return weighted_quantile(speed, hours, 0.5)
    return usual_speed(answer, SEASON)


def speed_scatter(answer: Answer, period: str, log: int) -> float:
    """Half the width, in log speed, of the middle two thirds of the hours of `speed_of_boat`."""
    for speed, hours in _speeds(answer, period, log):
        low, high = (weighted_quantile(speed, hours, share) for share in (1 / 6, 5 / 6))
        return 0.5 * float(np.log(high / low))
    return 0.0


def _speeds(answer: Answer, period: str, log: int) -> Iterator[tuple[Array, Array]]:
    """Speeds of a boat above rest with their rod-hours: the period's, then the season's."""
    table = answer.exposure.table
    speed = table["speed_mps"].to_numpy(dtype=float)
    hours = table["hours"].to_numpy(dtype=float)
    mine = (speed > 0) & (table["log_number"] == log).to_numpy()
    for here in (mine & (table["period"] == period).to_numpy(), mine):
        if here.any():
            yield speed[here], hours[here]


def spread_table(
    answer: Answer,
    seasons: Sequence[BoatSeason],
    advised: Sequence[Sequence[Advised]] | None = None,
) -> pd.DataFrame:
    """Line-outs that are expected to catch best in each period, by every gear and setting on board.

    See `analysis.spread.expected`: curve, depth and water are all in doubt, and together.

    Parameters
    ----------
    answer : Answer
    seasons : sequence of BoatSeason
        Boats whose gears are asked; with several boats a column ``boat`` tells whose they are.
    advised : sequence of sequences of Advised, optional
        What `advised_lines` found of each boat in every period; found here unless given.

    Returns
    -------
    DataFrame
        ``spread.csv`` of the contract, ``line_out`` in ``unit``; ``line_out_low,
        line_out_high`` between which all line-outs do nearly as well; ``depth_low_m,
        depth_high_m`` of where the lure runs given soaks and strikes; ``rate, loss`` and their
        bounds; ``boat``, ``line_out_m``. A gear that cannot reach the band named has no row.
    """
    if advised is None:
        advised = [
            list(advised_lines(answer, season, log, answer.periods))
            for log, season in enumerate(seasons)
        ]
    rows = [
        row
        for season, lines in zip(seasons, advised, strict=True)
        for _, of_gear in groupby(lines, key=lambda line: (line.gear, line.lure))
        for row in _rows(season, list(of_gear))
    ]
    order = {period.name: place for place, period in enumerate(answer.periods)}
    rows.sort(key=lambda row: order[str(row["period"])])
    return pd.DataFrame(rows, columns=RESULTS["spread"].unworded)


def longest_lines(season: BoatSeason) -> dict[str, float]:
    """Return the most line that the log had out on each gear, in metres."""
    out = season.effort.sets.groupby("gear")["line_out_m"].max()
    return {
        gear: float(out[gear]) if gear in out and np.isfinite(out[gear]) else UNLOGGED_LINE_M
        for gear in season.log.boat.gears
    }


def fished_m(exposure: Exposure) -> tuple[float, float]:
    """Return the depths between which nearly all rod-hours were fished; none where none is told."""
    depth, hours = exposure.depth_m, exposure.table["hours"].to_numpy(dtype=float)
    known = np.isfinite(depth)
    if not known.any():
        return np.inf, -np.inf
    low, high = (
        weighted_quantile(depth[known], hours[known], share)
        for share in (HARDLY_FISHED, 1.0 - HARDLY_FISHED)
    )
    return low, high


def asked_line_outs_m(longest_m: float, unit: str) -> Array:
    """Return the line-outs that are asked of a gear, in steps of the boat's unit of line."""
    step = float(to_si(LINE_STEP[unit], "length", unit))
    return step * np.arange(1.0, max(int(longest_m / step + 0.01), 1) + 1.0)


@dataclass(frozen=True, kw_only=True)
class Advised:
    """What is advised for one gear and setting in a period, at the boat's speed then.

    ``lure`` is the one that dives which the gear's rods fish, empty for one that does not.
    """

    period: str
    gear: str
    setting: float
    lure: str
    speed_mps: float
    advice: Advice


def advised_lines(
    answer: Answer, season: BoatSeason, log: int, periods: Sequence[Period]
) -> Iterator[Advised]:
    """Choose line-outs of one boat, for each gear and setting that reaches the band named.

    Gear whose rods fish a lure that dives is asked with it; with and without, where rods differ.

    Parameters
    ----------
    answer : Answer
    season : BoatSeason
    log : int
        Its number among the season folders of the answer.
    periods : sequence of Period
        Some of the answer's.
    """
    unit = season.log.boat.units.length
    longest = longest_lines(season)
    fished = fished_m(answer.exposure)
    curves = [
        (period, curve, answer.named_m(period)[0])
        for period in periods
        if period.judgement.named.any()
        and (curve := RateByDepth.of(period, answer.hours.depth_m)) is not None
    ]
    lures: dict[str, list[str]] = {}
    for slot in slots_of(season):
        if slot.lure not in lures.setdefault(slot.gear, []):
            lures[slot.gear].append(slot.lure)
    for gear in season.log.boat.gears if curves else ():
        most = season.log.boat.gears[gear].longest_m(longest[gear])
        lines_m = asked_line_outs_m(most, unit)
        shared = answer.exposure.shared.get((log, gear))
        known = GearLines.of(season, gear, shared, answer.fit, np.random.default_rng(0))
        ways = [(setting, *curve) for setting in season.dial(gear) for curve in curves]
        settings = np.array([setting for setting, *_ in ways], dtype=float)
        speeds = [speed_of_boat(answer, period.name, log) for _, period, _, _ in ways]
        scatters = [speed_scatter(answer, period.name, log) for _, period, _, _ in ways]
        each = [
            (lure, *told)
            for lure in lures.get(gear, [""])
            for told in zip(
                ways,
                speeds,
                known.depths_of_each(settings, lines_m, np.array(speeds), np.array(scatters), lure),
                strict=True,
            )
        ]
        for lure, (setting, period, curve, upper_edge_m), speed, lines in each:
            if not np.nanmax(lines.depth_m, initial=0.0) > upper_edge_m:
                continue
            advice = advise(curve, lines, answer.hours.edges_m, period.judged, fished_m=fished)
            if advice is not None:
                yield Advised(
                    period=period.name,
                    gear=gear,
                    setting=setting,
                    lure=lure,
                    speed_mps=speed,
                    advice=advice,
                )


def _rows(season: BoatSeason, lines: Sequence[Advised]) -> Iterator[dict[str, object]]:
    """Rows of the table for one gear and lure, in the boat's unit, and where a line then runs."""
    unit = season.log.boat.units.length
    step = float(to_si(LINE_STEP[unit], "length", unit))
    there = season.belief(lines[0].gear).predict(
        setting=[line.setting for line in lines],
        line_out_m=[line.advice.line_out_m for line in lines],
        speed_mps=[line.speed_mps for line in lines],
        tip_height_m=season.tip_height_m,
        **season.rig(lines[0].gear, lines[0].lure),
    )
    for place, line in enumerate(lines):
        said = asdict(line.advice)
        inside = {
            name: LINE_STEP[unit] * round(said[f"{name}_m"] / step)
            for name in ("line_out", "line_out_low", "line_out_high")
        }
        yield {
            **said,
            **inside,
            "period": line.period,
            "gear": line.gear,
            "setting": line.setting,
            "lure": line.lure,
            "unit": unit,
            "depth_m": float(there.depth_m[place]),
            "depth_sd_m": (line.advice.depth_high_m - line.advice.depth_low_m) / (2 * Z90),
            "lateral_m": abs(float(there.lateral_m[place])),
            "setback_m": float(there.setback_m[place]),
            "boat": season.log.boat.name,
        }
