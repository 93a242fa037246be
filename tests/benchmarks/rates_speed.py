"""How fast the rate engine is, and how near to others' curves; from the repository's root:

    OPENBLAS_NUM_THREADS=1 PYTHONPATH=. python tests/benchmarks/rates_speed.py

One run prints every line of the table; seconds are CPU seconds of one thread, which other work
on the machine does not change much. A season is the simulated one of the scenario with all
troubles, answered with its checks. The large logs are made up: strikes at random about a bell in
depth times a level for each trip. The model that others can fit too is Poisson with log hours as
offset, a P-spline of depth (12 cubic B-splines on 3-39 m, third differences, a given smoothing
parameter), with or without a level for each of 80 trips. Where Rscript with the package mgcv is
not installed its lines say so. Memory is the peak of a process of its own.
"""

from __future__ import annotations

import argparse
import multiprocessing
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import statsmodels.api as sm
from numpy.typing import NDArray
from scipy.interpolate import BSpline

from analysis.decision.answer import answer
from analysis.effort import count_effort
from analysis.log import read_log
from analysis.rates.build_exposure import BoatSeason, join
from analysis.stats.cells import binned, collapse
from analysis.stats.conditional import Maximum, group, maximise
from analysis.stats.pspline import Smooth
from analysis.stats.risk_sets import rods_at_strikes
from data.simulate import simulate_season

Array = NDArray[np.float64]

LOW_M, HIGH_M = 3.0, 39.0
LAMBDA = 50.0
TRIPS = 80
WIDTH_M = 0.05
"""Width of a depth bin: a fifth of what a season's own bins are, for curves within 1 % of a
standard error of the fit to every row even at ten million rows."""
SLICE_US = 600_000_000
KNOTS = LOW_M + (HIGH_M - LOW_M) / 9 * np.arange(-3, 13)
THIRD = np.diff(np.eye(12), 3, axis=0)


def basis(depth_m: Array) -> Array:
    """Twelve cubic B-splines."""
    return np.asarray(BSpline.design_matrix(depth_m, KNOTS, 3).toarray())


def made(rows: int, rng: np.random.Generator) -> dict[str, NDArray[Any]]:
    """Slices of ten minutes with a depth, a trip and strikes."""
    depth = np.clip(rng.normal(18.0, 7.0, rows), LOW_M + 0.01, HIGH_M - 0.01)
    trip = rng.integers(0, TRIPS, rows).astype(np.int32)
    level = rng.normal(0.0, 0.6, TRIPS)
    hours = rng.uniform(0.05, 1 / 6, rows)
    rate = 0.15 * np.exp(level[trip] - 0.5 * ((depth - 15.0) / 6.0) ** 2)
    return {
        "depth": depth,
        "trip": trip,
        "hours": hours,
        "strikes": rng.poisson(hours * rate).astype(float),
    }


def engine(log: dict[str, NDArray[Any]], *, strata: bool, width_m: float) -> Maximum:
    """Group, collapse and fit; the stratum is a trip, or everything."""
    trip = log["trip"] if strata else np.zeros(len(log["depth"]), dtype=np.int32)
    if width_m > 0:
        cells = collapse(trip, binned(log["depth"], width_m))
        hours, strikes = cells.sum(log["hours"]), cells.sum(log["strikes"])
        depth = cells.sum(log["depth"] * log["hours"]) / hours
        trip = trip[cells.row]
    else:
        depth, hours, strikes = log["depth"], log["hours"], log["strikes"]
    data = group(basis(depth), strikes, np.log(hours), trip, trip)
    return maximise(data, LAMBDA * THIRD.T @ THIRD)


def curve(coef: Array) -> Array:
    """Log rate on a grid, about its mean."""
    at = basis(np.linspace(LOW_M + 1, HIGH_M - 1, 41)) @ coef
    return np.asarray(at - at.mean())


def standard_error(found: Maximum) -> Array:
    """Of the same, by the Bayesian covariance of the penalised fit."""
    at = basis(np.linspace(LOW_M + 1, HIGH_M - 1, 41))
    at = at - at.mean(axis=0)
    information = found.information + LAMBDA * THIRD.T @ THIRD
    return np.sqrt(np.einsum("ij,jk,ik->i", at, np.linalg.pinv(information), at))


