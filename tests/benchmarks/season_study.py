"""How well methods name the best depth on simulated seasons; from the repository's root:

    PYTHONPATH=. python tests/benchmarks/season_study.py --scenario all --seeds 50000:50040
    PYTHONPATH=. python tests/benchmarks/season_study.py --scenario chasing_confounded \\
        --strikes 25,50,100,200,400 --seeds 50000:50040 --methods share,per hour,pooled,ours,oracle
    PYTHONPATH=. python tests/benchmarks/season_study.py --table

Every season goes the real way: written as a folder, read, counted, joined, answered. Rows are
appended to a CSV file as seasons are done, and seasons already in it are not run again, so a run
can be stopped and taken up. Bands of 3 m, judged from 20 rod-hours in a season and 8 in a month
by modelled depth. What the columns of the table mean stands below it.
"""

from __future__ import annotations

import argparse
import multiprocessing
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.decision.answer import Answer, answer
from analysis.decision.bands import MONTH_HOURS, SEASON_HOURS, Judgement, judge
from analysis.diagnostics.sensitivity import fit_by
from analysis.effort import count_effort
from analysis.log import read_log
from analysis.rates.build_exposure import BoatSeason, join
from analysis.rates.effects import effect_table
from analysis.rates.exposure import Exposure
from analysis.rates.model_selection import candidates
from analysis.rates.standardised import SEASON, BoatHours, band_draws
from analysis.rates.trip_rates import trip_levels
from analysis.rates.within_trip import fit_speed
from data.simulate import SCENARIOS, simulate_season
from data.truth import Truth

sys.path.insert(0, str(Path(__file__).parent))
from study_oracle import oracle_draws
from study_table import table

Array = NDArray[np.float64]

EDGES_M = np.arange(0.0, 61.0, 3.0)
REFITS = 4
"""Refits of the methods that are only compared with: their draws need not be many."""
TERMS = ("depth_m", "lure_temp_c", "speed_mps", "leader_length_m")
"""Terms whose true ratios the generator knows."""
TOLERANCE = 0.1
"""Share of the rate that a named band may give up before the name counts as wrong."""


@dataclass(frozen=True)
class Case:
    """One simulated season, read back, and what is true of it."""

    truth: Truth
    boat: BoatSeason
    exposure: Exposure
    hours: BoatHours
    leader_m: Array

    @classmethod
    def of(cls, scenario: str, seed: int, strikes: int | None) -> Case:
        """Simulate, write, read, count and join a season."""
        season = simulate_season(scenario, seed, strikes=strikes)
        with tempfile.TemporaryDirectory() as folder:
            log = read_log(season.write(Path(folder) / "season"))
            boat = BoatSeason.of(log, count_effort(log))
        exposure = join([boat])
        case = cls(season.truth, boat, exposure, None, None)  # type: ignore[arg-type]
        return cls(
            season.truth,
            boat,
            exposure,
            BoatHours.of(exposure, EDGES_M, case.temperature_at),
            season.frames["sets"]["leader_length_m"].to_numpy(dtype=float),
        )

    def temperature_at(
        self, _log: int, trips: NDArray[np.object_], times: NDArray[np.int64], depth_m: Array
    ) -> Array:
        """Temperature by the log's casts; the shape that `answer` asks for."""
        return self.boat.temperature_at(trips, times, depth_m)

    @property
    def periods(self) -> list[str]:
        """The season and its months."""
        return [SEASON, *sorted(set(self.hours.period))]

    def fished(self, period: str, column: str) -> Array:
        """Rod-hours or strikes of each band by modelled depth."""
        frame = self.exposure.table
        mine = frame["depth_m"].notna() & ((frame["period"] == period) | (period == SEASON))
        part = frame.loc[mine]
        return np.histogram(part["depth_m"], EDGES_M, weights=part[column])[0]


Draws = dict[str, Array]
"""Draws (bands, draws) of each period's band rates."""
Result = tuple[Draws, dict[str, Judgement], pd.DataFrame | None]
Method = Callable[[Case, np.random.Generator], Result]


def share(case: Case, rng: np.random.Generator) -> Result:
    """Each band's strikes, whatever its rod-hours."""
    return _raw(case, rng, per_hour=False), {}, None


def per_hour(case: Case, rng: np.random.Generator) -> Result:
    """Each band's strikes by its rod-hours."""
    return _raw(case, rng, per_hour=True), {}, None


