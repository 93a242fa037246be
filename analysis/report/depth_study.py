"""Owns the tables of the depth notebook: one boat's gears, curves, calibration and spread."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd

from analysis.depth import (
    Calibration,
    Columns,
    GearBelief,
    RodLine,
    clearances,
    equal_depth_table,
    line_out_for,
    line_path,
)
from analysis.depth.clearance import LinePath
from analysis.depth.kinds import Gear
from analysis.depth.limits import LINE_OUT_M, SPEED_MPS, USUAL_SPEED_MPS
from analysis.depth.lures import Lure
from analysis.effort.on_board import calibrations_of, dial_of, tip_height_m, trail_m
from analysis.errors import LogError, UsageError
from analysis.labels import Z90
from analysis.log import SeasonLog, read_log
from analysis.report.depth_parts import depths_of_parts
from analysis.units import Units, from_si, to_si

LINE_OUTS_M = np.arange(10.0, 81.0, 2.0)
USUAL_LINE_OUT_M = 30.0
USUAL_DEPTH_M = 13.7
SPEEDS_MPS = np.arange(0.6, 1.81, 0.1)
THICKER = np.arange(0.6, 2.01, 0.1)
LURE_AREAS_M2 = np.arange(0.0, 0.0031, 0.00025)
LARGEST_LIP_M2 = 0.002
TIP_HEIGHTS_M = np.arange(0.5, 4.01, 0.25)


@dataclass(frozen=True, kw_only=True)
class RodPlan:
    """A rod of a spread: its gear and setting, and how far from the middle its tip is."""

    rod: str
    side: str
    gear: str
    setting: float
    to_side_m: float


@dataclass(frozen=True, kw_only=True)
class DepthStudy:
    """What the depth notebook shows of one boat.

    Attributes
    ----------
    boat, gear
        Names of the boat and of the gear looked at closely.
    units
        The boat's units, to show lengths in; the tables are in SI.
    curves
        `gear, setting, line_out_m, depth_m, low_m, high_m`: every gear, 90 % interval.
    effects
        `term, at, change`: share by which depth changes with speed, line diameter, drag area of
        the lure, lift area of one that dives and the height of the rod tip, else as usual.
    trials
        `trial, setting, line_out_m, logged_m, before, before_sd, after, after_sd, left_out,
        reason`: logged depth over predicted depth, less 1, before and after calibration.
    learnt
        `label, unit, prior_sd, sd, shift, learnt, source`, a row a parameter.
    uses
        `setting, line_out_m, before_sd, after_sd`: how well depth is known, as a share.
    parts
        `part, line_out_m, without_m, with_m`: see `analysis.report.depth_parts`.
    notes
        What to know of the calibration, and the next trial, in sentences' parts.
    next_trial
        One row: `setting, line_out_m, speed_mps, sd_now, sd_then`.
    equal_depth
        Columns of `analysis.depth.invert.EqualDepth`.
    ends
        `rod, side, gear, setting, line_out_m, depth_m, depth_sd_m, across_m, astern_m, reason`.
    paths
        `rod, astern_m, across_m, depth_m`, points from lure to rod tip.
    clearance
        `rod_a, rod_b, least_m, sideways_m, flagged, crossed, fish_passes_behind`.
    """

    boat: str
    gear: str
    units: Units
    curves: pd.DataFrame
    effects: pd.DataFrame
    trials: pd.DataFrame
    learnt: pd.DataFrame
    uses: pd.DataFrame
    parts: pd.DataFrame
    notes: tuple[str, ...]
    next_trial: pd.DataFrame
    equal_depth: pd.DataFrame
    ends: pd.DataFrame
    paths: pd.DataFrame
    clearance: pd.DataFrame

    @property
    def chosen(self) -> pd.DataFrame:
        """Curves of the gear looked at closely."""
        return self.curves[self.curves["gear"] == self.gear]

    @property
    def others(self) -> pd.DataFrame:
        """Curves of the boat's other gears."""
        return self.curves[self.curves["gear"] != self.gear]


