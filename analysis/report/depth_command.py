"""Owns the depth command: a table of any size in, the same table with modelled depths out."""

import csv
import re
from collections.abc import Iterator, Mapping
from itertools import islice
from pathlib import Path
from typing import TextIO

import numpy as np
import numpy.typing as npt

from analysis.csv_files import ENCODING, CsvRows
from analysis.depth.uncertainty import GearBelief, Prediction, believe
from analysis.errors import LogError
from analysis.log.boat import Boat, read_boat
from analysis.log.files.tables import refuse_odd_file
from analysis.log.wording.spelling import nearest
from analysis.render.staging import put_in_place, staging, sweep
from analysis.units import to_si

NEEDED = ("gear", "setting", "line_out", "speed")
ADDED = ("depth_m", "depth_sd_m", "lateral_m", "setback_m", "line_pull_n", "depth_note")

_ROWS_AT_ONCE = 20_000
_DECIMALS = 6  # far below what the model claims, so that rounding never shows in a comparison
_COMMA = re.compile(r"(\d),(\d{1,2}|\d{4,})$")

Array = npt.NDArray[np.float64]


def write_depths(table: Path, boat_toml: Path, out: Path) -> tuple[int, int]:
    """Copy a CSV, adding where each line runs.

    The table is read a part at a time, so its size does not matter; cells it has are written
    back as they were read, but for a mark before those that a spreadsheet would run. A row that
    has no answer keeps its place, with empty results and the reason in ``depth_note``.

    Parameters
    ----------
    table : Path
        CSV with the columns of `NEEDED`, in the units of `boat_toml`; ``leader_length``,
        ``tip_height_m`` and ``rod`` are used if there (a rod for its tip height and the scale of
        its counter), all others are carried along.
    boat_toml : Path
        The boat whose gears and units are meant.
    out : Path
        The CSV to write; replaced only when the whole table has been solved.

    Returns
    -------
    tuple of int
        Rows written, and rows of these without a depth.

    Raises
    ------
    LogError
        For a table without the needed columns, or a bad ``boat.toml``.
    WriteError
        When `out` cannot be written.
    """
    boat, _ = read_boat(boat_toml)
    beliefs = {name: believe(gear, boat.water) for name, gear in boat.gears.items()}
    try:
        refuse_odd_file(table)
        # utf-8-sig: programs that save CSV often put a mark before the first heading.
        with table.open(encoding=ENCODING, newline="") as source:
            header, line_end = _header(source, table)
            sweep(out.parent)
            with staging(out.parent) as scratch:
                target = scratch / out.name
                with target.open("w", encoding=ENCODING, newline="") as sink:
                    writer = CsvRows(sink, line_end)
                    writer.writerow([*header, *ADDED])
                    rows = unsolved = 0
                    for part in _parts(source, len(header), table):
                        added = _solve(
                            dict(zip(header, zip(*part, strict=True), strict=True)), boat, beliefs
                        )
                        for row, more in zip(part, added, strict=True):
                            writer.writerow([*row, *more])
                        rows += len(part)
                        unsolved += sum(more[-1] != "" for more in added)
                put_in_place(scratch, out.parent)
    except UnicodeDecodeError as error:
        msg = "this file is not UTF-8 text"
        raise LogError(msg, file=table, remedy="save it again as CSV (UTF-8)") from error
    except (FileNotFoundError, IsADirectoryError, PermissionError) as error:
        msg = f"this file cannot be read ({error.strerror})"
        raise LogError(msg, file=table, remedy="check the name of the table") from error
    return rows, unsolved


def _header(source: TextIO, table: Path) -> tuple[list[str], str]:
    """Read the header line, and return it with the file's line end."""
    first = source.readline()
    line_end = "\r\n" if first.endswith("\r\n") else "\n"
    header = [name.strip() for name in next(csv.reader([first]), [])]
    missing = [name for name in NEEDED if name not in header]
    if missing:
        msg = f"no column {', '.join(missing)}"
        remedy = f"the table needs the columns {', '.join(NEEDED)}, separated by commas"
        raise LogError(msg, file=table, row=1, remedy=remedy)
    taken = [name for name in ADDED if name in header]
    if taken:
        msg = f"the table has a column {taken[0]} already"
        raise LogError(msg, file=table, row=1, remedy="rename or remove it and run again")
    twice = next((name for name in header if header.count(name) > 1), None)
    if twice is not None:
        msg = f"the column {twice!r} is there twice"
        raise LogError(msg, file=table, row=1, remedy="rename or remove one of the two")
    return header, line_end


