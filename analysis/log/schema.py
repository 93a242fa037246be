"""Owns what the tables of a log hold: columns, kinds, units, and which the models need.

The ranges are limits of common sense (no source): wide enough for any boat that trolls, narrow
enough to find a slipped digit or a wrong unit. Those of what is towed are the depth model's own.
"""

from dataclasses import dataclass, replace
from typing import Literal

import pandas as pd

from analysis.depth.limits import LEAD_M, LEADER_LENGTH_M, LINE_OUT_M, SPEED_MPS

Kind = Literal["text", "number", "choice", "time", "date"]

SIDES = ("port", "starboard", "centre")
ENDINGS = ("strike", "moved", "false release", "tangle", "end")
WHATS = ("in", "out")
OUTCOMES = ("landed", "released", "lost", "missed")
SPEED_KINDS = ("water", "ground")


@dataclass(frozen=True, kw_only=True)
class Field:
    """One column of a table of the log.

    Parameters
    ----------
    name : str
        Its heading in the file.
    clean : str
        Its name in the clean frame; numbers carry their SI unit in it.
    kind : str
        ``text``, ``number``, ``choice``, ``time`` or ``date``.
    column_needed : bool
        Without the column the table is of no use.
    value_needed : bool
        A row without the value is set aside; otherwise a bad value leaves the field empty.
    spoils : bool
        A bad value sets the row aside, though an empty one does not.
    quantity : str, optional
        A key of `analysis.units.QUANTITIES`; a number without one has no unit.
    low, high : float
        Closed range of a number, in SI.
    above : bool
        True when `low` itself is out of range.
    choices : tuple of str
        Allowed words of a choice.
    """

    name: str
    clean: str
    kind: Kind = "text"
    column_needed: bool = False
    value_needed: bool = False
    spoils: bool = False
    quantity: str | None = None
    low: float = -1e6
    high: float = 1e6
    above: bool = False
    choices: tuple[str, ...] = ()


def _text(name: str, *, needed: bool = False) -> Field:
    return Field(name=name, clean=name, column_needed=needed, value_needed=needed)


def _time(name: str) -> Field:
    return Field(name=name, clean=name, kind="time", column_needed=True, value_needed=True)


def _choice(name: str, choices: tuple[str, ...]) -> Field:
    return Field(name=name, clean=name, kind="choice", choices=choices)


def _number(
    name: str,
    clean: str,
    quantity: str | None,
    low: float,
    high: float,
    *,
    needed: bool = False,
    above: bool = False,
) -> Field:
    return Field(
        name=name,
        clean=clean,
        kind="number",
        quantity=quantity,
        low=low,
        high=high,
        above=above,
        column_needed=needed,
        value_needed=needed,
    )


def _line_out(*, needed: bool) -> Field:
    limit = LINE_OUT_M._asdict()
    return _number("line_out", "line_out_m", "length", needed=needed, **limit)


def _setting() -> Field:
    return _number("setting", "setting", None, -20.0, 20.0)


def _spoiling(field: Field) -> Field:
    """Return a field of a change that, misread, leaves the rod fishing what it no longer did."""
    return replace(field, spoils=True)


def _lead() -> Field:
    return _number("lead", "lead_m", "length", **LEAD_M._asdict())


def _leader_length() -> Field:
    limit = LEADER_LENGTH_M._asdict()
    return _number("leader_length", "leader_length_m", "length", **limit)


def _speed(*, needed: bool) -> Field:
    """Speed of a boat, which may lie still, or of a trial, in which something was towed."""
    low, high, above = SPEED_MPS
    return _number("speed", "speed_mps", "speed", low, high, needed=needed, above=above and needed)


def _temperature(name: str, clean: str, *, needed: bool = False) -> Field:
    return _number(name, clean, "temperature", -2.0, 40.0, needed=needed)


def _depth(name: str, clean: str, *, needed: bool = False, above: bool = False) -> Field:
    return _number(name, clean, "depth", 0.0, 300.0, needed=needed, above=above)