def usual_spread(gears: Mapping[str, Gear], dials: Mapping[str, Sequence[float]]) -> list[RodPlan]:
    """Return a spread of what a boat has: its divers to both sides, other gear in the middle.

    Each side has the three lowest tilted settings used of the first diver, the lowest innermost
    (common practice, no source); rod tips stand half a metre apart.
    """
    divers = {name: gear for name, gear in gears.items() if gear.place.planes}
    plans = []
    for name, diver in list(divers.items())[:1]:
        dial = _tilted(diver, dials[name])[:3]
        for place, setting in enumerate(dial):
            for side in ("port", "starboard"):
                rod = f"{side[0].upper()}{place + 1}"
                to_side = 1.5 + 0.5 * place
                plans.append(
                    RodPlan(rod=rod, side=side, gear=name, setting=setting, to_side_m=to_side)
                )
    middle = [name for name in gears if name not in divers]
    plans += [
        RodPlan(rod=f"M{place + 1}", side="centre", gear=name, setting=np.nan, to_side_m=place)
        for place, name in enumerate(middle)
    ]
    return plans


def study_depth(
    log_dir: str | Path,
    *,
    gear: str | None = None,
    speed: float | None = None,
    depth: float | None = None,
    spread: Sequence[RodPlan] | None = None,
) -> DepthStudy:
    """Work out the tables of the depth notebook.

    Parameters
    ----------
    log_dir
        A season folder; its soaks calibrate its gears.
    gear
        The gear to look at closely; the one with most sets unless given.
    speed, depth
        Speed through the water, and the depth wanted in the equal-depth table and the spread;
        in the boat's units; `USUAL_SPEED_MPS` and `USUAL_DEPTH_M` unless given.
    spread
        Rods to draw; `usual_spread` of the boat unless given.

    Raises
    ------
    LogError
        For a folder that cannot be read, a boat without gear, or a gear that it does not have.
    UsageError
        For a speed or depth that is no number or that nothing is towed at.
    """
    log = read_log(Path(log_dir))
    units, gears = log.boat.units, log.boat.gears
    speed_mps = USUAL_SPEED_MPS if speed is None else _wanted(speed, "speed", units, SPEED_MPS.high)
    depth_m = USUAL_DEPTH_M if depth is None else _wanted(depth, "depth", units, LINE_OUT_M.high)
    if not gears:
        msg = "there is no gear to look at"
        toml = log.folder / "boat.toml"
        raise LogError(msg, file=toml, key="gear", remedy="describe one, as the front page shows")
    dials = {name: dial_of(log, name) for name in gears}
    if gear is None:
        gear = _most_used(log)
    if spread is None:
        spread = usual_spread(gears, dials)
    for name in (gear, *(plan.gear for plan in spread)):
        if name not in gears:
            raise LogError(
                problem=f"there is no gear {name!r}",
                file=log.folder / "boat.toml",
                remedy=f"choose one of {', '.join(gears)}",
            )
    height_m = tip_height_m(log)
    done = calibrations_of(log)
    beliefs = {name: calibration.belief for name, calibration in done.items()}
    table = equal_depth_table(
        beliefs, depth_m=depth_m, speed_mps=speed_mps, tip_height_m=height_m, dials=dials
    )
    ends, paths, clearance = _spread(log, beliefs, spread, depth_m, speed_mps, height_m)
    chosen = done[gear]
    return DepthStudy(
        boat=log.boat.name,
        gear=gear,
        units=units,
        curves=_curves(beliefs, dials, speed_mps, height_m),
        effects=_effects(beliefs[gear], dials[gear], speed_mps, height_m),
        trials=_trials(chosen),
        learnt=pd.DataFrame([vars(row) for row in chosen.learnt]),
        uses=_uses(chosen),
        parts=depths_of_parts(speed_mps, height_m, log.boat.water),
        notes=chosen.notes,
        next_trial=pd.DataFrame([vars(chosen.next_trial)]),
        equal_depth=pd.DataFrame([vars(row) for row in table]),
        ends=ends,
        paths=paths,
        clearance=clearance,
    )


