"""Owns what boat.toml says of a log's own headings, words, units and ways of writing."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from analysis.log.schema import TABLES, Field, headed
from analysis.log.wording.patterns import read_pattern
from analysis.log.wording.spelling import nearest
from analysis.log.wording.toml_keys import TomlKeys
from analysis.log.wording.wide import Wide, read_wide
from analysis.units import QUANTITIES, UNITS

if TYPE_CHECKING:
    import regex

DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "vertical bars"}
"""The marks between columns that are read, and their names."""
WORDING = ("columns", "values", "patterns", "tables", "wide", "reading")
"""Keys of boat.toml that this module reads, beside the columns under `[units]`."""
OFF = "off"
"""Behind a key of `[reading]`: what is not written as a log of ours is not read."""
DATES = ("day-month", "month-day", "year-month", OFF)
_CHOICES: Mapping[str, Collection[str]] = {
    "dates": DATES,
    "clocks": (OFF,),
    "numbers": (OFF,),
    "words": (OFF,),
    "headings": (OFF,),
    "delimiter": tuple(DELIMITERS),
}
AS_ABOVE = "as_above"
"""Under `[reading]`: columns whose empty cell means what stands above it."""
ALL, KIND = "all", "kind"
"""Under `[tables]`: the one table that holds every kind of row, and its column that tells them."""


@dataclass(frozen=True, kw_only=True)
class Wording:
    """How a boat writes its log, where that is not as ours.

    Parameters
    ----------
    columns : mapping
        Table -> (the boat's heading -> our column).
    values : mapping
        Column -> (the boat's word -> ours); the column ``table`` is that of the kinds of rows.
    patterns : mapping
        Table -> (column or heading -> regular expression whose named groups are our columns).
    units : mapping
        (Table, column) -> unit; an empty table stands for every one.
    tables : mapping
        Table -> the file or sheet it stands in; ``all`` and ``kind`` for one that holds them all.
    reading : mapping
        ``dates`` (`DATES`), ``clocks``, ``numbers``, ``words``, ``headings`` (``off``),
        ``encoding``, ``delimiter``, ``year``.
    wide : mapping
        Table with one column a rod -> how it is written.
    as_above : mapping
        Table -> columns whose empty cell means what stands above it.
    """

    columns: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    values: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    patterns: Mapping[str, Mapping[str, "regex.Pattern[str]"]] = field(default_factory=dict)
    units: Mapping[tuple[str, str], str] = field(default_factory=dict)
    tables: Mapping[str, str] = field(default_factory=dict)
    reading: Mapping[str, str] = field(default_factory=dict)
    wide: Mapping[str, Wide] = field(default_factory=dict)
    as_above: Mapping[str, Sequence[str]] = field(default_factory=dict)

    def reads(self, what: str) -> bool:
        """Whether something may be read in another way than ours."""
        return self.reading.get(what) != OFF

    def unit_of(self, table: str, column: str) -> str:
        """Return the unit that boat.toml gives a column, empty for none of its own."""
        table = table.partition("/")[0]  # a logger's file is one of the table loggers
        return self.units.get((table, column)) or self.units.get(("", column), "")


def field_of(table: str, column: str) -> Field | None:
    """Return a column of a table of ours, None where it has no such."""
    return next((field for field in headed(table) if field.name == column), None)


def read_wording(keys: TomlKeys, toml: Mapping[str, Any], gears: Collection[str]) -> Wording:
    """Read and check what a boat.toml says of a log's own words.

    Parameters
    ----------
    keys : analysis.log.wording.toml_keys.TomlKeys
    toml : mapping
        The whole file.
    gears : collection of str
        The names of the boat's gears.

    Raises
    ------
    LogError
        Naming file, key and remedy.
    """
    return Wording(
        columns=_columns(keys, toml),
        values=_values(keys, toml, gears),
        patterns=_patterns(keys, toml),
        units=_units(keys, toml),
        tables=_tables(keys, toml),
        reading=_reading(keys, toml),
        wide=read_wide(keys, toml, gears),
        as_above=_as_above(keys, toml),
    )


def _columns(keys: TomlKeys, toml: Mapping[str, Any]) -> Mapping[str, Mapping[str, str]]:
    columns = keys.table(toml, "columns")
    keys.refuse_unknown(columns, TABLES, "columns.")
    for table in columns:
        known = [field.name for field in headed(table)]
        for heading, ours in keys.table(columns, table, "columns.").items():
            if ours not in known:
                like = nearest(str(ours), known)
                remedy = f"did you mean {like}?" if like else f"write one of {', '.join(known)}"
                msg = "this is not a column of ours"
                raise keys.fail(msg, f'columns.{table}."{heading}"', remedy, ours)
    return MappingProxyType({table: MappingProxyType(dict(of)) for table, of in columns.items()})


def _values(
    keys: TomlKeys, toml: Mapping[str, Any], gears: Collection[str]
) -> Mapping[str, Mapping[str, str]]:
    values = keys.table(toml, "values")
    fields = {field.name: field for of in TABLES.values() for field in of}
    keys.refuse_unknown(values, [*fields, "table"], "values.")
    for column in values:
        known: Collection[str] = ()
        if column == "table":
            known = tuple(TABLES)
        elif column == "gear":
            known = gears
        elif fields[column].kind == "choice":
            known = fields[column].choices
        for word, ours in keys.table(values, column, "values.").items():
            where = f'values.{column}."{word}"'
            if not isinstance(ours, str):
                msg = "this must be text"
                raise keys.fail(msg, where, "write our word in quotation marks", ours)
            if known and ours and ours not in known:
                msg = f"this is no word of {column}"
                raise keys.fail(msg, where, f"write one of {', '.join(known)}", ours)
    return MappingProxyType({column: MappingProxyType(dict(of)) for column, of in values.items()})


def _patterns(
    keys: TomlKeys, toml: Mapping[str, Any]
) -> Mapping[str, Mapping[str, "regex.Pattern[str]"]]:
    patterns = keys.table(toml, "patterns")
    keys.refuse_unknown(patterns, TABLES, "patterns.")
    made: dict[str, dict[str, regex.Pattern[str]]] = {}
    for table in patterns:
        known = [field.name for field in TABLES[table]]
        for column, text in keys.table(patterns, table, "patterns.").items():
            where = f"patterns.{table}.{column}"
            made.setdefault(table, {})[column] = read_pattern(keys, where, text, known)
    return MappingProxyType(made)


def _units(keys: TomlKeys, toml: Mapping[str, Any]) -> Mapping[tuple[str, str], str]:
    """Read the units of single columns: `line_out = "m"`, `[units.line_out]`, `[units.sets]`."""
    found: dict[tuple[str, str], str] = {}
    for key, value in keys.table(toml, "units").items():
        if key in QUANTITIES and not isinstance(value, dict):
            continue
        told = value if isinstance(value, dict) else {"unit": value}
        for inner, unit in told.items():
            table, column = (key, inner) if key in TABLES else ("", key)
            if key not in TABLES and inner in TABLES:
                table = inner
            where = f"units.{key}" + (f".{inner}" if isinstance(value, dict) else "")
            found[table, column] = _checked_unit(keys, table, column, where, unit)
    return MappingProxyType(found)


def _checked_unit(keys: TomlKeys, table: str, column: str, where: str, unit: object) -> str:
    tables = [table] if table else list(TABLES)
    fields = [found for name in tables if (found := field_of(name, column))]
    quantities = [field.quantity for field in fields if field.quantity]
    if not quantities:
        names = [f.name for name in tables for f in headed(name) if f.quantity]
        like = nearest(column, names)
        remedy = f"did you mean {like}?" if like else f"known keys: {', '.join(QUANTITIES)}"
        msg = "this key is not known"
        raise keys.fail(msg, where, remedy)
    if unit not in UNITS[quantities[0]]:
        msg = f"this is not a unit of {column}"
        remedy = f"write one of {', '.join(UNITS[quantities[0]])}"
        raise keys.fail(msg, where, remedy, unit)
    return str(unit)


def _tables(keys: TomlKeys, toml: Mapping[str, Any]) -> Mapping[str, str]:
    tables = keys.table(toml, "tables")
    keys.refuse_unknown(tables, [*TABLES, ALL, KIND], "tables.")
    for table, place in tables.items():
        if not isinstance(place, str) or not place.strip() or "/" in place or "\\" in place:
            msg = "this must be the name of a file or sheet in this folder"
            raise keys.fail(msg, f"tables.{table}", f'write {table} = "Name.csv"', place)
    if (ALL in tables) != (KIND in tables):
        msg = "all and kind go together: the table, and its column that tells the kinds of rows"
        raise keys.fail(msg, "tables", f'write {ALL} = "Log.csv" and {KIND} = "Heading"')
    return MappingProxyType({table: place.strip() for table, place in tables.items()})


def _reading(keys: TomlKeys, toml: Mapping[str, Any]) -> Mapping[str, str]:
    told = keys.table(toml, "reading")
    keys.refuse_unknown(told, [*_CHOICES, "encoding", "year", AS_ABOVE], "reading.")
    reading = {key: value for key, value in told.items() if key != AS_ABOVE}
    for key, value in reading.items():
        where = f"reading.{key}"
        if key == "year":
            if isinstance(value, bool) or not isinstance(value, int) or not 1970 <= value <= 2100:
                msg = "this must be a year"
                raise keys.fail(msg, where, "write year = 2026", value)
        elif not isinstance(value, str) or (key in _CHOICES and value not in _CHOICES[key]):
            shown = ", ".join(map(repr, _CHOICES.get(key, ("utf-8", "cp1252"))))
            msg = "this is no way of writing that is known"
            raise keys.fail(msg, where, f"write one of {shown}", value)
    return MappingProxyType({key: str(value) for key, value in reading.items()})


def _as_above(keys: TomlKeys, toml: Mapping[str, Any]) -> Mapping[str, Sequence[str]]:
    """Read `as_above = ["strikes.trip"]` of `[reading]`."""
    told = keys.table(toml, "reading").get(AS_ABOVE, [])
    found: dict[str, list[str]] = {}
    for place in told if isinstance(told, list) else [told]:
        table, _, column = str(place).partition(".")
        if table not in TABLES or column not in [one.name for one in TABLES[table]]:
            msg = "this is no column of ours"
            remedy = f'write {AS_ABOVE} = ["strikes.trip"], table and column in one'
            raise keys.fail(msg, f"reading.{AS_ABOVE}", remedy, place)
        found.setdefault(table, []).append(column)
    return MappingProxyType(found)
