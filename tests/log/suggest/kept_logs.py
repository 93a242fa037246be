"""Owns logs typed out as different people keep theirs: a TOML each, with what each column is.

A TOML of `logs` has who keeps it, its form, its units, its sheets as text, and the truth that the
reader never sees: what each heading is, which columns are rods, and how many rows of each table
are read and kept where the questions of the proposal are answered.
"""

import json
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import openpyxl

LOGS = sorted(Path(__file__).with_name("logs").glob("*.toml"))


@dataclass(frozen=True, kw_only=True)
class KeptLog:
    """A log as somebody keeps it: sheet -> rows of cells, and the truth the reader never sees."""

    name: str
    told: Mapping

    @classmethod
    def of(cls, file):
        return cls(name=file.stem, told=tomllib.loads(file.read_text(encoding="utf-8")))

    @property
    def truth(self):
        """(Sheet, heading, table.column of ours)."""
        return {
            (sheet.casefold(), heading, ours)
            for sheet, of in self.told["sheets"].items()
            for heading, told in of["truth"].items()
            for ours in ([told] if isinstance(told, str) else told)
        }

    @property
    def rods(self):
        """Sheet -> its columns that are rods."""
        return {s: of["rods"] for s, of in self.told["sheets"].items() if "rods" in of}

    def write(self, folder):
        folder.mkdir(parents=True, exist_ok=True)
        rows = {
            sheet: [
                [cell.strip() for cell in line.split("|")]
                for line in of["text"].strip("\n").split("\n")
            ]
            for sheet, of in self.told["sheets"].items()
        }
        if self.told["form"] == "xlsx":
            book = openpyxl.Workbook()
            book.remove(book.active)
            for sheet, cells in rows.items():
                page = book.create_sheet(sheet)
                for row in cells:
                    page.append([_typed(cell) for cell in row])
            book.save(folder / "log.xlsx")
            return
        mark = self.told["delimiter"]
        for sheet, cells in rows.items():
            lines = [mark.join(_cell(cell, mark) for cell in row) for row in cells]
            content = ("\n".join(lines) + "\n").encode(self.told["encoding"])
            (folder / f"{sheet}.csv").write_bytes(content)


def _typed(cell):
    try:
        return float(cell) if not cell.startswith("0") or "." in cell else cell
    except ValueError:
        return cell or None


def _cell(text, mark):
    return '"' + text.replace('"', '""') + '"' if mark in text or '"' in text else text


def found_in(proposal):
    """(Sheet, heading, table.column of ours) of a proposal."""
    return {
        (
            one.source.name.removesuffix(".csv").casefold(),
            one.source.header[at],
            f"{one.table}.{column}",
        )
        for one in proposal.matches
        for at, (column, _) in one.columns.items()
    }


def units_in(proposal):
    """Quantity -> unit that is proposed, those that are asked left out."""
    return {
        line.key: json.loads(line.value)
        for line in proposal.lines
        if line.table == "units" and not line.question
    }


def answered(proposal, kept):
    """The proposed boat.toml with its questions answered: by the truth, else as it proposes."""
    lines = []
    for line in proposal.text().split("\n"):
        asked = re.match(r"# ([a-z_]+|\"[^\"]+\") = ", line)
        key = asked[1] if asked else ""
        if key in kept.told["units"]:
            line = f'{key} = "{kept.told["units"][key]}"'
        elif asked:
            line = line.removeprefix("# ")
        lines.append(line)
    return "\n".join(lines)
