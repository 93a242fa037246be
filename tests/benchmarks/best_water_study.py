"""A study of how often a week's interval of the best depth holds the truth.

`python tests/benchmarks/best_water_study.py SCENARIO SEEDS` simulates seasons, fits each, and
prints for how many weeks the log tells where the best water lay, how often its 90 % interval
holds the true depth, and what share of the best rate is given up at the depth told.
"""

import sys
import tempfile
from pathlib import Path

import numpy as np
import pandas as pd

from analysis.rates.build_exposure import join
from analysis.review.course.best_water import best_water_table, week_draws
from analysis.review.season_course import trips_table, week_of
from analysis.season import Options, read_seasons, season_answer
from data.simulate import simulate_season


def weeks_of_a_season(scenario: str, seed: int) -> pd.DataFrame:
    """Return each week's interval and the true rates at the depths it was sought among."""
    simulated = simulate_season(scenario, seed)
    with tempfile.TemporaryDirectory() as folder:
        seasons = read_seasons([simulated.write(Path(folder) / "dunlin-2026")])
        units = seasons[0].log.boat.units
        answer = season_answer(seasons, join(seasons), Options(), units, checked=False)
    trips = trips_table(seasons)
    week = week_of(trips["date"])
    found = best_water_table(answer, trips, week, week_draws(answer, trips, week))
    depth_m = answer.hours.depth_m[answer.season.judged].ravel()
    truth, steps = simulated.truth, simulated.truth.steps
    of_trip = dict(zip(trips["trip"], week, strict=True))
    of_step = np.array([of_trip.get(truth.trips[trip], "") for trip in steps["trip"]])
    rows = []
    for row in found.itertuples():
        here = steps.loc[of_step == row.week].iloc[::6]
        at = here["trip"].to_numpy()[:, None], here["minute"].to_numpy(dtype=float)[:, None]
        rate = truth.rate(depth_m[None, :], *at).mean(axis=0)
        best = depth_m[np.argmax(rate)]
        high = depth_m[-1] if np.isnan(row.depth_high_m) else row.depth_high_m
        rows.append(
            {
                "told": row.told,
                "inside": row.depth_low_m <= best <= high,
                "loss": 1 - np.interp(row.depth_m, depth_m, rate) / rate.max(),
                "width_m": high - row.depth_low_m,
            }
        )
    return pd.DataFrame(rows)


if __name__ == "__main__":
    scenario, seeds = sys.argv[1], range(int(sys.argv[2]))
    weeks = pd.concat([weeks_of_a_season(scenario, seed) for seed in seeds])
    told = weeks[weeks["told"]]
    sys.stdout.write(
        f"{scenario}: told in {len(told)} of {len(weeks)} weeks; interval holds the truth in "
        f"{told['inside'].mean():.0%} (all weeks {weeks['inside'].mean():.0%}); mean width "
        f"{told['width_m'].mean():.1f} m; rate given up {told['loss'].mean():.1%}\n"
    )
