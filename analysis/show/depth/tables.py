"""Owns the tables and words of modelled depth: equal depth, calibration, clearances, pictures."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analysis import labels
from analysis.result_rows import records
from analysis.show.base.html import Fragment, Told, bullets, paragraph
from analysis.show.base.tables import Table, from_rows
from analysis.show.depth.figures import lines_of
from analysis.show.depth.part_words import PARTS
from analysis.show.depth.rows import (
    LineEnd,
    LineForDepth,
    Neighbours,
    PartDepth,
    Trial,
)
from analysis.show.depth.trial_words import trial_sentences
from analysis.trials import Learnt, NextTrial
from analysis.units import Units, in_boat_units


def _length(value_m: float, quantity: str, units: Units) -> str:
    """Return a length: whole feet, or metres to a tenth."""
    return labels.amount(value_m, quantity, units, 1 if units.of(quantity) == "m" else 0)


def _dial(setting: float | None) -> str:
    return "–" if setting is None or np.isnan(setting) else f"{setting:g}"


def equal_depth(table: pd.DataFrame, units: Units) -> Table:
    """Return the line-out of every gear and setting for one depth.

    Parameters
    ----------
    table : pandas.DataFrame
        Columns of `analysis.depth.invert.EqualDepth`; port and starboard share a row here.
    units : Units
        Units to write lengths in.
    """
    rows = []
    for row in records(LineForDepth, table):
        if row.side != "starboard":
            continue
        here = (row.gear, _dial(row.setting))
        if row.reason:
            rows.append((*here, in_boat_units(row.reason, units), "", "", ""))
            continue
        sd = _length(row.line_out_sd_m, "length", units)
        rows.append(
            (
                *here,
                f"{_length(row.line_out_m, 'length', units)} ± {sd}",
                f"± {_length(row.depth_sd_m, 'depth', units)}",
                f"{_length(abs(row.lateral_m), 'length', units)}",
                _length(row.setback_m, "length", units),
            )
        )
    headings = ("Gear", "Setting", "Line-out", "Depth known to", "To either side", "Astern")
    wanted = _length(float(table["depth_m"].max()), "depth", units)
    return from_rows(f"Line-out for a lure {wanted} deep", headings, rows)


def learnt(table: pd.DataFrame) -> Table:
    """Return each parameter before and after the trials.

    Parameters
    ----------
    table : pandas.DataFrame
        `label, unit, prior_sd, sd, shift, learnt, source`.
    """
    rows = [
        (
            row.label,
            f"± {row.prior_sd:.0f} {row.unit}",
            f"{row.shift:+.0f} ± {row.sd:.0f} {row.unit}",
            "yes" if row.learnt else "hardly",
            row.source,
        )
        for row in records(Learnt, table)
    ]
    headings = ("Parameter", "Prior", "Now", "Learnt", "Where the prior comes from")
    return from_rows("What the trials taught", headings, rows)


def known_to(uses: pd.DataFrame) -> Table:
    """Return how well depth is known on each setting, before and after the trials.

    Parameters
    ----------
    uses : pandas.DataFrame
        `setting, line_out_m, before_sd, after_sd`.
    """
    rows = []
    for setting in uses["setting"].drop_duplicates():
        part = uses[uses["setting"].isin([setting])]
        before, after = (np.sqrt(np.mean(part[name] ** 2)) for name in ("before_sd", "after_sd"))
        rows.append((_dial(setting), f"± {before:.0%}", f"± {after:.0%}"))
    headings = ("Setting", "Before the trials", "Now")
    return from_rows("How well a depth is known", headings, rows)


def calibration_notes(notes: Sequence[str], next_trial: pd.DataFrame, units: Units) -> Fragment:
    """Return what to know of a calibration, and which trial to do next.

    Parameters
    ----------
    notes : sequence of str
        From `analysis.depth.Calibration`.
    next_trial : pandas.DataFrame
        One row: `setting, line_out_m, sd_now, sd_then`.
    units : Units
        Units to write lengths in.
    """
    *told, following = trial_sentences(notes, records(NextTrial, next_trial)[0], units)
    return bullets(told) + paragraph(following)


def spread_lines(ends: pd.DataFrame, units: Units) -> Table:
    """Return each line of a spread.

    Parameters
    ----------
    ends : pandas.DataFrame
        `rod, side, gear, setting, line_out_m, depth_m, depth_sd_m, across_m, astern_m, reason`.
    units : Units
        Units to write lengths in.
    """
    rows = []
    for row in records(LineEnd, ends):
        here = (row.rod, row.side, row.gear, _dial(row.setting))
        if row.reason:
            rows.append((*here, in_boat_units(row.reason, units), "", ""))
            continue
        depth = _length(row.depth_m, "depth", units)
        sd = _length(row.depth_sd_m, "depth", units)
        out = _length(row.line_out_m, "length", units)
        astern = _length(row.astern_m, "length", units)
        rows.append((*here, out, f"{depth} ± {sd}", astern))
    headings = ("Rod", "Side", "Gear", "Setting", "Line-out", "Runs at", "Astern")
    return from_rows("The spread", headings, rows)


def neighbours(clearance: pd.DataFrame, units: Units) -> Table:
    """Return how near lines come below the surface: neighbours, and others that may tangle.

    Parameters
    ----------
    clearance : pandas.DataFrame
        `rod_a, rod_b, least_m, sideways_m, flagged, crossed, fish_passes_behind`.
    units : Units
        Units to write lengths in.
    """
    rows = []
    for row in records(Neighbours, clearance):
        warnings = [
            words
            for words, warned in (
                ("the lines cross", row.crossed),
                ("near enough to tangle", row.flagged and not row.crossed),
                ("a fish on the outer line swings across", not row.fish_passes_behind),
            )
            if warned
        ]
        rows.append(
            (
                f"{row.rod_a} and {row.rod_b}",
                _length(row.sideways_m, "length", units),
                labels.amount(row.least_m, "length", units, 1),
                "; ".join(warnings) or "do not meet or cross",
            )
        )
    headings = ("Lines", "Sideways at the lures", "Least below the surface", "Reading")
    return from_rows("Neighbouring lines", headings, rows, nothing="No two lines to compare.")


def told_curves(curves: pd.DataFrame, units: Units) -> Told:
    """Describe `depth_figures.depth_curves`."""
    parts = []
    for name, line in lines_of(curves):
        last = line.iloc[-1]
        out = _length(last["line_out_m"], "length", units)
        parts.append(f"{name} {_length(last['depth_m'], 'depth', units)} with {out} out")
    return Told(
        alt=f"Depth against line-out, by dial setting or gear: {', '.join(parts)}.",
        caption="Depth against line-out, with 90 % interval; at its end a line's setting or gear.",
        missing="There is no such gear on board.",
    )


def told_effects(effects: pd.DataFrame) -> Told:
    """Describe `depth_figures.depth_effects`."""
    parts = [
        f"{str(term).rsplit('_', 1)[0].replace('_', ' ')} {rows['change'].min():+.0%} to "
        f"{rows['change'].max():+.0%}"
        for term, rows in effects.groupby("term", sort=False)
    ]
    return Told(
        alt=f"Change of depth over the range drawn: {'; '.join(parts)}.",
        caption="Change of depth, one thing moved at a time; all panels have one scale but that "
        "of a lure that dives.",
        missing="No effect could be worked out.",
    )


def told_parts(parts: pd.DataFrame, units: Units) -> Told:
    """Describe `depth_figures.parts_of_lines`."""
    found = []
    for part, rows in parts.groupby("part", sort=False):
        both = [row for row in records(PartDepth, rows) if row.without_m > 0 and row.with_m > 0]
        if not both:
            continue
        last = both[-1]
        plain, with_it = (_length(m, "depth", units) for m in (last.without_m, last.with_m))
        out = _length(last.line_out_m, "length", units)
        found.append(f"{PARTS[str(part)].title}, {out} out: {plain} without, {with_it} with")
    drawn = records(PartDepth, parts.drop_duplicates("part"))
    sizes = "; ".join(
        PARTS[row.part].size.format(
            **{**vars(row), "length": _length(row.length_m, "length", units)}
        )
        for row in drawn
    )
    return Told(
        alt=f"Depth against line-out without and with a part. {'. '.join(found)}.",
        caption=f"Depth of the lure against line-out, without and with each part: {sizes}.",
        missing="No part could be worked out.",
    )


def told_calibration(trials: pd.DataFrame) -> Told:
    """Describe `depth_figures.calibration`."""
    kept = [row for row in records(Trial, trials) if not (row.reason or row.left_out)]
    found = ""
    if kept:
        before = np.sqrt(np.mean([row.before**2 for row in kept]))
        after = np.sqrt(np.mean([row.after**2 for row in kept]))
        found = f" off by {before:.0%} before calibration, {after:.0%} after"
    return Told(
        alt=f"Depths logged in {labels.count(len(kept), 'trial')} against the model:{found}.",
        caption="Trials with a depth logger, with the 90 % interval of the prediction.",
        missing="No trials with a depth logger: all depths rest on the defaults.",
    )


def told_spread(ends: pd.DataFrame, units: Units) -> Told:
    """Describe `depth_figures.spread_shape`."""
    parts = [
        f"{row.rod} {_length(row.depth_m, 'depth', units)} deep, "
        f"{_length(row.astern_m, 'length', units)} astern"
        for row in records(LineEnd, ends)
        if not row.reason
    ]
    return Told(
        alt=f"The spread from behind and from above: {'; '.join(parts)}.",
        caption="To scale, each line with its true shape; bars are 90 % intervals of depth.",
        missing="No line of this spread reaches the depth.",
    )
