"""Owns the benchmark of modelled depth: rows a second against solve_ivp a row at a time.

From the repository's root, `PYTHONPATH=. OMP_NUM_THREADS=1 python tests/benchmarks/depth_speed.py`
prints the table kept in depth_speed.md. Times are processor time of one thread, so that other
work on the machine counts little; read the ratios. Memory is the peak that each case adds, in a
process of its own.
"""

from __future__ import annotations

import argparse
import multiprocessing
import resource
import time
from collections.abc import Callable

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from analysis.depth import Columns, believe, solve
from analysis.depth.kinds import Diver, FlatLine, Gear, Part, Rigger, WeightedLine
from analysis.depth.lures import Lure
from analysis.depth.model import tow_of
from analysis.depth.water import FRESH_WATER

CORE = WeightedLine(
    parts=(
        Part(name="leader", length_m=6.0, diameter_mm=0.30),
        Part(name="core", length_m=45.72, diameter_mm=0.85, weight_n_per_m=0.0098),
        Part(name="backing", diameter_mm=0.35),
    )
)
FLAT = FlatLine(
    parts=(
        Part(name="leader", length_m=2.0, diameter_mm=0.30, lump_weight_n=0.27),
        Part(name="line", diameter_mm=0.30),
    )
)
HEAVY = Diver(line_weight_n_per_m=0.01)
CLOSED = Diver(tangential_drag=0.0)
MIXED = (HEAVY, Rigger(), CORE, FLAT)
Rig = tuple[Gear, Lure | None]
RIGS: tuple[Rig, ...] = (
    (Rigger(clips_m=(0.0, 8.0), fishes_at_m=8.0), None),
    (CORE, Lure(name="plug", lift_area_m2=0.0007, drag_area_m2=0.0007)),
)
PER_ROW = 40  # rows that solve_ivp is timed on, of each gear


def columns(rows: int, seed: int) -> dict[str, np.ndarray]:
    """Distinct rows over the range fished."""
    rng = np.random.default_rng(seed)
    return {
        "setting": rng.uniform(0.0, 3.0, rows),
        "line_out_m": rng.uniform(25.0, 120.0, rows),
        "speed_mps": rng.uniform(0.5, 1.5, rows),
    }


def row_at_a_time(gear: Gear, row: Columns, rtol: float) -> float:
    """Return the depth of one row by solve_ivp with dense output, and brentq at the surface."""
    tow = tow_of(gear, row, FRESH_WATER)
    start, state, found = 0.0, np.concatenate([-tow.end_n[:, 0], np.zeros(3)]), np.nan
    length, height, begins = tow.line_out_m[0], tow.height_m[0], 0.0
    for part in range(tow.top_m.shape[0]):
        normal, along = tow.normal_n_per_m[part, 0], tow.tangential_n_per_m[part, 0]
        weight, stop = tow.weight_n_per_m[part, 0], min(tow.top_m[part, 0], length)

        def slope(_: float, y: np.ndarray, n=normal, a=along, w=weight) -> list[float]:
            tension = np.sqrt(y[0] * y[0] + y[1] * y[1] + y[2] * y[2])
            tx, ty, tz = y[0] / tension, y[1] / tension, y[2] / tension
            push = n * np.sqrt(ty * ty + tz * tz)
            pull = (a * abs(tx) - push) * tx
            return [-(push + pull * tx), -pull * ty, -(pull * tz + w), tx, ty, tz]

        path = solve_ivp(slope, (start, stop), state, rtol=rtol, atol=1e-12, dense_output=True)

        def spare(s: float, sol=path.sol) -> float:
            y = sol(s)
            return (s - length) * y[2] / np.sqrt(y[0] ** 2 + y[1] ** 2 + y[2] ** 2) - height

        if start <= tow.from_m[0] <= stop:
            begins = path.sol(tow.from_m[0])[5] + tow.trail_m[2, 0]
        nodes = np.linspace(start, stop, 50)
        over = spare(nodes)
        falls = np.flatnonzero((over[:-1] >= 0.0) & (over[1:] <= 0.0))
        if falls.size:
            low, high = nodes[falls[-1]], nodes[falls[-1] + 1]
            found = begins - path.sol(brentq(spare, low, high, xtol=1e-9))[5]
        state = path.y[:, -1].copy()
        state[0] -= tow.lump_n[0, part, 0]
        state[2] -= tow.lump_n[2, part, 0]
        start = stop
        if start >= length:
            break
    return found


