"""What easy answers lose on simulated seasons; from the repository's root:

    PYTHONPATH=. python tests/benchmarks/easy_answers.py --seasons 40

Shows how hard the generator's scenarios are before any model is judged on them: the share of
the best band's rate given up by fishing the band with the most strikes, with the most strikes
per rod-hour, or any band at random. Bands of 3 m by the depth that boat.toml gives; judged from
20 rod-hours in a season and 8 in a month on.
"""

from __future__ import annotations

import argparse
import sys

import numpy as np
import pandas as pd

from data.simulate import SCENARIOS, simulate_season

EDGES_M = np.arange(0.0, 61.0, 3.0)
FIRST_SEED = 40_000


def losses(scenario: str, seed: int) -> pd.DataFrame:
    """Return one row a period: what each easy answer gives up."""
    truth = simulate_season(scenario, seed).truth
    bands = truth.band_rates(EDGES_M)
    rows = []
    for period, part in bands.groupby("period", sort=False):
        mine = (truth.strikes["period"] == period) | (period == "season")
        strikes = np.histogram(truth.strikes["model_depth_m"][mine], EDGES_M)[0]
        hours, rate = part["model_rod_hours"].to_numpy(), part["rate"].to_numpy()
        judged = hours >= (20.0 if period == "season" else 8.0)
        if judged.sum() < 2:
            continue
        strikes, hours, rate = strikes[judged], hours[judged], rate[judged]
        rows.append(
            {
                "months": period != "season",
                "strikes": strikes.sum(),
                "share": 1 - rate[strikes.argmax()] / rate.max(),
                "per hour": 1 - rate[(strikes / hours).argmax()] / rate.max(),
                "random": 1 - rate.mean() / rate.max(),
            }
        )
    return pd.DataFrame(rows)


def table(seasons: int) -> str:
    """Return the mean losses of every scenario as Markdown."""
    head = ["scenario", "strikes", "share", "per rod-hour", "random"]
    head += [f"{name}, months" for name in head[2:]]
    lines = [head, ["---"] * len(head)]
    for scenario in SCENARIOS:
        rows = pd.concat(losses(scenario, FIRST_SEED + i) for i in range(seasons))
        season, months = rows[~rows["months"]], rows[rows["months"]]
        means = [part[k].mean() for part in (season, months) for k in rows.columns[2:]]
        cells = [f"{abs(x):.1%}" for x in means]  # never below 0 but by rounding
        lines.append([scenario, f"{season['strikes'].mean():.0f}", *cells])
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seasons", type=int, default=40, help="seasons a scenario")
    sys.stdout.write(table(parser.parse_args().seasons) + "\n")