def _wanted(value: object, what: str, units: Units, most_si: float) -> float:
    """Return a speed or depth that a person asked for, in SI."""
    unit = units.of(what)
    most = float(from_si(most_si, what, unit))
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if not number or not 0.0 < value <= most:  # type: ignore[operator]
        msg = f"{what} {value!r}: give a number above 0 and up to {most:.4g}, in {unit}."
        raise UsageError(msg)
    return float(to_si(float(value), what, unit))  # type: ignore[arg-type]


def _most_used(log: SeasonLog) -> str:
    """Return the gear with most sets; the first of boat.toml where there are none."""
    sets = log.stretches["gear"].tolist()
    return max(log.boat.gears, key=sets.count)


def _tilted(gear: Gear, dial: Sequence[float]) -> list[float]:
    """Return the settings of a dial that pull to the side."""
    settings = np.array(dial)
    return [float(setting) for setting in settings[gear.roll_rad(settings) > 0.0]]


def _curves(
    beliefs: Mapping[str, GearBelief],
    dials: Mapping[str, Sequence[float]],
    speed_mps: float,
    tip_height_m: float,
) -> pd.DataFrame:
    frames: list[pd.DataFrame] = []
    for name, belief in beliefs.items():
        for setting in dials[name]:
            out = belief.predict(
                setting=setting,
                line_out_m=LINE_OUTS_M,
                speed_mps=speed_mps,
                tip_height_m=tip_height_m,
            )
            share = np.exp(Z90 * out.depth_sd_m / out.depth_m)
            frame = pd.DataFrame(
                {
                    "gear": name,
                    "setting": setting,
                    "line_out_m": LINE_OUTS_M,
                    "depth_m": out.depth_m,
                    "low_m": out.depth_m / share,
                    "high_m": out.depth_m * share,
                }
            )
            frames.append(frame.loc[out.reason == ""])
    return pd.concat(frames, ignore_index=True)


def _effects(
    belief: GearBelief, dial: Sequence[float], speed_mps: float, tip_height_m: float
) -> pd.DataFrame:
    gear = belief.gear
    usual_setting = (*_tilted(gear, dial), *dial)[0]

    def depth(towed: Gear, speed: float, height: float, lure: Lure | None = None) -> float:
        columns = Columns.of(
            setting=usual_setting,
            line_out_m=USUAL_LINE_OUT_M,
            speed_mps=speed,
            tip_height_m=height,
            **(lure.columns if lure else {}),
        ).for_gear(towed)
        return float(replace(belief, gear=towed).solve(columns).depth_m[0])

    usual = depth(gear, speed_mps, tip_height_m)
    terms = {
        "speed_mps": [(at, depth(gear, at, tip_height_m)) for at in SPEEDS_MPS],
        "line_diameter": [(at, depth(gear.thicker(at), speed_mps, tip_height_m)) for at in THICKER],
        "lure_drag_area_m2": [
            (at, depth(gear.with_lure_drag(at), speed_mps, tip_height_m)) for at in LURE_AREAS_M2
        ],
        "lure_lift_area_m2": [
            (at, depth(gear, speed_mps, tip_height_m, lure=_diving(at, gear)))
            for at in LURE_AREAS_M2[LURE_AREAS_M2 <= LARGEST_LIP_M2]
        ],
        "tip_height_m": [(at, depth(gear.raised(at), speed_mps, at)) for at in TIP_HEIGHTS_M],
    }
    return pd.DataFrame(
        [
            {"term": term, "at": at, "change": value / usual - 1.0}
            for term, rows in terms.items()
            for at, value in rows
        ]
    )


