"""Owns the sentences of a calibration: what its trials taught, and which to do next."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis import labels
from analysis.trials import NextTrial
from analysis.units import Units, in_boat_units


def trial_sentences(notes: Sequence[str], following: NextTrial, units: Units) -> list[str]:
    """Return what to know of a calibration, and last which trial to do next and what it buys.

    Parameters
    ----------
    notes : sequence of str
        From `analysis.depth.Calibration`.
    following : NextTrial
        `setting, line_out_m, sd_now, sd_then`.
    units : Units
        Units to write lengths in.
    """
    dial = "" if np.isnan(following.setting) else f"setting {following.setting:g} with "
    decimals = 1 if units.length == "m" else 0
    where = f"{dial}{labels.amount(following.line_out_m, 'length', units, decimals)} out"
    gain = f"from {following.sd_now:.1%} to {following.sd_then:.1%}"
    told = (in_boat_units(note, units) for note in notes)
    return [
        *(note[0].upper() + note[1:] + ("" if note.endswith("?") else ".") for note in told),
        f"The next trial that teaches most: {where}; the doubt of the depth there goes {gain}.",
    ]