def _raw(case: Case, rng: np.random.Generator, *, per_hour: bool) -> Draws:
    """Gamma draws of the strikes, prior count a half (Jeffreys)."""
    out = {}
    for period in case.periods:
        strikes, hours = case.fished(period, "strikes"), case.fished(period, "hours")
        draws = rng.gamma(strikes[:, None] + 0.5, size=(len(strikes), 400))
        out[period] = draws / np.maximum(hours, 1e-9)[:, None] if per_hour else draws
    return out


def fitted(strata: str, *, temperature: bool) -> Method:
    """Return a fit by other strata than the rods down at one time; see `fit_by`."""

    def method(case: Case, rng: np.random.Generator) -> Result:
        models = candidates(case.exposure)
        model = models["depth alone"] if not temperature else next(iter(models.values()))
        fit = fit_by(case.exposure, model, rng, strata=strata, refits=REFITS)
        levels = trip_levels(case.exposure, fit, rng)
        groups = [(case.hours.period == p) | (p == SEASON) for p in case.periods]
        draws = band_draws(fit, levels, case.hours, groups)
        speed = fit_speed(case.exposure, fit, levels.weight, rng)
        effects = effect_table(case.exposure, fit, speed)
        return dict(zip(case.periods, draws, strict=True)), {}, effects

    return method


def ours(case: Case, rng: np.random.Generator) -> Result:
    """Return what the season review says."""
    return result_of(answer(case.exposure, case.temperature_at, EDGES_M, rng, checked=False))


def result_of(found: Answer) -> Result:
    """Return what is scored of an answer."""
    draws = {period.name: period.draws for period in found.periods}
    verdicts = {period.name: period.judgement for period in found.periods}
    return draws, verdicts, found.effects


def oracle(case: Case, rng: np.random.Generator) -> Result:
    """Return the true form and water, with the fish's preferences unknown."""
    return oracle_draws(case, EDGES_M, rng), {}, None


METHODS: dict[str, Method] = {
    "share": share,
    "per hour": per_hour,
    "pooled depth": fitted("season", temperature=False),
    "pooled": fitted("season", temperature=True),
    "trip hour": fitted("trip hour", temperature=True),
    "gamma trip hour": fitted("trip hour gamma", temperature=True),
    "ours": ours,
    "oracle": oracle,
}


def score(case: Case, method: str, seed: int) -> Iterator[dict[str, object]]:
    """Yield one row a period: what the method names, gives up, and covers."""
    began = time.perf_counter()
    result = METHODS[method](case, np.random.default_rng(seed))
    seconds = time.perf_counter() - began
    for row in scored(case, result):
        yield {"seconds": seconds} | row


def scored(case: Case, result: Result) -> Iterator[dict[str, object]]:
    """Yield the same of what a method told, without its time."""
    draws, verdicts, effects = result
    true = case.truth.band_rates(EDGES_M)
    covered = _effect_coverage(case.truth, effects)
    for period in case.periods:
        hours = case.fished(period, "hours")
        enough = hours >= (SEASON_HOURS if period == SEASON else MONTH_HOURS)
        judged = enough & np.isfinite(draws[period]).all(axis=1)
        if judged.sum() < 2:
            continue
        rate = true.loc[true["period"] == period, "rate"].to_numpy()
        verdict = verdicts[period] if period in verdicts else judge(draws[period], judged)
        row: dict[str, object] = {"period": "season" if period == SEASON else "month"}
        row |= _bands(draws[period][judged], rate[judged], hours[judged])
        row |= _named(verdict, rate, judged)
        yield row | (covered if period == SEASON else {})


def _bands(draws: Array, true: Array, hours: Array) -> dict[str, float]:
    """Loss of the band of highest median rate, and coverage of relative and absolute rates."""
    rate = np.median(draws, axis=1)
    best = int(np.argmax(rate))
    weight = hours / hours.sum()
    relative = np.log(draws) - weight @ np.log(draws)
    target = np.log(true) - weight @ np.log(true)
    low, high = np.quantile(relative, [0.05, 0.95], axis=1)
    # as a reader of bands.csv would: bounds and truth, each over its own mean rate
    absolute = np.quantile(draws, [0.05, 0.95], axis=1)
    published = absolute / (weight @ rate)
    scaled = true / (weight @ true)
    return {
        "loss": 1 - true[best] / true.max(),
        "within_one": abs(best - int(np.argmax(true))) <= 1,
        "coverage": np.mean((low <= target) & (target <= high)),
        "coverage_published": np.mean((published[0] <= scaled) & (scaled <= published[1])),
        "coverage_absolute": np.mean((absolute[0] <= true) & (true <= absolute[1])),
    }