def time_rows_at_a_time(gears: tuple[Rig, ...], rtol: float) -> tuple[float, float]:
    """Return seconds a row, and the worst relative difference from the whole-column depth."""
    spent, apart = 0.0, 0.0
    for gear, lure in gears:
        given = columns(PER_ROW, 9)
        more = lure.columns if lure else {}
        rows = [Columns.of(**{k: v[i] for k, v in given.items()}, **more) for i in range(PER_ROW)]
        begin = time.process_time()
        depth = [row_at_a_time(gear, row.for_gear(gear), rtol) for row in rows]
        spent += time.process_time() - begin
        ours = solve(gear, **given, lure=lure).depth_m
        known = ~np.isnan(ours)
        apart = max(apart, float(np.max(np.abs(np.array(depth)[known] / ours[known] - 1.0))))
    return spent / (PER_ROW * len(gears)), apart


def closed(rows: int) -> int:
    """The closed form: divers without drag along the line."""
    return int(np.sum(solve(CLOSED, **columns(rows, 1)).reason == ""))


def fast(rows: int) -> int:
    """The fast form: divers with drag along the line."""
    return int(np.sum(solve(Diver(), **columns(rows, 1)).reason == ""))


def integrator(rows: int) -> int:
    """Integration: equal shares of riggers, lead core, flat lines and divers on heavy line."""
    return sum(
        int(np.sum(solve(gear, **columns(rows // len(MIXED), 2 + place)).reason == ""))
        for place, gear in enumerate(MIXED)
    )


def rigs(rows: int) -> int:
    """Integration with what hangs on it: a second line on a cable, and a plug on core."""
    return sum(
        int(np.sum(solve(gear, **columns(rows // 2, 12), lure=lure).reason == ""))
        for gear, lure in RIGS
    )


def draws(rows: int) -> int:
    """Twenty draws of each row's depth, distinct rows of divers in sets of three."""
    belief = believe(Diver())
    given, sets = columns(rows, 5), np.arange(rows) // 3
    return int(belief.draws(20, np.random.default_rng(1), set_id=sets, **given).shape[1])


def rigger_draws(rows: int) -> int:
    """Twenty draws of each row's depth for riggers, integrated."""
    belief = believe(Rigger())
    given, sets = columns(rows, 5), np.arange(rows) // 3
    return int(belief.draws(20, np.random.default_rng(1), set_id=sets, **given).shape[1])


def _measured(case: Callable[[int], int], rows: int, out: multiprocessing.Queue) -> None:  # type: ignore[type-arg]
    case(1000)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    begin = time.process_time()
    case(rows)
    spent = time.process_time() - begin
    added = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    out.put((spent, added / 1024.0))


def measure(case: Callable[[int], int], rows: int) -> tuple[float, float]:
    """Return seconds and the peak memory added (MB) by a case, in a process of its own."""
    context = multiprocessing.get_context("spawn")
    out = context.Queue()
    process = context.Process(target=_measured, args=(case, rows, out))
    process.start()
    result: tuple[float, float] = out.get()
    process.join()
    return result


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--scale", type=float, default=1.0, help="share of the rows to run")
    scale = parser.parse_args().scale
    cases = [
        ("closed form, divers, Ct = 0", closed, 1_000_000, ((CLOSED, None),)),
        ("fast form, divers, Ct = 0.015", fast, 1_000_000, ((Diver(), None),)),
        ("integrator, mixed", integrator, 100_000, tuple((gear, None) for gear in MIXED)),
        ("second line and plug", rigs, 100_000, RIGS),
        ("20 draws, divers", draws, 20_000, None),
        ("20 draws, riggers", rigger_draws, 20_000, None),
    ]
    print("| case | rows | seconds | us/row | MB added | x solve_ivp 1e-6 | x solve_ivp 1e-9 |")
    print("| --- | ---: | ---: | ---: | ---: | ---: | ---: |")
    for name, case, rows, gears in cases:
        count = int(rows * scale)
        spent, memory = measure(case, count)
        ratios = []
        for rtol in (1e-6, 1e-9) if gears is not None else ():
            seconds, apart = time_rows_at_a_time(gears, rtol)
            ratios.append(f"{seconds / (spent / count):,.0f} (apart {apart:.0e})")
        print(
            f"| {name} | {count:,} | {spent:.2f} | {1e6 * spent / count:.2f} | {memory:.0f} "
            f"| {' | '.join(ratios or ['-', '-'])} |",
            flush=True,
        )


if __name__ == "__main__":
    main()
