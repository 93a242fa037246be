"""Owns what a mistaken trial probably was: the slip of the pen that makes it fit the others."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from analysis.depth.columns import Columns
from analysis.depth.kinds import Gear
from analysis.depth.march import Array, Rows
from analysis.depth.uncertainty import GearBelief

FOOT_M = 0.3048
FITS = 2.0  # sd within which a slip explains the trial
NAMED = 2  # slips that are named, the best first
USUAL_WIDTH = 0.5
"""Sd of the log of the line-outs at which a gear is tried, about their median: about that of 15 to
70 m in even steps (from memory). What is far outside was likelier written than let out."""


@dataclass(frozen=True, kw_only=True)
class Slip:
    """What may have been written for what.

    Attributes
    ----------
    what
        `setting`, `line-out` or `logged depth`.
    written, meant
        In m, or marks of the dial.
    how
        Why it is thought of; empty for another mark of the dial.
    away
        How far the trial then is from what the others make of it, in sd.
    """

    what: str
    written: float
    meant: float
    how: str
    away: float

    @property
    def words(self) -> str:
        """Say it, such as `setting 2 for 3`."""
        unit = "" if self.what == "setting" else " m"
        written = f"{self.written:.4g}{unit}"
        return f"{self.what} {written} for {self.meant:.4g}{unit}{self.how and f', {self.how}'}"


@dataclass(frozen=True, kw_only=True)
class Rewritten:
    """Trials as they were if one of their possible slips was made, a row for each slip of each.

    Attributes
    ----------
    of : (rows,)
        Which trial it is.
    columns, depth_m
        The trial without the slip: what was towed, and what the logger read.
    usual : (rows,)
        By what factor the line-out meant is likelier to be tried than the one written.
    told
        What, as written, as meant, and how, of each row.
    """

    of: Rows
    columns: Columns
    depth_m: Array
    usual: Array
    told: tuple[tuple[str, float, float, str], ...]


def rewritten(gear: Gear, trials: Columns, depth_m: Array, unit_m: float) -> Rewritten:
    """Return trials without each of the slips that may have been made in them.

    Parameters
    ----------
    gear
        Whose dial it is.
    trials, depth_m
        As written.
    unit_m
        The unit in which the log is written, in which digits change places.
    """
    told, of = [], []
    for trial, (setting, line_out) in enumerate(
        zip(trials.setting, trials.line_out_m, strict=True)
    ):
        slips = list(_slips(gear, setting, line_out, depth_m[trial], unit_m))
        told += slips
        of += [trial] * len(slips)
    meant = np.array([slip[2] for slip in told])
    what = np.array([slip[0] for slip in told])
    rows = np.array(of, dtype=np.intp)
    written = trials.take(rows)
    right = replace(
        written,
        setting=np.where(what == "setting", meant, written.setting),
        line_out_m=np.where(what == "line-out", meant, written.line_out_m),
    )
    middle_m = np.median(trials.line_out_m)
    off, off_written = (
        np.log(each.line_out_m / middle_m) / USUAL_WIDTH for each in (right, written)
    )
    return Rewritten(
        of=rows,
        columns=right,
        depth_m=np.where(what == "logged depth", meant, depth_m[rows]),
        usual=np.exp((off_written**2 - off**2) / 2.0),
        told=tuple(told),
    )


def likely_slips(
    belief: GearBelief, trial: Columns, depth_m: float, error: float, unit_m: float = 1.0
) -> tuple[Slip, ...]:
    """Return the slips that would make a trial fit what the other trials taught.

    Parameters
    ----------
    belief
        The gear by the other trials.
    trial
        The one row, as written.
    depth_m
        What its logger read, as written.
    error
        Error of the trial in log depth.
    unit_m
        As `rewritten` takes it.

    Examples
    --------
    >>> from analysis.depth import believe
    >>> from analysis.depth.kinds import Diver
    >>> row = Columns.of(setting=0, line_out_m=21.0, speed_mps=1.1)
    >>> [slip.words for slip in likely_slips(believe(Diver()), row, 7.5, 0.03)]
    ['setting 0 for 3', 'line-out 21 m for 12 m, digits swapped']
    """
    meant = rewritten(belief.gear, trial, np.array([depth_m]), unit_m)
    out = belief.predict_columns(meant.columns)
    sd = np.hypot(out.shared_sd_m / out.depth_m, error)
    away = np.abs(np.log(meant.depth_m / out.depth_m)) / sd
    found = [
        Slip(what=what, written=written, meant=right, how=how, away=float(one))
        for (what, written, right, how), one in zip(meant.told, away, strict=True)
        if one < FITS
    ]
    return tuple(sorted(found, key=lambda slip: slip.away)[:NAMED])


def _slips(
    gear: Gear, setting: float, line_out_m: float, depth_m: float, unit_m: float
) -> Iterator[tuple[str, float, float, str]]:
    """Yield what may have been written in a trial: what, as written, as meant, and how."""
    for mark in gear.dial:
        if mark != setting:
            yield "setting", setting, mark, ""
    wrong_unit = ((1.0 / FOOT_M, "metres for feet"), (FOOT_M, "feet for metres"))
    for what, written in (("line-out", line_out_m), ("logged depth", depth_m)):
        meant = [(swapped, "digits swapped") for swapped in _swapped(written, unit_m)]
        meant += [(written * factor, how) for factor, how in wrong_unit]
        for length_m, how in meant:
            if what == "line-out" or length_m < line_out_m:
                yield what, written, length_m, how


def _swapped(length_m: float, unit_m: float) -> Iterator[float]:
    """Yield a length with two neighbouring digits of its whole part swapped.

    >>> [round(swapped) for swapped in _swapped(120.0, 1.0)]
    [210, 102]
    """
    whole = str(round(length_m / unit_m))
    rest = length_m / unit_m - round(length_m / unit_m)
    for place in range(len(whole) - 1):
        digits = list(whole)
        digits[place], digits[place + 1] = digits[place + 1], digits[place]
        if digits[0] != "0" and "".join(digits) != whole:
            yield (int("".join(digits)) + rest) * unit_m