def apart(one: Array, other: Array, se: Array) -> float:
    """Largest difference of two curves, each about its mean, in standard errors."""
    return float(np.max(np.abs((one - one.mean()) - (other - other.mean())) / se))


def timed(call: Callable[[], Any]) -> tuple[float, Any]:
    """CPU seconds and result."""
    began = time.process_time()
    found = call()
    return time.process_time() - began, found


def season(lines: list[list[str]]) -> None:
    """Read, count, join and answer one season, with all checks."""
    simulated = simulate_season("all_troubles", 7)
    with tempfile.TemporaryDirectory() as folder:
        written = simulated.write(Path(folder) / "season")
        seconds, log = timed(lambda: read_log(written))
    counted, effort = timed(lambda: count_effort(log))
    boat = BoatSeason.of(log, effort)
    joined, exposure = timed(lambda: join([boat]))

    def temperature_at(_log: int, *where: Any) -> Array:
        return boat.temperature_at(*where)

    edges = np.arange(0.0, 61.0, 3.0)
    rng = np.random.default_rng(0)
    told, found = timed(lambda: answer(exposure, temperature_at, edges, rng))
    rows = f"{len(exposure.table):,}"
    strikes = int(exposure.table["strikes"].sum())
    lines.append(["read, count, join a season", rows, f"{seconds + counted + joined:.2f}", "", ""])
    what = f"answer: choice, fit, draws, bands, {len(found.checks)} checks, {strikes} strikes"
    lines.append([what, rows, f"{told:.2f}", "", ""])


