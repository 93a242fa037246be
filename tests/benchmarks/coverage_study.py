"""How often printed intervals hold the truth, to the edges; from the repository's root:

    PYTHONPATH=. python tests/benchmarks/coverage_study.py --seeds 95000:95013
    PYTHONPATH=. python tests/benchmarks/coverage_study.py --rows "schools; ground speed"
    PYTHONPATH=. python tests/benchmarks/coverage_study.py --table

Seasons as in line_out_study.py: gear drawn from its parts' full priors, with eight soaks of each
gear or none, a twentieth of the best rate left where no fish likes it, sets that err by 5 %. Each
season goes the real way: written, read, counted, joined, answered. The advised line-outs and what
the season cost are scored on the way.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parent))
from line_out_study import answered, line_outs, simulated
from season_cost import true_gain
from season_study import TERMS, TOLERANCE
from study_driver import drive

from analysis.decision.answer import Answer, Period
from analysis.rates.effects import BOUNDS
from analysis.rates.standardised import SEASON
from analysis.review.cost import cost_table
from data.scenario import SCENARIOS, Scenario, Species
from data.truth import Truth

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Row:
    """A kind of season: the fish and the captain, about how many strikes, soaks or none."""

    scenario: Scenario
    strikes: int = 300
    soaks: bool = True


CHASING = SCENARIOS["chasing_confounded"]
WARMTH = SCENARIOS["temperature_chasing"]
TWO_PEAKS = (
    Species(name="lake trout", share=0.6, best_depth_m=24.0, depth_width_m=(4.5, 4.5)),
    Species(name="coho", share=0.4, best_depth_m=9.0, depth_width_m=(3.5, 3.5)),
)
ROWS = {
    "900 strikes": Row(CHASING, 900),
    "900 strikes, no soaks": Row(CHASING, 900, soaks=False),
    "300 strikes": Row(CHASING),
    "no soaks": Row(CHASING, soaks=False),
    "fixed depth": Row(SCENARIOS["benign"]),
    "fixed depth, no soaks": Row(SCENARIOS["benign"], soaks=False),
    "50 strikes": Row(CHASING, 50),
    "50 strikes, no soaks": Row(CHASING, 50, soaks=False),
    "25 strikes": Row(CHASING, 25),
    "25 strikes, no soaks": Row(CHASING, 25, soaks=False),
    "ground speed": Row(SCENARIOS["ground_speed"]),
    "temperature": Row(WARMTH),
    "temperature, no soaks": Row(WARMTH, soaks=False),
    "two peaks": Row(CHASING.but(species=TWO_PEAKS)),
    "schools": Row(CHASING.but(school_m=4.0, hour_sd=1.2)),
    "light": Row(CHASING.but(light_m=6.0)),
    "hot days": Row(CHASING.but(day_sd=1.4)),
}
PARTS = (0.0, 0.12, 0.3, 0.7, 1.0)
NAMES = ("tail", "low", "middle", "peak")
"""Bands by their true share of the best one's rate."""
OF_LINES = ("loss", "of_gear", "held", "rate_held")
OF_COST = ("said", "true", "fished")
"""Columns that are missing where no season named a band."""


def scored(row: str, seed: int) -> Iterator[dict[str, object]]:
    """Yield a row for each judged band, each effect curve, each advised line-out and each cost."""
    what = ROWS[row]
    season = simulated(what.scenario, seed, what.strikes, soaks=what.soaks)
    found, boats = answered(season)
    head = {"row": row, "seed": seed, "told": found.told}
    bands = season.truth.band_rates(found.hours.edges_m)
    for period in found.periods:
        if period.judged.sum() > 1:
            true = bands.loc[bands["period"] == period.name, "rate"].to_numpy()
            yield from (head | band for band in _bands(period, true))
    yield from (head | curve for curve in _curves(found, season.truth))
    for line in line_outs(season, found, boats):
        if line["method"] == "advised":
            yield head | line | {"kind": f"line-out, {line['period']}"}
    cost = cost_table(found, boats, np.random.default_rng(seed))
    gain = true_gain(season, found, boats)
    for one in cost.itertuples():
        yield head | {
            "kind": f"cost, {'season' if one.period == SEASON else 'month'}",
            "name": one.period,
            "absolute": float(one.more_low <= gain[one.period] <= one.more_high),
            "said": one.more,
            "true": gain[one.period],
            "low": one.more_low,
            "high": one.more_high,
            "fished": one.strikes_fished,
        }


def _curves(found: Answer, truth: Truth) -> Iterator[dict[str, object]]:
    """Score the points of each effect's curve; schools and light leave depth no one curve."""
    restless = truth.scenario.light_m or truth.scenario.school_m
    for term in TERMS:
        curve = found.effects.loc[found.effects["term"] == term]
        curve = curve.loc[curve["at"] != curve["reference"]]
        if len(curve) and not (restless and term == "depth_m"):
            ratio = truth.ratio(term, curve["at"].to_numpy(), float(curve["reference"].iloc[0]))
            held = (curve["low"] <= ratio) & (ratio <= curve["high"])
            yield {"kind": term, "absolute": held.mean()}