TABLES: dict[str, tuple[Field, ...]] = {
    "trips": (
        _text("trip", needed=True),
        Field(name="date", clean="date", kind="date", column_needed=True, value_needed=True),
        _time("start"),
        _time("end"),
        _text("area"),
        _number("rods", "rods", None, 1.0, 50.0),
        _text("spread"),
        _text("note"),
    ),
    "sets": (
        _text("trip", needed=True),
        _text("rod", needed=True),
        _choice("side", SIDES),
        _text("gear", needed=True),
        _setting(),
        _line_out(needed=True),
        _lead(),
        _leader_length(),
        _text("lure"),
        _time("time_in"),
        _time("time_out"),
        _choice("ended_by", ENDINGS),
    ),
    "spreads": (
        _text("spread", needed=True),
        _text("rod", needed=True),
        _choice("side", SIDES),
        _text("gear", needed=True),
        _setting(),
        _line_out(needed=True),
        _lead(),
        _leader_length(),
        _text("lure"),
    ),
    "changes": (
        _text("trip", needed=True),
        Field(name="time", clean="time", kind="time", column_needed=True),
        _text("rod", needed=True),
        _spoiling(_choice("what", WHATS)),
        _choice("side", SIDES),
        _spoiling(_text("gear")),
        _spoiling(_setting()),
        _spoiling(_line_out(needed=False)),
        _lead(),
        _leader_length(),
        _text("lure"),
        _choice("ended_by", ENDINGS),
        _text("note"),
    ),
    "strikes": (
        _text("trip", needed=True),
        _time("time"),
        _text("rod", needed=True),
        _text("species"),
        _choice("outcome", OUTCOMES),
        _number("length", "length_m", "fish_length", 0.0, 3.0, above=True),
        _number("weight", "weight_kg", "fish_weight", 0.0, 150.0, above=True),
        _text("gear"),
        _setting(),
        _line_out(needed=False),
        _leader_length(),
        _text("lure"),
        _text("note"),
    ),
    "readings": (
        _text("trip", needed=True),
        _time("time"),
        _speed(needed=False),
        _choice("speed_kind", SPEED_KINDS),
        _temperature("surface_temp", "surface_temp_c"),
        _temperature("depth_temp", "depth_temp_c"),
        _depth("probe_depth", "probe_depth_m"),
        _number("heading", "heading_deg", None, 0.0, 360.0),
    ),
    "casts": (
        _text("trip", needed=True),
        _time("time"),
        _depth("depth", "depth_m", needed=True),
        _temperature("temp", "temp_c", needed=True),
    ),
    "soaks": (
        _text("gear", needed=True),
        _setting(),
        _line_out(needed=True),
        _speed(needed=True),
        _depth("depth", "depth_m", needed=True, above=True),
        Field(name="date", clean="date", kind="date"),
        _lead(),
        _leader_length(),
        _text("lure"),
        _text("note"),
    ),
    "loggers": (
        _text("file", needed=True),
        _text("trip", needed=True),
        _text("rod", needed=True),
        Field(name="time_in", clean="time_in", kind="time"),
        Field(name="time_out", clean="time_out", kind="time"),
        _number("offset", "offset_m", "depth", -50.0, 50.0),
    ),
}
"""The tables of a season folder, columns in the contract's order."""

LOGGERS = "loggers"
"""The table of what hung where, and the folder that the loggers' files lie in."""
LOGGED = (
    _time("time"),
    # a logger's zero is off by a little, and it lies in the sun between two sets
    _number("depth", "depth_m", "depth", -5.0, 300.0),
    _number("temp", "temp_c", "temperature", -30.0, 60.0),
)
"""The columns of a logger's file."""


def fields_of(name: str) -> tuple[Field, ...]:
    """Return the columns of a table, or of a logger's file by its path within the season folder."""
    return LOGGED if name.startswith(f"{LOGGERS}/") else TABLES[name]


def headed(table: str) -> tuple[Field, ...]:
    """Return all columns that boat.toml may speak of under a table's name."""
    return (*TABLES[table], *(LOGGED if table == LOGGERS else ()))


REQUIRED = ("trips", "strikes")
"""Tables without which there is nothing to review."""

_DTYPES: dict[Kind, str] = {
    "text": "str",
    "choice": "str",
    "number": "float64",
    "time": "datetime64[us, UTC]",
    "date": "datetime64[us]",
}


def blank_table(name: str) -> pd.DataFrame:
    """Return the clean frame of a table without rows."""
    dtypes = {field.clean: _DTYPES[field.kind] for field in TABLES[name]} | {"line": "int64"}
    return pd.DataFrame({column: pd.Series(dtype=dtype) for column, dtype in dtypes.items()})
