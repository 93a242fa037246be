"""How often printed intervals hold the truth, to the edges; from the repository's root:

    PYTHONPATH=. python tests/benchmarks/coverage_study.py --seeds 95000:95013
    PYTHONPATH=. python tests/benchmarks/coverage_study.py --table

Seasons as in line_out_study.py: gear drawn from its parts' full priors, with eight soaks of each
gear or none, a twentieth of the best rate left where no fish likes it, sets that err by 5 %. Each
season goes the real way: written, read, counted, joined, answered.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parent))
from line_out_study import NOISE, boat_of, soaks_of
from season_study import EDGES_M, TERMS, TOLERANCE

from analysis.decision.answer import Answer, Period, answer
from analysis.rates.build_exposure import join
from analysis.rates.effects import BOUNDS
from analysis.rates.standardised import SEASON
from analysis.season import read_seasons, temperature_of
from data.scenario import SCENARIOS
from data.simulate import simulate_season
from data.truth import Truth

Array = NDArray[np.float64]

ROWS = {
    "900 strikes": ("chasing_confounded", 900, True),
    "300 strikes": ("chasing_confounded", 300, True),
    "50 strikes": ("chasing_confounded", 50, True),
    "no soaks": ("chasing_confounded", 300, False),
    "temperature": ("temperature_chasing", 300, True),
    "temperature, no soaks": ("temperature_chasing", 300, False),
}
PARTS = (0.0, 0.12, 0.3, 0.7, 1.0)
NAMES = ("tail", "low", "middle", "peak")
"""Bands by their true share of the best one's rate."""


def answered(row: str, seed: int) -> tuple[Answer, Truth]:
    """Simulate a season of a row and answer its log."""
    follow, strikes, soaks = ROWS[row]
    scenario = SCENARIOS[follow].but(background=0.05, set_depth_error=NOISE)
    season = simulate_season(scenario, seed, boat=boat_of(seed), strikes=strikes)
    if soaks:
        season = replace(season, frames={**season.frames, "soaks": soaks_of(season, seed)})
    with tempfile.TemporaryDirectory() as folder:
        boats = tuple(read_seasons([season.write(Path(folder) / "season")]))
    rng = np.random.default_rng(seed)
    found = answer(join(boats), temperature_of(boats), EDGES_M, rng, checked=False)
    return found, season.truth


def scored(row: str, seed: int) -> Iterator[dict[str, object]]:
    """Yield a row for each judged band, and one for each effect curve."""
    found, truth = answered(row, seed)
    head = {"row": row, "seed": seed}
    bands = truth.band_rates(EDGES_M)
    for period in found.periods:
        if period.judged.sum() > 1:
            true = bands.loc[bands["period"] == period.name, "rate"].to_numpy()
            yield from (head | band for band in _bands(period, true))
    for term in TERMS:
        curve = found.effects.loc[found.effects["term"] == term]
        curve = curve.loc[curve["at"] != curve["reference"]]
        if len(curve):
            ratio = truth.ratio(term, curve["at"].to_numpy(), float(curve["reference"].iloc[0]))
            held = (curve["low"] <= ratio) & (ratio <= curve["high"])
            yield head | {"kind": term, "absolute": held.mean()}


def _bands(period: Period, true: Array) -> Iterator[dict[str, object]]:
    """Score the judged bands of a period: their rates, relative ones, ratios to the best."""
    named = true[period.judgement.named]
    wrong = bool(len(named)) and named.max() < (1 - TOLERANCE) * true[period.judged].max()
    draws, true, hours = (x[period.judged] for x in (period.draws, true, period.rod_hours))
    weight = hours / hours.sum()
    best = int(np.argmax(np.median(draws, axis=1)))
    relative = np.exp(np.log(draws) - weight @ np.log(draws))
    asked = {
        "absolute": _held(draws, true),
        "relative": _held(relative, np.exp(np.log(true) - weight @ np.log(true))),
        "ratio": _held(draws / draws[best], true / true[best]),
    }
    part = np.clip(np.searchsorted(PARTS, true / true.max()) - 1, 0, len(NAMES) - 1)
    for band in range(len(true)):
        yield {
            "kind": "season" if period.name == SEASON else "month",
            "name": period.name,
            "part": NAMES[part[band]],
            "verdict": period.judgement.verdict,
            "wrong": wrong,
        } | {name: held[band] for name, held in asked.items() if name != "ratio" or band != best}


def _held(draws: Array, true: Array) -> Array:
    """Whether each 90 % interval of draws holds the truth."""
    low, high = np.quantile(draws, BOUNDS, axis=1)
    return np.asarray((low <= true) & (true <= high), dtype=float)


def table(rows: pd.DataFrame) -> str:
    """Return the study's tables of Markdown."""
    shown = ["absolute", "relative", "ratio"]
    bands = rows.loc[rows["kind"].isin(["season", "month"])]
    lines = [
        "| row | period | seasons | absolute | relative | ratio to the best | wrong of clear |"
    ]
    lines.append("|" + " --- |" * 7)
    for (row, kind), part in bands.groupby(["row", "kind"], sort=False):
        cells = [f"{100 * value:.0f} %" for value in part[shown].mean()]
        once = part.drop_duplicates(["seed", "name"])
        clear = once.loc[once["verdict"] == "clear", "wrong"].astype(bool)
        cells = [row, kind, str(part["seed"].nunique()), *cells, f"{clear.sum()} of {len(clear)}"]
        lines.append("| " + " | ".join(cells) + " |")
    lines += ["", "| row | " + " | ".join((*NAMES, *TERMS)) + " |"]
    lines.append("|" + " --- |" * (1 + len(NAMES) + len(TERMS)))
    for row, part in rows.groupby("row", sort=False):
        means = [part.loc[part["part"] == name, "absolute"].mean() for name in NAMES]
        means += [part.loc[part["kind"] == term, "absolute"].mean() for term in TERMS]
        lines.append(f"| {row} | " + " | ".join(f"{100 * mean:.0f} %" for mean in means) + " |")
    return "\n".join(lines) + "\n"


def main() -> None:
    """Run the seasons asked for, or print the tables of the file."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seeds", default="95000:95013", help="first:past the last")
    parser.add_argument("--file", type=Path, default=Path("coverage_study.csv"))
    parser.add_argument("--table", action="store_true", help="print the tables of the file")
    wanted = parser.parse_args()
    if wanted.table:
        sys.stdout.write(table(pd.read_csv(wanted.file)))
        return
    first, last = map(int, wanted.seeds.split(":"))
    rows: list[dict[str, object]] = []
    for seed in range(first, last):
        for row in ROWS:
            rows += scored(row, seed)
            pd.DataFrame(rows).to_csv(wanted.file, index=False)
            sys.stderr.write(f"{row} {seed}\n")


if __name__ == "__main__":
    main()
