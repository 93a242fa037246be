"""How near the cost of a season comes to the simulator's truth; from the repository's root:

    PYTHONPATH=. python tests/benchmarks/season_cost.py --seasons 20

For each season: strikes that the true rate gives more, over the rod-hours as they were fished, had
every rod whose gear reaches it been in the bands that the months' answers name; against what
`analysis.review.cost` says of the log, with its 90 % interval.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

import numpy as np
import pandas as pd

from analysis.decision.answer import Answer
from analysis.rates.build_exposure import BoatSeason, join
from analysis.review.cost import cost_table, deepest_m
from analysis.season import Options, read_seasons, season_answer
from data.simulate import SimulatedSeason, simulate_season

SCENARIOS = ("benign", "chasing_confounded", "temperature_chasing", "all_troubles", "few_strikes")
FIRST_SEED = 60_000


def true_gain(simulated: SimulatedSeason, answer: Answer, seasons: tuple[BoatSeason, ...]):
    """Strikes that the true rate gives more in the bands named, by period, as a Series."""
    truth = simulated.truth
    rod = truth.rod_steps
    trip = np.asarray(rod["trip"], dtype=int)
    minute = np.asarray(rod["minute"], dtype=float)
    number = np.asarray(rod["rod"], dtype=int)
    steps = truth.steps.set_index(["trip", "minute"])["speed_mps"]
    speed = steps.reindex(list(zip(trip, minute, strict=True))).to_numpy()
    rods = simulated.boat.tackle.rods
    hours = np.asarray(rod["hours"])
    gear = np.exp([truth.response.gear_effect[one.gear] for one in rods])[number]
    weight = gear * hours / np.average(gear, weights=hours)  # the rate is at the season's mix
    reach = dict(zip(answer.exposure.table["rod"], deepest_m(answer, seasons), strict=True))
    reaches = np.array([reach.get(one.rod, np.nan) for one in rods])[number]
    edges = answer.hours.edges_m
    gains = {}
    for period in answer.periods[1:]:
        named = np.flatnonzero(period.judgement.named)
        moved = np.asarray(rod["period"]) == period.name
        if len(named):
            moved &= reaches >= (edges[named[-1]] + edges[named[-1] + 1]) / 2
        if not len(named) or period.judged.sum() < 2 or not moved.any():
            gains[period.name] = 0.0
            continue

        def strikes(depth, water=None, at=moved):
            log = truth.log_rate(depth, trip[at], minute[at], temp_c=water, speed_mps=speed[at])
            return float((np.exp(log) * weight[at]).sum())

        there = [
            strikes(np.full(moved.sum(), depth))
            for band in named
            for depth in np.linspace(edges[band], edges[band + 1], 5)
        ]
        as_fished = strikes(np.asarray(rod["depth_m"])[moved], np.asarray(rod["temp_c"])[moved])
        gains[period.name] = float(np.mean(there)) - as_fished
    gains["season"] = sum(gains.values())
    return pd.Series(gains)


def one(scenario: str, seed: int) -> pd.DataFrame:
    """Return the cost table of a simulated season with the truth beside it."""
    simulated = simulate_season(scenario, seed)
    with tempfile.TemporaryDirectory() as folder:
        seasons = tuple(read_seasons([simulated.write(Path(folder) / "dunlin-2026")]))
    units = seasons[0].log.boat.units
    answer = season_answer(seasons, join(seasons), Options(), units, checked=False)
    cost = cost_table(answer, seasons, np.random.default_rng(seed))
    return cost.assign(true=cost["period"].map(true_gain(simulated, answer, seasons)), seed=seed)


def table(scenarios: list[str], first: int, seasons: int) -> str:
    """Return the comparison of some scenarios as Markdown, rows printed as they are done."""
    head = ["scenario", "strikes", "true gain", "said", "mean error", "in interval", "months in"]
    lines = [head, ["---"] * len(head)]
    for scenario in scenarios:
        done = []
        for seed in range(first, first + seasons):
            done.append(one(scenario, seed))
            told = done[-1].loc[done[-1]["period"] == "season", ["true", "more_low", "more_high"]]
            sys.stderr.write(f"{scenario} {seed} {told.round(0).to_numpy().tolist()}\n")
        rows = pd.concat(done)
        inside = rows["true"].between(rows["more_low"], rows["more_high"])
        whole = rows["period"] == "season"
        season = rows[whole]
        off = ((season["more"] - season["true"]).abs() / season["strikes_fished"]).mean()
        lines.append(
            [
                scenario,
                f"{season['strikes_fished'].mean():.0f}",
                f"{season['true'].mean():.0f}",
                f"{season['more'].mean():.0f}",
                f"{off:.0%} of the strikes",
                f"{inside[whole].sum()} of {whole.sum()}",
                f"{inside[~whole].mean():.0%}",
            ]
        )
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def main(arguments: list[str]) -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--seasons", type=int, default=20, help="seasons a scenario")
    parser.add_argument("--first", type=int, default=FIRST_SEED, help="first seed")
    parser.add_argument("--scenarios", default=",".join(SCENARIOS), help="a comma between")
    wanted = parser.parse_args(arguments)
    print(table(wanted.scenarios.split(","), wanted.first, wanted.seasons))


if __name__ == "__main__":
    main(sys.argv[1:])
