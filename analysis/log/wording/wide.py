"""Owns what boat.toml says of a table with one column a rod: its rods, cells and marks."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from analysis.log.schema import OUTCOMES, TABLES, WHATS
from analysis.log.wording.patterns import read_pattern
from analysis.log.wording.spelling import bare, same_name

if TYPE_CHECKING:
    import regex

    from analysis.log.wording.toml_keys import TomlKeys

STRIKE, NOTHING = "strike", "nothing"
"""What a mark may say beside an outcome: a strike of unknown outcome, or nothing at all."""
STRUCK = (STRIKE, *OUTCOMES)
MARKS: Mapping[str, tuple[str, ...]] = {
    "spreads": (NOTHING,),
    "changes": (*STRUCK, *WHATS, NOTHING),
    "strikes": (*STRUCK, NOTHING),
}
"""The tables that may have one column a rod, and what a mark in them can say."""
CELL, UNDER = "cell", "under"
"""Columns of the rows that its cells become: the cell as written, and its heading."""
_OF_ROW = ("trip", "spread", "time", "rod", "what")
"""Columns that no cell under a rod speaks of."""


@dataclass(frozen=True, kw_only=True)
class Wide:
    """How a table with one column a rod is written.

    Parameters
    ----------
    rods : mapping
        Heading of each rod's column -> the rod's label.
    cell : regex.Pattern or None
        What a cell says: its groups are our columns. Without one a cell of spreads and changes
        is the line-out.
    marks : mapping
        `same_name` of a cell -> what it says: one of `MARKS`.
    towed : mapping
        Label -> (our column -> what the rod tows where its cell does not say).
    """

    rods: Mapping[str, str]
    cell: regex.Pattern[str] | None = None
    marks: Mapping[str, str]
    towed: Mapping[str, Mapping[str, str]]

    @property
    def tells_strikes(self) -> bool:
        """Whether a mark says a strike."""
        return any(mark in STRUCK for mark in self.marks.values())

    @property
    def made(self) -> frozenset[str]:
        """Our columns that its cells make."""
        of_cell = ["line_out"] if self.cell is None else self.cell.groupindex
        return frozenset({"rod", *of_cell, *(c for of in self.towed.values() for c in of)})


def read_wide(
    keys: TomlKeys, toml: Mapping[str, Any], gears: Collection[str]
) -> Mapping[str, Wide]:
    """Read `[wide.TABLE]` for each table that has one column a rod.

    Raises
    ------
    LogError
        Naming file, key and remedy.
    """
    tables = keys.table(toml, "wide")
    keys.refuse_unknown(tables, MARKS, "wide.")
    return MappingProxyType({name: _wide(keys, tables, name, gears) for name in tables})


def _wide(keys: TomlKeys, tables: Mapping[str, Any], name: str, gears: Collection[str]) -> Wide:
    told = keys.table(tables, name, "wide.")
    where = f"wide.{name}."
    keys.refuse_unknown(told, ("rods", "cell", "marks", "towed"), where)
    rods = _rods(keys, told, where)
    known = [one.name for one in TABLES[name] if one.name not in _OF_ROW]
    cell = told.get("cell")
    pattern = None if cell is None else read_pattern(keys, f"{where}cell", cell, known)
    marks = {}
    for word, says in keys.table(told, "marks", where).items():
        if says not in MARKS[name]:
            msg = f"a mark in {name} cannot say this"
            remedy = f"write one of {', '.join(MARKS[name])}"
            raise keys.fail(msg, f'{where}marks."{word}"', remedy, says)
        marks[same_name(word)] = str(says)
    towed = _towed(keys, told, where, known, gears, rods.values())
    wide = Wide(rods=rods, cell=pattern, marks=marks, towed=towed)
    lacking = {one.name for one in TABLES[name] if one.value_needed} - wide.made - {*_OF_ROW}
    for rod in rods.values():
        less = sorted(lacking - set(towed.get(rod, {})))
        if less:
            msg = f"nothing says the {less[0]} of this rod"
            remedy = f'write "{rod}" = {{ {less[0]} = ... }} there, or a cell that has it'
            raise keys.fail(msg, f'{where}towed."{rod}"', remedy)
    return wide


def _rods(keys: TomlKeys, told: Mapping[str, Any], where: str) -> Mapping[str, str]:
    """Read the columns that are rods: a list of headings, or a table of heading and label."""
    rods = told.get("rods")
    pairs = rods if isinstance(rods, dict) else None
    if isinstance(rods, list):
        pairs = {heading: heading for heading in rods if isinstance(heading, str)}
        pairs = pairs if len(pairs) == len(rods) else None
    texts = pairs is not None and all(isinstance(label, str) for label in pairs.values())
    if not pairs or not texts or not all(word.strip() for pair in pairs.items() for word in pair):
        msg = "this must name the columns that are rods, each once"
        raise keys.fail(msg, f"{where}rods", 'write rods = ["P1", "P2", "S1"]', rods)
    found = {heading.strip(): label.strip() for heading, label in pairs.items()}
    if len({bare(label) or label for label in found.values()}) < len(found):
        msg = "two columns are one rod"
        raise keys.fail(msg, f"{where}rods", "give each rod a label of its own", rods)
    return MappingProxyType(found)


def _towed(
    keys: TomlKeys,
    told: Mapping[str, Any],
    where: str,
    known: Collection[str],
    gears: Collection[str],
    rods: Collection[str],
) -> Mapping[str, Mapping[str, str]]:
    """Read what each rod tows where its cell does not say."""
    towed = keys.table(told, "towed", where)
    keys.refuse_unknown(towed, rods, f"{where}towed.")
    found: dict[str, Mapping[str, str]] = {}
    for rod in towed:
        at = f"{where}towed."
        of = keys.table(towed, rod, at)
        keys.refuse_unknown(of, known, f"{at}{rod}.")
        for column, value in of.items():
            number = isinstance(value, int | float) and not isinstance(value, bool)
            if not number and not isinstance(value, str):
                msg = "this must be text or a number"
                raise keys.fail(msg, f"{at}{rod}.{column}", "write it as a row would", value)
            if column == "gear" and value not in gears:
                msg = "boat.toml has no gear of this name"
                remedy = f"write one of {', '.join(gears) or 'its gears'}, or add [gear.{value}]"
                raise keys.fail(msg, f"{at}{rod}.gear", remedy, value)
        found[rod] = MappingProxyType(
            {
                column: f"{value:g}" if isinstance(value, float) else str(value)
                for column, value in of.items()
            }
        )
    return MappingProxyType(found)
