"""Owns the study of core and flat lines whose truth is the tests' independent integration.

`PYTHONPATH=.:tests .venv/bin/python tests/benchmarks/depth_independent.py 60` draws boats from the
parts' priors, lets each try its gear with a depth logger, and compares new hauls with what the
model says of them. The true depths come from `solve_ivp` at 1e-11, not from the model.
"""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import replace
from pathlib import Path

import made_boats
import numpy as np

from analysis.depth import Columns, believe
from analysis.depth.calibrate import calibrate
from analysis.depth.kinds import FlatLine, WeightedLine

Line = WeightedLine | FlatLine
HAULS = 6
_SPEC = importlib.util.spec_from_file_location(
    "depth_conftest", Path(__file__).parents[1] / "depth" / "conftest.py"
)
assert _SPEC is not None
assert _SPEC.loader is not None
_CONFTEST = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(_CONFTEST)


def made(gear: Line, rng: np.random.Generator) -> Line:
    """Return a boat's own line: its weights, diameters and lure drawn from the priors."""
    sd = {parameter.name: parameter.sd for parameter in gear.parameters()}
    times = {name: float(np.exp(size * rng.normal())) for name, size in sd.items()}
    heavier, thicker = times["line_weight"], times["line_drag"]
    parts = tuple(
        replace(
            part,
            weight_n_per_m=heavier * part.weight_n_per_m,
            lump_weight_n=heavier * part.lump_weight_n,
            normal_drag=thicker * gear.normal_drag,
        )
        for part in gear.parts
    )
    return replace(
        gear,
        parts=parts,
        lure_drag_area_m2=times["end_drag"] * gear.lure_drag_area_m2,
        lure_weight_n=times["end_weight"] * gear.lure_weight_n,
    )


def depths(gear: Line, line_out_m: np.ndarray, speed_mps: np.ndarray) -> np.ndarray:
    """Return true depths."""
    rows = zip(line_out_m, speed_mps, strict=True)
    return np.array([_CONFTEST._reference(gear, np.nan, out, u, 1.5)[0] for out, u in rows])


def study(name: str, count: int, boats: int) -> tuple[float, float, float]:
    """Return rms log error, rms stated sd and the share of hauls in their 90 % interval."""
    gear, rng = made_boats.GEARS[name], np.random.default_rng(77 + count)
    assert isinstance(gear, WeightedLine | FlatLine)
    errors, stated = [], []
    for _ in range(boats):
        own = made(gear, rng)
        least = made_boats.SHORTEST_M.get(name, 15.0)
        written = rng.uniform(least, 60.0, count), rng.uniform(0.9, 1.4, count)
        towed = (
            written[0] * np.exp(made_boats.COUNTER_SD * rng.normal(size=count)),
            written[1] + made_boats.SPEED_SD_MPS * rng.normal(size=count),
        )
        logged = depths(own, *towed) + made_boats.LOGGER_SD_M * rng.normal(size=count)
        belief = (
            calibrate(gear, line_out_m=written[0], speed_mps=written[1], depth_m=logged).belief
            if count
            else believe(gear)
        )
        out, speed = rng.uniform(least, 60.0, HAULS), rng.uniform(0.9, 1.4, HAULS)
        found = belief.predict_columns(Columns.of(line_out_m=out, speed_mps=speed).for_gear(gear))
        errors.append(np.log(depths(own, out, speed) / found.depth_m))
        stated.append(found.shared_sd_m / found.depth_m)
    missed, sd = np.concatenate(errors), np.concatenate(stated)
    known = np.isfinite(missed)
    missed, sd = missed[known], sd[known]
    inside = np.abs(missed) < made_boats.Z90 * sd
    return float(np.sqrt(np.mean(missed**2))), float(np.sqrt(np.mean(sd**2))), float(inside.mean())


def main(boats: int) -> None:
    """Print the table."""
    print("| gear | trials | rms error | stated sd | 90 % interval covers |\n|---|---|---|---|---|")
    for count in (0, 8, 2, 4):
        for name in ("lead core", "flat line"):
            rms, sd, covers = study(name, count, boats)
            print(f"| {name} | {count} | {rms:.1%} | {sd:.1%} | {covers:.0%} |", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]))
