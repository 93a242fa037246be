"""Owns what a file of the boat's instruments comes to: samples in SI, without a position."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.errors import SET_ASIDE_COLUMNS

MEASURED = ("ground_mps", "water_mps", "surface_temp_c")
COLUMNS = ("time", *MEASURED, "course_deg", "line")
FASTEST_MPS = 40.0
"""No boat that trolls is faster on its way (common sense, no source)."""
DRIFTING_MPS = 0.3
"""Slower than this a receiver tells no course: it shows its own jitter (from memory)."""
_TEMPERATURE_C = (-2.0, 40.0)


@dataclass(frozen=True, kw_only=True)
class BadLine:
    """A line that cannot be used. Neither value nor reason may hold what stands in it.

    Parameters
    ----------
    line : int
    kind : str
        What sort of line it is, such as ``RMC``.
    reason, remedy : str
    """

    line: int
    kind: str
    reason: str
    remedy: str


@dataclass(frozen=True, kw_only=True)
class Track:
    """What was read from one file of instruments.

    Parameters
    ----------
    samples : pandas.DataFrame
        ``time`` (microseconds since 1970, UTC), ``ground_mps``, ``water_mps``,
        ``surface_temp_c``, ``course_deg`` over ground from true north (NaN where the line does not
        say) and ``line``. No position.
    read : int
        Sentences or points that it holds.
    bad : tuple of BadLine
        Those set aside.
    """

    samples: pd.DataFrame
    read: int
    bad: tuple[BadLine, ...] = ()


class NoTrackError(Exception):
    """A file that is no track, or none that is of use.

    Parameters
    ----------
    reason, remedy : str
        In plain words, without anything that stands in the file.
    line : int
        Where that shows.
    """

    def __init__(self, reason: str, remedy: str, line: int = 1) -> None:
        super().__init__(reason)
        self.reason = reason
        self.remedy = remedy
        self.line = line


class OddValueError(Exception):
    """A value that cannot be true, in plain words."""


def known_speed(value_mps: float) -> float:
    """Return a speed that a boat can have.

    Raises
    ------
    OddValueError
    """
    if not 0.0 <= value_mps <= FASTEST_MPS:
        msg = f"a speed that is not from 0 to {FASTEST_MPS:g} m/s"
        raise OddValueError(msg)
    return value_mps


def known_temperature(value_c: float) -> float:
    """Return a temperature that water can have.

    Raises
    ------
    OddValueError
    """
    low, high = _TEMPERATURE_C
    if not low <= value_c <= high:
        msg = f"a water temperature that is not from {low:g} to {high:g} C"
        raise OddValueError(msg)
    return value_c


def known_course(value_deg: float) -> float:
    """Return a course that there is.

    Raises
    ------
    OddValueError
    """
    if not 0.0 <= value_deg <= 360.0:
        msg = "a course that is not from 0 to 360 degrees"
        raise OddValueError(msg)
    return value_deg


def samples_of(rows: Sequence[Sequence[float]]) -> pd.DataFrame:
    """Return rows in the order of `COLUMNS` as a frame, by time."""
    table = np.array(rows, dtype=float).reshape(-1, len(COLUMNS))
    frame = pd.DataFrame(table, columns=list(COLUMNS)).astype({"time": "int64", "line": "int64"})
    return frame.sort_values(["time", "line"], ignore_index=True)


def problems_of(table: str, bad: Sequence[BadLine]) -> list[dict[str, object]]:
    """Return bad lines in the columns of every list of rows set aside."""
    return [
        dict(zip(SET_ASIDE_COLUMNS, (table, b.line, b.kind, "", b.reason, b.remedy), strict=True))
        for b in bad
    ]