def _bands(period: Period, true: Array) -> Iterator[dict[str, object]]:
    """Score the judged bands of a period: their rates, relative ones, ratios to the best."""
    named = true[period.judgement.named]
    top = true[period.judged].max()
    wrong = bool(len(named)) and named.max() < (1 - TOLERANCE) * top
    lost = 1 - named.mean() / top if len(named) else np.nan
    draws, true, hours = (x[period.judged] for x in (period.draws, true, period.rod_hours))
    weight = hours / hours.sum()
    best = int(np.argmax(np.median(draws, axis=1)))
    relative = np.exp(np.log(draws) - weight @ np.log(draws))
    asked = {
        "absolute": _place(draws, true),
        "relative": _place(relative, np.exp(np.log(true) - weight @ np.log(true))),
        "ratio": _place(draws / draws[best], true / true[best]),
    }
    part = np.clip(np.searchsorted(PARTS, true / true.max()) - 1, 0, len(NAMES) - 1)
    for band in range(len(true)):
        yield (
            {
                "kind": "season" if period.name == SEASON else "month",
                "name": period.name,
                "part": NAMES[part[band]],
                "verdict": period.judgement.verdict,
                "wrong": wrong,
                "loss_of_band": lost,
            }
            | {
                name: float(BOUNDS[0] <= place[band] <= BOUNDS[1])
                for name, place in asked.items()
                if name != "ratio" or band != best
            }
            | {f"{name}_at": place[band] for name, place in asked.items()}
        )


def _place(draws: Array, true: Array) -> Array:
    """Share of the draws below the truth: from 5 to 95 % a 90 % interval holds it."""
    return np.asarray((draws < true[:, None]).mean(axis=1))


def _share(part: pd.Series, seeds: pd.Series) -> str:
    """Mean in percent, its standard error between seasons in brackets."""
    each = part.groupby(seeds).agg(["sum", "count"])
    each = each.loc[each["count"] > 0]
    if len(each) == 0:
        return ""
    mean = each["sum"].sum() / each["count"].sum()
    off = (each["sum"] - mean * each["count"]) / each["count"].mean()
    error = np.sqrt((off**2).sum() / max(len(each) - 1, 1) / len(each))
    return f"{100 * mean:.0f} % ({100 * error:.0f})"


def _lines(head: list[str], rows: list[list[str]]) -> list[str]:
    """Return a table of Markdown, an empty line below."""
    table = [head, ["---"] * len(head), *rows]
    return [f"| {' | '.join(cells)} |" for cells in table] + [""]


def table(rows: pd.DataFrame) -> str:
    """Return the study's tables of Markdown."""
    rows = rows.reindex(columns=list(dict.fromkeys([*rows.columns, *OF_LINES, *OF_COST])))
    shown = ["absolute", "relative", "ratio"]
    bands = rows.loc[rows["kind"].isin(["season", "month"])]
    first, second, third = [], [], []
    for (row, kind), part in bands.groupby(["row", "kind"], sort=False):
        once = part.drop_duplicates(["seed", "name"])
        clear = once.loc[once["verdict"] == "clear", "wrong"].astype(bool)
        lines = rows.loc[(rows["row"] == row) & (rows["kind"] == f"line-out, {kind}")]
        first.append(
            [
                *(row, kind, str(part["seed"].nunique())),
                *(_share(part[name], part["seed"]) for name in shown),
                f"{clear.sum()} of {len(clear)}",
                _share(once["loss_of_band"], once["seed"]),
                *(_share(lines[name].astype(float), lines["seed"]) for name in ("loss", "of_gear")),
                *(
                    _share(lines[name].astype(float), lines["seed"])
                    for name in ("held", "rate_held")
                ),
            ]
        )
    for row, part in rows.groupby("row", sort=False):
        asked = [part["part"] == name for name in NAMES] + [part["kind"] == term for term in TERMS]
        second.append([row, *(_share(part.loc[x, "absolute"], part.loc[x, "seed"]) for x in asked)])
        whole = part.loc[part["kind"] == "cost, season"]
        month = part.loc[part["kind"] == "cost, month"]
        off = (whole["said"] - whole["true"]).abs() / whole["fished"]
        third.append(
            [
                *(row, f"{whole['fished'].mean():.0f}", f"{whole['true'].mean():.0f}"),
                *(f"{whole['said'].mean():.0f}", f"{100 * off.mean():.0f} %"),
                f"{whole['absolute'].sum():.0f} of {len(whole)}",
                _share(month["absolute"], month["seed"]),
            ]
        )
    head = ["row", "period", "seasons", "absolute", "relative", "ratio to the best"]
    head += ["wrong of clear", "loss of the band", "loss of line-outs", "of the gear's best"]
    head += ["loss held", "rate held"]
    cost = ["row", "strikes", "true gain", "said", "mean error", "in interval", "months in"]
    return "\n".join(
        _lines(head, first) + _lines(["row", *NAMES, *TERMS], second) + _lines(cost, third)
    )


if __name__ == "__main__":
    drive(__doc__, ROWS, scored, table, seeds="95000:95013")
