"""What the advised line-outs give up in the real water; from the repository's root:

    PYTHONPATH=. python tests/benchmarks/line_out_study.py --seeds 70000:70012
    PYTHONPATH=. python tests/benchmarks/line_out_study.py --table

The boat's gear is not what boat.toml says: every uncertain parameter of every gear is drawn from
its own full prior, and half of the seasons have eight soaks. A twentieth of the best rate is left
at depths that no fish likes, sets err by 5 % on their own, the captain chases. Each season goes
the real way: written as a folder, read, counted, joined, answered. Then each advised line-out is
towed through the period's boat hours at the boat's true speeds and the gear's true depth, and the
true rate there is held against the best band's.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parent))
from study_driver import drive

from analysis.decision.answer import Answer
from analysis.depth import line_out_for
from analysis.depth.kinds import gear_from_toml
from analysis.rates.build_exposure import BoatSeason, join
from analysis.rates.standardised import SEASON
from analysis.season import Options, read_seasons, season_answer
from analysis.spread.line_outs import longest_lines, speed_of_boat, spread_table
from analysis.stats.cells import band_of
from data.boat import Boat
from data.scenario import SCENARIOS, Scenario
from data.simulate import SimulatedSeason, simulate_season
from data.tackle import GEARS, USUAL_SPEED_MPS, Tackle

Array = NDArray[np.float64]

FOLLOW = ("chasing_confounded", "temperature_chasing")
KINDS = {"with soaks": True, "without soaks": False}
SOAKS = 8
NOISE = 0.05
SOAK_NOISE = 0.03
LINES_M = 1.524 * np.arange(1.0, 66.0)
"""Line-outs that are asked: steps of 5 ft, as the advice has them."""
ROUNDING = 1e-9
"""A line that is the best one gives up nothing but for rounding, and nothing is a usual bound."""
LOOKS = (-np.sqrt(3.0), 0.0, np.sqrt(3.0))
WEIGHTS = (1 / 6, 2 / 3, 1 / 6)


def boat_of(seed: int) -> Boat:
    """Return a boat whose gear departs from boat.toml as its parts' full priors say."""
    rng = np.random.default_rng([seed, 18])
    departures = []
    for name, keys in GEARS.items():
        parameters = gear_from_toml(name, keys).parameters()
        away = rng.normal(0.0, [parameter.sd for parameter in parameters])
        departures.append((name, tuple(np.clip(away, -0.9, None))))
    return Boat(tackle=Tackle(departures=tuple(departures)))


def soaks_of(season: SimulatedSeason, seed: int) -> pd.DataFrame:
    """Return trials of every gear and setting towed, with 3 % of noise."""
    rng = np.random.default_rng([seed, 19])
    tackle = season.boat.tackle
    frames = []
    for name in dict.fromkeys(rod.gear for rod in tackle.rods):
        groups = [place for place, group in enumerate(tackle.groups) if group[0] == name]
        group = np.resize(groups, SOAKS)
        line = np.rint(rng.uniform(14, 55, SOAKS) / 1.524) * 1.524
        speed = np.round(rng.normal(USUAL_SPEED_MPS, 0.08, SOAKS), 2)
        depth = tackle.true_table.depth(group, line, speed)
        setting = [tackle.groups[place][1] for place in group]
        frames.append(
            pd.DataFrame(
                {
                    "gear": name,
                    "setting": np.array(setting, dtype=float),
                    "line_out_m": line,
                    "speed_mps": speed,
                    "depth_m": depth * (1 + rng.normal(0, SOAK_NOISE, SOAKS)),
                    "date": season.frames["trips"]["date"].iloc[0],
                }
            )
        )
    return pd.concat(frames, ignore_index=True)


def true_rates(
    season: SimulatedSeason, period: str, gear: str, setting: float, line_out_m: Array
) -> Array:
    """Return the true rate of lines towed through a period's boat hours (lines,)."""
    truth, tackle = season.truth, season.boat.tackle
    wanted = (gear, None if np.isnan(setting) else setting)
    steps = truth.steps
    if period != SEASON:
        steps = steps.loc[steps["period"] == period]
    steps = steps.iloc[::6]
    speed = steps["speed_mps"].to_numpy()[:, None]
    shape = (len(steps), len(line_out_m))
    group = np.full(shape, tackle.groups.index(wanted))
    line = np.broadcast_to(line_out_m, shape)
    depth = tackle.true_table.depth(group, line, np.broadcast_to(speed, shape))
    trip = np.broadcast_to(steps["trip"].to_numpy()[:, None], shape)
    minute = np.broadcast_to(steps["minute"].to_numpy(dtype=float)[:, None], shape)
    found = np.zeros(len(line_out_m))
    for look, weight in zip(LOOKS, WEIGHTS, strict=True):
        rate = truth.rate(depth * np.exp(NOISE * look), trip, minute, speed_mps=speed)
        found += weight * rate.mean(axis=0)
    return found


def simulated(scenario: Scenario, seed: int, strikes: int, *, soaks: bool) -> SimulatedSeason:
    """Return a season whose gear is off, with a background, sets that err, and soaks if any."""
    what = scenario.but(background=0.05, set_depth_error=NOISE)
    season = simulate_season(what, seed, boat=boat_of(seed), strikes=strikes)
    if soaks:
        season = replace(season, frames={**season.frames, "soaks": soaks_of(season, seed)})
    return season