def _diving(lift_area_m2: float, gear: Gear) -> Lure:
    """Return a lure that dives, with no less drag than the gear's own."""
    drag = max(lift_area_m2, gear.lure_drag_area_m2)
    return Lure(name="plug", lift_area_m2=float(lift_area_m2), drag_area_m2=float(drag))


def _trials(done: Calibration) -> pd.DataFrame:
    columns = done.trials.columns
    return pd.DataFrame(
        {
            "trial": np.arange(columns.size) + 1,
            "setting": columns.setting,
            "line_out_m": columns.line_out_m,
            "logged_m": done.trials.depth_m,
            "before": done.trials.depth_m / done.before.depth_m - 1.0,
            "before_sd": done.before.shared_sd_m / done.before.depth_m,
            "after": done.residual,
            "after_sd": done.after.shared_sd_m / done.after.depth_m,
            "left_out": done.left_out,
            "reason": done.trials.reason,
        }
    )


def _uses(done: Calibration) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "setting": done.uses.setting,
            "line_out_m": done.uses.line_out_m,
            "before_sd": done.use_before.shared_sd_m / done.use_before.depth_m,
            "after_sd": done.use_after.shared_sd_m / done.use_after.depth_m,
        }
    )


def _spread(
    log: SeasonLog,
    beliefs: Mapping[str, GearBelief],
    spread: Sequence[RodPlan],
    depth_m: float,
    speed_mps: float,
    tip_height_m: float,
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Return ends, paths and clearances of a spread at one depth."""
    ends, points, paths = [], [], []
    for plan in spread:
        belief = beliefs[plan.gear]
        out = line_out_for(
            belief,
            setting=plan.setting,
            depth_m=depth_m,
            speed_mps=speed_mps,
            tip_height_m=tip_height_m,
        )
        line = RodLine(
            rod=plan.rod,
            belief=belief,
            setting=plan.setting,
            line_out_m=float(out.line_out_m),
            speed_mps=speed_mps,
            side=plan.side,
            tip_y_m=-plan.to_side_m if plan.side == "port" else plan.to_side_m,
            tip_height_m=tip_height_m,
            trail_m=trail_m(log, plan.gear),
        )
        path = line_path(line)
        reason = str(out.reason) or path.reason
        end = path.points_m[0] if not reason else np.full(3, np.nan)
        ends.append(
            {
                "rod": line.rod,
                "side": line.side,
                "gear": plan.gear,
                "setting": plan.setting,
                "line_out_m": line.line_out_m,
                "depth_m": path.depth_m,
                "depth_sd_m": line.depth_sd_m,
                "across_m": end[1],
                "astern_m": end[0],
                "reason": reason,
            }
        )
        if not reason:
            paths.append(path)
            points.append(_points(path))
    return pd.DataFrame(ends), _joined(points), _clearance(paths)


def _points(path: LinePath) -> pd.DataFrame:
    astern, across, depth = path.points_m.T
    return pd.DataFrame({"rod": path.rod, "astern_m": astern, "across_m": across, "depth_m": depth})


def _joined(points: list[pd.DataFrame]) -> pd.DataFrame:
    columns = ["rod", "astern_m", "across_m", "depth_m"]
    return pd.concat(points, ignore_index=True) if points else pd.DataFrame(columns=columns)


def _clearance(paths: list[LinePath]) -> pd.DataFrame:
    columns = [
        "rod_a",
        "rod_b",
        "least_m",
        "sideways_m",
        "flagged",
        "crossed",
        "fish_passes_behind",
    ]
    rows = [
        (
            pair.rod,
            pair.other,
            pair.least_m,
            pair.sideways_m,
            pair.flagged,
            pair.crossed,
            pair.fish_passes_behind,
        )
        for pair in clearances(paths)
    ]
    return pd.DataFrame(rows, columns=columns)
