"""Gears, landing and troubles on the lines in plain words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from scipy.special import pdtrc

from analysis import labels
from analysis.rates.effects import BOUNDS
from analysis.rates.slice_depths import gear_setting
from analysis.result_rows import GearEffect, Tangled, Trouble, records
from analysis.review.landing import Landing
from analysis.units import Units


def worded(effects: pd.DataFrame) -> pd.DataFrame:
    """Return the result table ``gear_effects`` with each of its rows in words, ``wording``."""
    words = [
        _wording(_name(row), row.reference, row.ratio, (row.low, row.high), told=row.told_apart)
        for row in records(GearEffect, effects)
    ]
    return effects.assign(wording=pd.Series(words, index=effects.index, dtype=object))


def _wording(
    level: str, reference: str, ratio: float, bounds: tuple[float, float], *, told: bool
) -> str:
    if level == reference:
        return "used most: others are compared with it"
    interval = f"{labels.ratio(ratio)} times ({labels.interval(*bounds, labels.ratio)})"
    if not told:
        return f"cannot be told apart from {reference}: {interval}"
    more = "more" if ratio > 1.0 else "fewer"
    return f"took {more} strikes than {reference} at equal depth, speed and water: {interval}"


def gear_sentence(effects: pd.DataFrame, units: Units) -> str:
    """Say in a sentence whether one gear fished better than another, and at which line-outs."""
    if effects.empty:
        return "One gear was fished, or no strike compares two: gears cannot be told apart."
    rows = records(GearEffect, effects)
    told = [row for row in rows if row.told_apart]
    references = " or ".join(dict.fromkeys(row.reference for row in rows))
    if not told:
        return (
            "At equal depth, speed and water no gear or setting can be told apart from the one "
            f"used most ({references})."
        )
    out = {_name(row): _let_out(row, units) for row in rows}
    parts = [
        f"{out[_name(row)]} took {labels.ratio(row.ratio)} times the strikes of "
        f"{out[row.reference]} ({labels.interval(row.low, row.high, labels.ratio)})"
        for row in told
    ]
    return f"At equal depth, speed and water {'; '.join(parts)}. The others cannot be told apart."


def _let_out(row: GearEffect, units: Units) -> str:
    """Name a gear with the line-out that puts it at the depth of the comparison."""
    if np.isnan(row.line_out_m):
        return _name(row)
    return f"{_name(row)} at {labels.amount(row.line_out_m, 'length', units)} out"


def _name(row: GearEffect) -> str:
    """Gear with its dial setting, as in the model."""
    return str(gear_setting(pd.Series([row.gear]), pd.Series([row.setting]))[0])


def _were(count: int) -> str:
    return f"{labels.number(count)} {'was' if count == 1 else 'were'}"


def landing_sentences(found: Landing, units: Units) -> list[str]:
    """Say how many strikes were hooked and landed, and what made a difference that can be told."""
    hook, land = found.hookup, found.landing
    lines = []
    if hook.trials:
        lines.append(
            f"Of {labels.count(hook.trials, 'strike')} {_were(hook.successes)} hooked "
            f"({labels.percent(hook.successes / hook.trials)})"
            + (
                f", and of those {land.successes} landed or released "
                f"({labels.percent(land.successes / land.trials)})."
                if land.trials
                else "."
            )
        )
    told = [
        sentence
        for table, rate, verb in (
            (found.outcomes, "boated_rate", "landed or released"),
            (found.hookups, "hookup_rate", "hooked"),
        )
        for sentence in _differences(table, rate, verb)
    ]
    if told:
        lines += told
    elif hook.trials:
        lines.append("No leader, gear or setting hooked or landed better beyond its interval.")
    return lines


def landing_notes(found: Landing) -> list[str]:
    """Say what the shares landed or released cannot tell, and why."""
    lines = [
        f"The {name} is unknown for {labels.percent(lost)} of the fish lost, so the shares landed "
        "or released of the known ones look better than they are."
        for name, lost in found.unseen.items()
    ]
    if found.untold:
        lines.append(
            f"What {labels.listing(found.untold)} did to the share landed or released cannot be "
            "told: the log seldom has it of fish lost."
        )
    if found.without_outcome:
        lines.append(
            f"{labels.count(found.without_outcome, 'strike')} without an outcome in the log: left "
            "out here."
        )
    return lines


def _differences(table: pd.DataFrame, rate: str, verb: str) -> Sequence[str]:
    """Name the classes of a term whose intervals do not overlap: the best and the worst."""
    lines = []
    for term, rows in table.loc[table["modelled"]].groupby("term", sort=False):
        best, worst = rows.iloc[int(rows[rate].argmax())], rows.iloc[int(rows[rate].argmin())]
        if best["low"] > worst["high"]:
            lines.append(
                f"By {term}: {best['level']} {verb} {labels.percent(best[rate])}, {worst['level']} "
                f"{labels.percent(worst[rate])}, all else equal."
            )
    return lines


def trouble_sentences(table: pd.DataFrame, pairs: pd.DataFrame, units: Units) -> list[str]:
    """Say where lines came free or tangled most, and which rods tangled together."""
    if table.empty:
        return ["How sets ended is not in the log, so false releases and tangles cannot be told."]
    rows = records(Trouble, table)
    hours = sum(row.rod_hours for row in rows)
    releases, tangles = sum(row.false_releases for row in rows), sum(row.tangles for row in rows)
    rate = (releases + tangles) / hours
    lines = [
        f"{labels.count(releases, 'false release')} and {labels.count(tangles, 'tangle')} in "
        f"{labels.number(hours)} rod-hours: {100 * rate:.1f} in 100 rod-hours."
    ]
    # With so many classes one is above the rest by chance: one must be rare among all.
    worse = [row for row in rows if _tail(row, rate) < BOUNDS[0] / len(rows)]
    for row in sorted(worse, key=lambda row: -row.low)[:2]:
        out = labels.between(row.line_out_low_m, row.line_out_high_m, "length", units)
        dial = "" if np.isnan(row.setting) else f" at setting {row.setting:g}"
        lines.append(
            f"Worse than the rest beyond chance: {row.gear}{dial} with {out} out, "
            f"{row.per_100_rod_hours:.1f} in 100 rod-hours ({row.low:.1f} to {row.high:.1f})."
        )
    if not worse:
        lines.append("No gear, setting or line-out was worse than the rest beyond chance.")
    beyond = [pair for pair in records(Tangled, pairs) if pair.beyond_chance]
    if not beyond:
        lines.append("No two rods tangled with each other more often than chance would have it.")
    lines += [
        f"{pair.rod_a} and {pair.rod_b} of {pair.boat} tangled together {pair.tangles} times; "
        f"chance would give {pair.by_chance:.1f}."
        for pair in beyond[:3]
    ]
    return lines


def _tail(row: Trouble, rate: float) -> float:
    """Chance of so many troubles or more in a class, at the rate of all."""
    found = row.false_releases + row.tangles
    return float(pdtrc(found - 1, rate * row.rod_hours)) if found else 1.0