def _parts(source: TextIO, width: int, table: Path) -> Iterator[list[list[str]]]:
    """Read the rows below the header, a limited number at a time."""
    reader = csv.reader(source)
    while True:
        part = []
        for row in islice(reader, _ROWS_AT_ONCE):
            if not row:
                continue  # a blank line is no row
            if len(row) != width:
                msg = f"{len(row)} cells under {width} headings"
                remedy = "put texts that hold a comma in quotation marks"
                raise LogError(msg, file=table, row=reader.line_num + 1, remedy=remedy)
            part.append(row)
        if not part:
            return
        yield part


def _number(text: str) -> float:
    """Read one number; a decimal comma is understood where it can mean nothing else."""
    try:
        return float(text)
    except ValueError:
        pointed = _COMMA.sub(r"\1.\2", text.strip())
    try:
        return float(pointed)
    except ValueError:
        return np.nan


def _solve(
    columns: Mapping[str, tuple[str, ...]], boat: Boat, beliefs: Mapping[str, GearBelief]
) -> list[list[str]]:
    """Return the added cells of some rows."""
    gears = np.array([name.strip() for name in columns["gear"]], dtype=object)
    count = len(gears)
    values = {
        name: np.array([_number(text) for text in columns[name]])
        for name in ("setting", "line_out", "speed", "leader_length", "tip_height_m")
        if name in columns
    }
    notes = _unreadable(columns, values)
    rods = [text.strip() for text in columns.get("rod", ("",) * count)]
    tips = np.array([boat.tip_height_of(rod) for rod in rods])
    given = values.get("tip_height_m", np.full(count, np.nan))
    asked: dict[str, Array] = {
        "setting": values["setting"],
        "line_out_m": to_si(values["line_out"], "length", boat.units.length)
        * np.array([boat.counter_scale_of(rod) for rod in rods]),
        "speed_mps": to_si(values["speed"], "speed", boat.units.speed),
        "tip_height_m": np.where(np.isnan(given), tips, given),
        "leader_length_m": to_si(
            values.get("leader_length", np.full(count, np.nan)), "length", boat.units.length
        ),
    }
    results = np.full((count, len(ADDED) - 1), np.nan)
    for name in dict.fromkeys(gears.tolist()):
        rows = np.flatnonzero((gears == name) & (notes == ""))
        if name not in beliefs:
            notes[rows] = _no_such_gear(name, beliefs)
            continue
        found: Prediction = beliefs[name].predict(
            **{key: array[rows] for key, array in asked.items()}
        )
        notes[rows] = found.reason
        for at, column in enumerate(ADDED[:-1]):
            results[rows, at] = getattr(found, column)
    texts = np.where(np.isnan(results), "", np.char.mod(f"%.{_DECIMALS}f", results + 0.0))
    return [[*row, note] for row, note in zip(texts.tolist(), notes.tolist(), strict=True)]


def _unreadable(
    columns: Mapping[str, tuple[str, ...]], values: Mapping[str, Array]
) -> npt.NDArray[np.object_]:
    """Return, for each row, which of its texts is no number; empty where all can be read."""
    notes = np.full(len(columns["gear"]), "", dtype=object)
    for name, array in values.items():
        for row in np.flatnonzero(np.isnan(array)):
            text = columns[name][row].strip()
            if text or name in ("line_out", "speed"):
                what = f"{name} {text!r} is not a number" if text else f"no {name}"
                notes[row] = f"{notes[row]}; {what}".lstrip("; ")
    return notes


def _no_such_gear(name: str, known: Mapping[str, GearBelief]) -> str:
    """Say that a gear is not in boat.toml, and which one may be meant."""
    like = nearest(name, known)
    hint = f"did you mean {like}?" if like else f"it has {', '.join(known) or 'no gear'}"
    return f"boat.toml has no gear {name!r}; {hint}"
