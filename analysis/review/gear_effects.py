"""Owns the comparison of gears and settings at equal depth, speed and temperature."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.decision.answer import Answer
from analysis.depth import line_out_to
from analysis.rates.build_exposure import BoatSeason
from analysis.rates.effects import BOUNDS
from analysis.rates.terms import Effects
from analysis.result_schema import RESULTS
from analysis.spread.line_outs import Target, target_of

TERM = "gear_setting"


def gear_effects(answer: Answer, seasons: Sequence[BoatSeason]) -> pd.DataFrame:
    """Compare each gear and setting with the one used most, all else equal.

    The ratios are the model's shrunk effects: each gear fishes its own depths, so the log tells
    gear from depth only in part, and what it cannot tell is drawn toward 'no difference'. Gears
    that never share a boat are not compared: only rods down at the same time are.

    Parameters
    ----------
    answer : Answer
    seasons : sequence of BoatSeason

    Returns
    -------
    DataFrame
        ``gear, setting, ratio, low, high`` (90 % interval; 1 for a reference), ``reference`` (the
        gear and setting compared with), ``rod_hours, strikes``, ``boat`` (those that have it),
        ``line_out_m`` that puts it at ``depth_m``, the middle of the season's answer (NaN where it
        does not reach), ``told_apart``; the most used first. A gear is told apart
        where chance would show any of the gears compared so different in one season of twenty.
        Empty with a single gear.
    """
    term = answer.fit.model.term(TERM)
    if not isinstance(term, Effects) or answer.fit.strikes == 0:
        return pd.DataFrame(columns=RESULTS["gear_effects"].unworded)
    table = answer.exposure.table
    used = table.groupby(TERM, observed=True)["hours"].sum()
    order = [str(level) for level in used.sort_values(ascending=False).index]
    references = _references(table, order)
    others = max(len(order) - len(set(references.values())), 1)
    draws = answer.fit.draws[:, answer.fit.model.columns_of(TERM)]
    place = {level: number for number, level in enumerate(term.levels)}
    target = target_of(answer, answer.season)
    rows = []
    for level in order:
        here = table.loc[table[TERM] == level]
        first = here.iloc[0].to_dict()
        reference = references[level]
        log = draws[:, place[level]] - draws[:, place[reference]]
        ratio, low, high = np.exp(np.quantile(log, (0.5, *BOUNDS)))
        told = bool(told_apart(log, others))
        rows.append(
            {
                "gear": first["gear"],
                "setting": first["setting"],
                "ratio": ratio,
                "low": low,
                "high": high,
                "reference": reference,
                "rod_hours": here["hours"].sum(),
                "strikes": int(here["strikes"].sum()),
                "boat": ", ".join(dict.fromkeys(here["boat"])),
                "depth_m": np.nan if target is None else target.depth_m,
                "line_out_m": np.nan if target is None else _line_out(first, seasons, target),
                "told_apart": told,
            }
        )
    return pd.DataFrame(rows, columns=RESULTS["gear_effects"].unworded)


def told_apart(log_ratio: NDArray[np.float64], others: int) -> NDArray[np.bool_]:
    """Whether ratios differ from 1 by more than chance.

    Parameters
    ----------
    log_ratio : (draws, ...) array
    others : int
        How many are compared with one reference: chance would tell any of them apart in one
        season of twenty (Bonferroni's bound).

    Returns
    -------
    (...) bool array
    """
    tail = np.minimum(np.mean(log_ratio >= 0, axis=0), np.mean(log_ratio <= 0, axis=0))
    return np.asarray(tail < BOUNDS[0] / 2 / others)


def _references(table: pd.DataFrame, order: Sequence[str]) -> dict[str, str]:
    """Return for each level the most used one among those that boats connect with it."""
    boats = {level: set(table.loc[table[TERM] == level, "log_number"]) for level in order}
    of = {level: level for level in order}
    for level in order:
        for other in order:
            if boats[level] & boats[other]:
                kept, gone = sorted((of[level], of[other]), key=order.index)
                of = {name: kept if head == gone else head for name, head in of.items()}
    return of


def _line_out(
    slice_row: dict[Hashable, Any], seasons: Sequence[BoatSeason], target: Target
) -> float:
    """Line-out in metres that puts a slice's gear and setting at the target; NaN out of reach."""
    season = seasons[slice_row["log_number"]]
    found = line_out_to(
        season.belief(str(slice_row["gear"])),
        setting=slice_row["setting"],
        depth_m=target.depth_m,
        speed_mps=target.speed_mps,
        tip_height_m=season.tip_height_m,
    )
    return float(found.line_out_m)