def _named(verdict: Judgement, true: Array, judged: NDArray[np.bool_]) -> dict[str, object]:
    """Return what the named bands give up at best and on average, and whether they are wrong."""
    named = true[verdict.named]
    top = true[judged].max()
    if not len(named):
        return {"verdict": verdict.verdict, "named": 0}
    return {
        "verdict": verdict.verdict,
        "named": len(named),
        "loss_named": 1 - named.max() / top,
        "loss_named_mean": 1 - named.mean() / top,
        "wrong": named.max() < (1 - TOLERANCE) * top,
        "p_near": verdict.p_near,
    }


def _effect_coverage(truth: Truth, effects: pd.DataFrame | None) -> dict[str, float]:
    """Share of each effect curve's points whose interval holds the true ratio."""
    out = {}
    for term in TERMS if effects is not None else ():
        part = effects.loc[effects["term"] == term]
        if part.empty:
            continue
        rows = part.loc[part["at"] != part["reference"]]
        true = truth.ratio(term, rows["at"].to_numpy(), float(rows["reference"].iloc[0]))
        inside = (rows["low"] <= true) & (true <= rows["high"])
        out[f"coverage_{term}"] = float(inside.mean())
    return out


def one_season(job: tuple[str, int | None, int, tuple[str, ...]]) -> pd.DataFrame:
    """Score every method on one season."""
    scenario, strikes, seed, methods = job
    case = Case.of(scenario, seed, strikes)
    wanted = SCENARIOS[scenario].strikes if strikes is None else strikes
    caught = int(case.exposure.table["strikes"].sum())
    head = {"scenario": scenario, "wanted": wanted, "seed": seed, "strikes": caught}
    rows = [head | {"method": m} | row for m in methods for row in score(case, m, seed)]
    return pd.DataFrame(rows)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--scenario", default="all", help="names with commas, or all")
    parser.add_argument("--strikes", help="numbers with commas; by default the scenario's")
    parser.add_argument("--seeds", default="50000:50002", help="first:past the last")
    parser.add_argument("--methods", default=",".join(METHODS))
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--file", type=Path, default=Path("season_study.csv"))
    parser.add_argument("--table", action="store_true", help="print the table of the file")
    return parser.parse_args()


def main() -> None:
    """Run what is asked for and not yet in the file, or print its table."""
    wanted = _arguments()
    done = pd.read_csv(wanted.file) if wanted.file.exists() else pd.DataFrame()
    if wanted.table:
        sys.stdout.write(table(done))
        return
    names = list(SCENARIOS) if wanted.scenario == "all" else wanted.scenario.split(",")
    numbers = [int(x) for x in wanted.strikes.split(",")] if wanted.strikes else [None]
    first, last = (int(x) for x in wanted.seeds.split(":"))
    methods = tuple(wanted.methods.split(","))
    jobs = []
    for seed in range(first, last):  # seeds first, so that a stopped run has all scenarios
        for name in names:
            for number in numbers:
                target = SCENARIOS[name].strikes if number is None else number
                left = tuple(m for m in methods if not _has(done, name, target, seed, m))
                if left:
                    jobs.append((name, number, seed, left))
    if not jobs:
        return
    with multiprocessing.get_context("spawn").Pool(wanted.processes) as pool:
        for frame in pool.imap_unordered(one_season, jobs):
            done = pd.concat([done, frame], ignore_index=True)
            done.to_csv(wanted.file, index=False)
            sys.stderr.write(f"{frame['scenario'].iloc[0]} {frame['seed'].iloc[0]}\n")


def _has(done: pd.DataFrame, scenario: str, wanted: int, seed: int, method: str) -> bool:
    if done.empty:
        return False
    same = (done["scenario"] == scenario) & (done["wanted"] == wanted)
    return bool((same & (done["seed"] == seed) & (done["method"] == method)).any())


if __name__ == "__main__":
    main()