def rods_at_one_time(lines: list[list[str]], rows: int) -> None:
    """The season's own model on many seasons at a given smoothing: depth and temperature."""
    rng = np.random.default_rng(2)
    log = made(rows, rng)
    rods = 8
    moment = np.arange(rows) // rods
    trip = (moment // 31).astype(np.intp)
    start = moment.astype(np.int64) * SLICE_US
    strike_row = np.flatnonzero(log["strikes"])
    strike_time = start[strike_row] + rng.integers(1, SLICE_US, len(strike_row))
    temp = 5.0 + 13.0 / (1.0 + np.exp((log["depth"] - 14.0 + rng.normal(0, 3, rows)) / 3.0))
    terms = (
        Smooth(name="depth_m", low=LOW_M, high=HIGH_M),
        Smooth(name="lure_temp_c", low=4.0, high=19.0),
    )

    def fit() -> Maximum:
        sets = rods_at_strikes(trip, start, start + SLICE_US, strike_row, strike_time)
        values = (log["depth"][sets.row], temp[sets.row])
        design = np.column_stack([t.design(v) for t, v in zip(terms, values, strict=True)])
        none = np.zeros(len(design))
        data = group(design, sets.hit, none, sets.moment, trip[sets.row])
        return maximise(data, np.eye(design.shape[1]))

    seconds, found = timed(fit)
    strikes = f"{len(strike_row):,} strikes"
    what = f"rods down at one time, depth and temperature, grouping included ({strikes})"
    lines.append([what, f"{rows:,}", f"{seconds:.2f}", "", "" if found.converged else "failed"])


def against_others(lines: list[list[str]], rows: int) -> None:
    """The model that others fit too, on the same rows."""
    log = made(rows, np.random.default_rng(1))
    theirs = _mgcv(log)
    for strata, name in ((False, "pooled"), (True, f"{TRIPS} trips eliminated")):
        exact_seconds, exact = timed(lambda s=strata: engine(log, strata=s, width_m=0.0))
        se = standard_error(exact)
        seconds, cells = timed(lambda s=strata: engine(log, strata=s, width_m=WIDTH_M))
        off = apart(curve(cells.coef), curve(exact.coef), se)
        n = f"{rows:,}"
        lines.append([f"ours, {name}, row by row", n, f"{exact_seconds:.2f}", "", "0"])
        lines.append([f"ours, {name}, in cells", n, f"{seconds:.2f}", "1", f"{off:.4f}"])
        label = f"R mgcv::bam(discrete = TRUE), {name}"
        if strata not in theirs:
            lines.append([label, n, "not installed", "", ""])
            continue
        their_seconds, their_curve = theirs[strata]
        off = apart(their_curve, curve(cells.coef), se)
        ratio = f"{their_seconds / seconds:.0f}"
        lines.append([label, n, f"{their_seconds:.2f}", ratio, f"{off:.4f}"])
        if not strata:
            their_seconds, coef = timed(lambda: _glm(log))
            plain = _cubic(log)
            se = np.sqrt(np.diag(np.linalg.inv(plain.information)))
            off = np.max(np.abs(coef[1:] - plain.coef) / se)
            label = "statsmodels GLM on the rows, a cubic in depth; ours in cells"
            cubic_seconds, _ = timed(lambda: _cubic(log))
            ratio = f"{their_seconds / cubic_seconds:.0f}"
            lines.append([label, n, f"{their_seconds:.2f}", ratio, f"{off:.4f}"])


def _powers(depth_m: Array) -> Array:
    z = (depth_m - 20.0) / 10.0
    return np.column_stack([z, z**2, z**3])


def _glm(log: dict[str, NDArray[Any]]) -> Array:
    design = sm.add_constant(_powers(log["depth"]))
    model = sm.GLM(log["strikes"], design, sm.families.Poisson(), offset=np.log(log["hours"]))
    return np.asarray(model.fit().params)


def _cubic(log: dict[str, NDArray[Any]]) -> Maximum:
    cells = collapse(binned(log["depth"], WIDTH_M))
    hours = cells.sum(log["hours"])
    depth = cells.sum(log["depth"] * log["hours"]) / hours
    one = np.zeros(len(depth), dtype=np.intp)
    data = group(_powers(depth), cells.sum(log["strikes"]), np.log(hours), one, one)
    return maximise(data, np.zeros((3, 3)))


def _mgcv(log: dict[str, NDArray[Any]]) -> dict[bool, tuple[float, Array]]:
    """Seconds and curve of bam by whether it has trips; empty where R or mgcv is missing."""
    rscript = shutil.which("Rscript")
    if rscript is None:
        return {}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for column, values in log.items():
            values.tofile(folder / column)
        settings = f"{len(log['depth'])} {LAMBDA} {LOW_M} {HIGH_M}"
        (folder / "settings.txt").write_text(settings, encoding="utf-8")
        script = Path(__file__).with_suffix(".R")
        done = subprocess.run([rscript, str(script), name], capture_output=True, check=False)
        if done.returncode:
            sys.stderr.write(done.stderr.decode())
            return {}
        out = {}
        for strata, file in ((False, "pooled.out"), (True, "trips.out")):
            seconds, *values = np.loadtxt(folder / file)
            out[strata] = (float(seconds), np.array(values))
        return out


def bounded_memory(lines: list[list[str]], rows: int) -> None:
    """Ten million slices in a process of their own, made and collapsed in one go."""
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        before, after, seconds = pool.apply(_large, (rows,))
    what = f"ours, {TRIPS} trips eliminated, in cells; peak memory {after:.1f} GiB"
    lines.append([f"{what}, {before:.1f} of it the log", f"{rows:,}", f"{seconds:.2f}", "", ""])


def _large(rows: int) -> tuple[float, float, float]:
    def peak() -> float:
        # what getrusage tells of a child includes its parent's peak
        status = Path("/proc/self/status").read_text(encoding="ascii")
        line = next(line for line in status.splitlines() if line.startswith("VmHWM"))
        return int(line.split()[1]) / 2**20

    log = made(rows, np.random.default_rng(3))
    before = peak()
    seconds, found = timed(lambda: engine(log, strata=True, width_m=WIDTH_M))
    if not found.converged:
        msg = "the large fit did not converge"
        raise RuntimeError(msg)
    return before, peak(), seconds


def main() -> None:
    """Run everything and print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--large", type=int, default=10_000_000)
    wanted = parser.parse_args()
    head = ["what", "slices", "CPU seconds", "times ours in cells", "curve off, in s.e."]
    lines = [head, ["---"] * len(head)]
    season(lines)
    rods_at_one_time(lines, wanted.rows)
    against_others(lines, wanted.rows)
    bounded_memory(lines, wanted.large)
    sys.stdout.write("\n".join("| " + " | ".join(line) + " |" for line in lines) + "\n")


if __name__ == "__main__":
    main()
