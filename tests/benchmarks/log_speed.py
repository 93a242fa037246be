"""Owns the benchmark of reading: seasons of many sets, against pandas.read_csv of the same files.

From the repository's root, `PYTHONPATH=.:tests OMP_NUM_THREADS=1 python
tests/benchmarks/log_speed.py --seasons 60 --sets 100000` prints the table kept in log_speed.md: the
seasons are read, vetted, counted and turned into exposures one after the other, each of its own
seed. Told are the seconds that pass and those of the processor, the least of some runs by turns:
pandas.read_csv uses one core, rodhours two where a file is large. Memory is the peak of a process
of its own, and there are no others.
"""

from __future__ import annotations

import argparse
import multiprocessing
import resource
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
from season_files import BOAT

from analysis.effort import count_effort
from analysis.log import read_log
from analysis.rates.build_exposure import BoatSeason, join

RODS, SETS_A_ROD = 8, 40
"""Of a trip of thirteen hours: a set ends every twenty minutes."""
TABLES = ("trips", "sets", "strikes")


def clock(day: pd.Series, minute: np.ndarray) -> pd.Series:
    """Local times as a log has them."""
    return (day + pd.to_timedelta(minute, unit="min")).dt.strftime("%Y-%m-%d %H:%M")


def write_season(folder: Path, sets: int, seed: int) -> Path:
    """Write a season of about so many sets: whole trips, one a day, year after year if need be."""
    rng = np.random.default_rng(seed)
    trips = max(sets // (RODS * SETS_A_ROD), 1)
    folder.mkdir(parents=True)
    (folder / "boat.toml").write_text(BOAT, encoding="utf-8")
    day = pd.Series(pd.Timestamp("2026-01-01") + pd.to_timedelta(np.arange(trips) % 360, unit="D"))
    name = pd.Series([f"T{number}" for number in range(trips)])
    start, end = clock(day, np.full(trips, 295)), clock(day, np.full(trips, 1110))
    frame = {"trip": name, "date": day.dt.strftime("%Y-%m-%d"), "start": start, "end": end}
    pd.DataFrame(frame).to_csv(folder / "trips.csv", index=False)
    of = np.repeat(np.arange(trips), RODS * SETS_A_ROD)
    rod = np.tile(np.repeat(np.arange(RODS), SETS_A_ROD), trips)
    minute = np.tile(300 + 20 * np.arange(SETS_A_ROD), RODS * trips)
    dives = rod < 5
    setting = pd.Series(rng.integers(0, 4, len(of))).astype("str").where(dives, "")
    days = day.take(of).reset_index(drop=True)
    frame = {
        "trip": name.take(of).reset_index(drop=True),
        "rod": [f"P{number}" for number in rod],
        "side": "port",
        "gear": np.where(dives, "diver", "rigger"),
        "setting": setting,
        "line_out": rng.integers(60, 150, len(of)),
        "leader_length": rng.integers(4, 9, len(of)),
        "lure": np.array(["silver spoon", "blue plug", "copper"])[rng.integers(0, 3, len(of))],
        "time_in": clock(days, minute),
        "time_out": clock(days, minute + 18),
        "ended_by": "moved",
    }
    pd.DataFrame(frame).to_csv(folder / "sets.csv", index=False)
    hit = rng.choice(len(of), max(len(of) // 60, 1), replace=False)
    frame = {
        "trip": frame["trip"].iloc[hit],
        "time": clock(days.iloc[hit], minute[hit] + 9),
        "rod": [f"P{number}" for number in rod[hit]],
        "species": "lake trout",
        "outcome": "landed",
    }
    pd.DataFrame(frame).to_csv(folder / "strikes.csv", index=False)
    return folder


def by_pandas(folder: Path) -> int:
    """Read the tables as pandas does by default."""
    return len([pd.read_csv(folder / f"{name}.csv") for name in TABLES][1])


def by_rodhours(folder: Path) -> int:
    """Read, vet, count and join depth; all sets must count, and every strike."""
    log = read_log(folder)
    effort = count_effort(log)
    exposure = join([BoatSeason.of(log, effort)])
    assert log.set_aside.empty
    assert effort.set_aside.empty
    assert exposure.table["depth_m"].notna().all()
    assert int(exposure.table["strikes"].sum()) == len(log.strikes)
    return len(log.sets)


def timed(work: Callable[[Path], int], folders: list[Path], found: object) -> None:
    """Do the work folder by folder; put down sets, seconds, those of the processor, peak MB."""
    begin = time.perf_counter(), time.process_time()
    sets = sum(work(folder) for folder in folders)
    seconds = time.perf_counter() - begin[0], time.process_time() - begin[1]
    megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6
    found.put((sets, *seconds, megabytes))  # type: ignore[attr-defined]


def alone(work: Callable[[Path], int], folders: list[Path]) -> tuple[int, float, float, float]:
    """Time it in a process of its own."""
    context = multiprocessing.get_context("spawn")
    found = context.Queue()
    process = context.Process(target=timed, args=(work, folders, found))
    process.start()
    result: tuple[int, float, float, float] = found.get()
    process.join()
    return result


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seasons", type=int, default=3)
    parser.add_argument("--sets", type=int, default=100_000)
    parser.add_argument("--runs", type=int, default=3)
    asked = parser.parse_args()
    print("| seasons | sets | MB of CSV | by | seconds | of a processor | peak MB | x | x |")
    print("| ---: | ---: | ---: | --- | ---: | ---: | ---: | ---: | ---: |")
    with tempfile.TemporaryDirectory() as scratch:
        folders = [Path(scratch) / f"season-{number}" for number in range(asked.seasons)]
        # a process begins with the peak of the one that begot it, so this one makes nothing
        with multiprocessing.get_context("spawn").Pool(1) as pool:
            pool.starmap(write_season, [(one, asked.sets, at) for at, one in enumerate(folders)])
        size = sum(file.stat().st_size for one in folders for file in one.glob("*.csv")) / 1e6
        ways = {"pandas.read_csv": by_pandas, "rodhours": by_rodhours}
        runs = [
            {name: alone(work, folders) for name, work in ways.items()} for _ in range(asked.runs)
        ]
        usual = None
        for name in ways:
            every = [run[name] for run in runs]
            sets, megabytes = every[0][0], max(run[3] for run in every)
            passed, worked = (min(run[at] for run in every) for at in (1, 2))
            usual = usual or (passed, worked)
            print(
                f"| {asked.seasons} | {sets:,} | {size:,.0f} | {name} | {passed:.2f} | "
                f"{worked:.2f} | {megabytes:,.0f} | {passed / usual[0]:.1f} | "
                f"{worked / usual[1]:.1f} |"
            )


if __name__ == "__main__":
    main()