def answered(season: SimulatedSeason) -> tuple[Answer, tuple[BoatSeason, ...]]:
    """Write, read, count, join and answer a season."""
    with tempfile.TemporaryDirectory() as folder:
        boats = tuple(read_seasons([season.write(Path(folder) / "season")]))
    units = boats[0].log.boat.units
    return season_answer(boats, join(boats), Options(), units, checked=False), boats


def line_outs(
    season: SimulatedSeason, found: Answer, boats: tuple[BoatSeason, ...]
) -> Iterator[dict[str, object]]:
    """Yield a row for each period, gear, setting and method."""
    edges = found.hours.edges_m
    bands = season.truth.band_rates(edges)
    advised = spread_table(found, boats)
    for period in found.periods:
        if not period.judgement.named.any():
            continue
        true = bands.loc[bands["period"] == period.name, "rate"].to_numpy()
        top = true[period.judged].max()
        named = true[period.judgement.named].mean()
        low, high = found.named_m(period)
        speed = speed_of_boat(found, period.name, 0)
        for row in advised.loc[advised["period"] == period.name].itertuples():
            lines = _asked(boats[0], row.gear, row.setting, speed, edges, period.judged)
            known = true_rates(season, period.name, row.gear, row.setting, lines)
            aimed = _aimed(boats[0], row.gear, row.setting, 0.5 * (low + high), speed)
            tried = {"advised": row.line_out_m, "middle of the band": aimed}
            for method, line in tried.items():
                rate = true_rates(season, period.name, row.gear, row.setting, np.array([line]))[0]
                lost = 1 - rate / known.max()
                yield {
                    "period": "season" if period.name == SEASON else "month",
                    "name": period.name,
                    "verdict": period.judgement.verdict,
                    "method": method,
                    "gear": row.gear,
                    "setting": row.setting,
                    "line_out_m": line,
                    "loss_of_band": 1 - named / top,
                    "loss": 1 - rate / top,
                    "of_gear": lost,
                    "said": row.loss,
                    "low": row.loss_low,
                    "high": row.loss_high,
                    "held": row.loss_low <= lost + ROUNDING and lost <= row.loss_high,
                    "rate_held": row.rate_low <= rate <= row.rate_high,
                }


def _asked(
    boat: BoatSeason,
    gear: str,
    setting: float,
    speed: float,
    edges_m: Array,
    judged: NDArray[np.bool_],
) -> Array:
    """Line-outs among which the advice chooses: they run, by the model, in judged bands."""
    longest = boat.log.boat.gears[gear].longest_m(longest_lines(boat)[gear])
    lines = LINES_M[longest + 0.02 >= LINES_M]
    found = boat.belief(gear).predict(
        setting=setting, line_out_m=lines, speed_mps=speed, tip_height_m=boat.tip_height_m
    )
    band = band_of(np.asarray(found.depth_m), edges_m)
    return np.asarray(lines[(band >= 0) & judged[band]])


def _aimed(boat: BoatSeason, gear: str, setting: float, depth_m: float, speed: float) -> float:
    """Line-out whose mean depth is the middle of the band named."""
    found = line_out_for(
        boat.belief(gear),
        setting=setting,
        depth_m=depth_m,
        speed_mps=speed,
        tip_height_m=boat.tip_height_m,
    )
    return float(found.line_out_m)


def table(rows: pd.DataFrame) -> str:
    """Return the study's table of Markdown: means over seasons of each season's mean."""
    keys = ["soaks", "period", "method"]
    shown = ["loss_of_band", "loss", "of_gear", "said", "held", "rate_held"]
    each = rows.groupby([*keys, "follow", "seed"])[shown].mean()
    mean, spread = each.groupby(keys).mean(), each["loss"].groupby(keys).sem()
    count = each["loss"].groupby(keys).count()
    lines = [
        "| soaks | period | line-outs | seasons | loss of the band named | loss of the line-outs | "
        "of the gear's best | said | loss within its interval | rate within its interval |",
        "|" + " --- |" * 10,
    ]
    for key, row in mean.iterrows():
        soaks, period, method = key
        cells = ["yes" if soaks else "no", period, method, str(count[key])]
        cells += [f"{100 * row['loss_of_band']:.1f} %"]
        cells += [f"{100 * row['loss']:.1f} % ({100 * spread[key]:.1f})"]
        own = method == "advised"
        cells += [f"{100 * row['of_gear']:.1f} %"]
        cells += [f"{100 * row[name]:.0f} %" if own else "" for name in shown[3:]]
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join(lines) + "\n"


def scored(kind: str, seed: int) -> Iterator[dict[str, object]]:
    """Yield the rows of a season; fish follow a depth or a temperature by turns."""
    follow = FOLLOW[seed % 2]
    season = simulated(SCENARIOS[follow], seed, 300, soaks=KINDS[kind])
    head = {"follow": follow, "seed": seed, "soaks": KINDS[kind]}
    yield from (head | row for row in line_outs(season, *answered(season)))


if __name__ == "__main__":
    drive(__doc__, KINDS, scored, table, seeds="70000:70012")
