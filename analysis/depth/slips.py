"""Owns what a mistaken trial probably was: the slip of the pen that makes it fit the others."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from analysis.depth.columns import Columns
from analysis.depth.uncertainty import GearBelief

FOOT_M = 0.3048
FITS = 2.0  # sd within which a slip explains the trial
NAMED = 2  # slips that are named, the best first


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
        The unit in which the log is written, in which digits change places.

    Examples
    --------
    >>> from analysis.depth import believe
    >>> from analysis.depth.kinds import Diver
    >>> row = Columns.of(setting=0, line_out_m=21.0, speed_mps=1.1)
    >>> [slip.words for slip in likely_slips(believe(Diver()), row, 7.5, 0.03)]
    ['setting 0 for 3', 'line-out 21 m for 12 m, digits swapped']
    """
    found = []
    for what, written, meant, how, columns, depth in _candidates(belief, trial, depth_m, unit_m):
        out = belief.predict_columns(columns)
        sd = np.hypot(float(out.shared_sd_m[0] / out.depth_m[0]), error)
        away = abs(np.log(depth / float(out.depth_m[0]))) / sd
        if away < FITS:
            found.append(Slip(what=what, written=written, meant=meant, how=how, away=float(away)))
    return tuple(sorted(found, key=lambda slip: slip.away)[:NAMED])


def _candidates(
    belief: GearBelief, trial: Columns, depth_m: float, unit_m: float
) -> Iterator[tuple[str, float, float, str, Columns, float]]:
    """Yield what, written, meant, how, and the trial's row and depth without the slip."""
    setting, line_out = float(trial.setting[0]), float(trial.line_out_m[0])
    for mark in belief.gear.dial:
        if mark != setting:
            moved = replace(trial, setting=np.array([mark]))
            yield "setting", setting, mark, "", moved, depth_m
    wrong_unit = ((1.0 / FOOT_M, "metres for feet"), (FOOT_M, "feet for metres"))
    lines = [(swapped, "digits swapped") for swapped in _swapped(line_out, unit_m)]
    lines += [(line_out * factor, how) for factor, how in wrong_unit]
    for meant, how in lines:
        moved = replace(trial, line_out_m=np.array([meant]))
        yield "line-out", line_out, meant, how, moved, depth_m
    depths = [(swapped, "digits swapped") for swapped in _swapped(depth_m, unit_m)]
    depths += [(depth_m * factor, how) for factor, how in wrong_unit]
    for meant, how in depths:
        if meant < line_out:
            yield "logged depth", depth_m, meant, how, trial, meant


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
