"""Owns made-up boats that try their gears with a depth logger, and what they then know of depth.

They try them in calm water, straight ahead; or all in one morning, whose water is sheared, and half
of the time in a turn.
"""

from collections.abc import Callable

import numpy as np

from analysis.depth import Columns, believe
from analysis.depth.calibrate import calibrate
from analysis.depth.kinds import Diver, FlatLine, Gear, Part, Rigger, WeightedLine
from analysis.depth.slopes import log_depth

COUNTER_SD, SPEED_SD_MPS, LOGGER_SD_M = 0.025, 0.05, 0.2
SHEAR_SD_PER_S, TURN_RADII_M = 0.01, (60.0, 100.0)
FOOT_M = 0.3048
Z90 = 1.645
GEARS: dict[str, Gear] = {
    "diver": Diver(),
    "rigger": Rigger(),
    "lead core": WeightedLine(
        name="core",
        parts=(
            Part(name="leader", length_m=6.0, diameter_mm=0.30),
            Part(name="core", length_m=45.72, diameter_mm=0.85, weight_n_per_m=0.0098),
            Part(name="backing", diameter_mm=0.35),
        ),
    ),
    "flat line": FlatLine(
        name="flat",
        parts=(
            Part(
                name="leader",
                length_m=2.0,
                diameter_mm=0.30,
                lump_weight_n=0.27,
                lump_drag_area_m2=0.0001,
            ),
            Part(name="line", diameter_mm=0.30),
        ),
    ),
}
SHORTEST_M = {"lead core": 30.0}
Slip = Callable[[dict[str, np.ndarray], np.random.Generator], None]


def metres_for_feet(trials: dict[str, np.ndarray], rng: np.random.Generator) -> None:
    """One logged depth was read in feet."""
    trials["depth_m"][rng.integers(len(trials["depth_m"]))] /= FOOT_M


def wrong_setting(trials: dict[str, np.ndarray], rng: np.random.Generator) -> None:
    """One setting is another mark of the dial."""
    row = rng.integers(len(trials["setting"]))
    trials["setting"][row] = (trials["setting"][row] + rng.integers(1, 4)) % 4


def swapped_digits(trials: dict[str, np.ndarray], rng: np.random.Generator) -> None:
    """Two digits of one line-out, in feet, are swapped: 120 written as 210."""
    line_out = trials["line_out_m"]
    for row in rng.permutation(line_out.size):
        digits = f"{line_out[row] / FOOT_M:.0f}"
        swapped = float(digits[1] + digits[0] + digits[2:]) * FOOT_M
        if digits[0] != digits[1] and digits[1] != "0":
            line_out[row] = swapped
            return


def trials_of(
    name: str, values: np.ndarray, count: int, rng: np.random.Generator, *, morning: bool = False
) -> dict[str, np.ndarray]:
    """Trials spread over settings, as written down, with their errors."""
    gear = GEARS[name]
    written = {
        "setting": np.resize(np.arange(4.0), count),
        "line_out_m": rng.uniform(SHORTEST_M.get(name, 15.0), 60.0, count),
        "speed_mps": rng.uniform(0.9, 1.4, count),
    }
    towed = {
        "setting": written["setting"],
        "line_out_m": written["line_out_m"] * np.exp(COUNTER_SD * rng.normal(size=count)),
        "speed_mps": written["speed_mps"] + SPEED_SD_MPS * rng.normal(size=count),
    }
    if morning:
        turns = rng.choice([-1.0, 0.0, 0.0, 1.0], count) / rng.uniform(*TURN_RADII_M, count)
        towed["turn_rad_s"] = turns * towed["speed_mps"]
        towed["shear_per_s"] = np.repeat(SHEAR_SD_PER_S * rng.normal(), count)
    columns = Columns.of(**towed).for_gear(gear)
    depth = np.exp(log_depth(gear, columns, believe(gear).water, values))
    return {**written, "depth_m": depth + LOGGER_SD_M * rng.normal(size=count)}


def study(
    name: str,
    count: int,
    boats: int,
    seed: int,
    slip: Slip | None = None,
    *,
    morning: bool = False,
) -> tuple[float, float, float]:
    """Return rms log error, rms stated sd and coverage of the 90 % interval of new hauls."""
    gear, rng = GEARS[name], np.random.default_rng(seed)
    sd = np.array([parameter.sd for parameter in gear.parameters()])
    errors, stated = [], []
    for _ in range(boats):
        truth = sd * rng.normal(size=sd.size)
        trials = trials_of(name, truth, count, rng, morning=morning)
        if slip is not None:
            slip(trials, rng)
        belief = calibrate(gear, **trials, unit_m=FOOT_M).belief
        hauls = Columns.of(
            setting=np.resize(np.arange(4.0), 20),
            line_out_m=rng.uniform(SHORTEST_M.get(name, 15.0), 60.0, 20),
            speed_mps=rng.uniform(0.9, 1.4, 20),
        ).for_gear(gear)
        found = belief.predict_columns(hauls)
        depth = log_depth(gear, hauls, belief.water, truth)
        errors.append(np.log(found.depth_m) - depth)
        stated.append(found.shared_sd_m / found.depth_m)
    error, share = np.array(errors), np.array(stated)
    known = ~np.isnan(error)
    error, share = error[known], share[known]
    covered = np.mean(np.abs(error) < Z90 * share)
    return (*(float(np.sqrt(np.mean(part**2))) for part in (error, share)), float(covered))
