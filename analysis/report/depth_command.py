"""Owns the depth command: a table of any size in, the same table with modelled depths out."""

import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from typing import TextIO

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis import labels
from analysis.csv_files import ENCODING, CsvRows, write_csv
from analysis.depth.lures import lure_columns
from analysis.depth.uncertainty import GearBelief, Prediction, believe
from analysis.effort.on_board import calibrations_of
from analysis.errors import SET_ASIDE_COLUMNS, LogError
from analysis.log import read_log
from analysis.log.boat import Boat, read_boat
from analysis.log.files.content import refuse_odd_file
from analysis.log.files.headings import Wanted, our_names
from analysis.log.reading.numbers import read_amount, sure_number
from analysis.log.wording.spelling import nearest, same_name
from analysis.render.staging import WriteError, put_in_place, staging, sweep
from analysis.units import to_si

NEEDED = ("gear", "setting", "line_out", "speed")
ADDED = ("depth_m", "depth_sd_m", "lateral_m", "setback_m", "line_pull_n", "depth_note")
QUANTITIES = {
    "setting": "",
    "line_out": "length",
    "speed": "speed",
    "leader_length": "length",
    "lead": "length",
    "tip_height_m": "",
}
"""Columns of numbers, and what they are of."""
USED = (*NEEDED, "speed_kind", "leader_length", "lead", "lure", "rod", "tip_height_m")

_ROWS_AT_ONCE = 60_000  # some 120 MB; how depths answer is found once for all of them
_DECIMALS = 6  # far below what the model claims, so that rounding never shows in a comparison

Array = npt.NDArray[np.float64]


@dataclass(kw_only=True)
class Written:
    """What was written of a table of depths.

    Attributes
    ----------
    rows : int
        Rows written.
    unsolved : int
        Rows of these without a depth.
    aside : list of tuple
        Rows that do not fit under the headings, `SET_ASIDE_COLUMNS` each.
    calibrated : tuple of str
        Gears whose depth rests on depth-logger trials, each with their number.
    """

    rows: int = 0
    unsolved: int = 0
    aside: list[tuple[str, int, str, str, str, str]] = field(default_factory=list)
    calibrated: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class _OnBoard:
    """The boat whose depths are asked, and what is known of its gears."""

    boat: Boat
    beliefs: Mapping[str, GearBelief]

    @property
    def own_words(self) -> Mapping[str, str]:
        """The boat's own words for its gears."""
        wording = self.boat.wording
        return dict(wording.values).get("gear", {})

    def gear_meant(self, word: str) -> str | None:
        """Return the gear that a word is in any capitals and spaces, or by the boat's own words."""
        told = {same_name(name): name for name in self.beliefs}
        told |= {same_name(own): ours for own, ours in self.own_words.items()}
        return told.get(same_name(word))


def write_depths(
    table: Path, boat_toml: Path | None, out: Path, log: Path | None = None
) -> Written:
    """Copy a CSV, adding where each line runs.

    The table is read a part at a time, so its size does not matter; cells it has are written
    back as they were read, but for a mark before those that a spreadsheet would run. A row that
    has no answer keeps its place, with empty results and the reason in ``depth_note``. A row that
    does not fit under the headings is set aside, into a file beside `out`.

    Parameters
    ----------
    table : Path
        CSV with the columns of `NEEDED`, in the units of the boat, under its own headings or
        ours; the others of `USED` are used if there (a rod for its tip height and the scale of
        its counter, ``speed_kind`` for how well the speed through the water is known), all others
        are carried along.
    boat_toml : Path or None
        The boat whose gears and units are meant; not needed with a log.
    out : Path
        The CSV to write, in a folder that is there; replaced only when the whole table has been
        solved.
    log : Path, optional
        A season folder of the boat: its soaks calibrate the gears, as in the review.

    Returns
    -------
    Written

    Raises
    ------
    LogError
        For a table without the needed columns, a bad ``boat.toml`` or season.
    WriteError
        When `out` cannot be written.
    """
    on_board, calibrated = _on_board(boat_toml, log)
    written = Written(calibrated=calibrated)
    if not out.parent.exists():
        msg = f"cannot write {out}: there is no folder {out.parent}. Remedy: make it, or choose "
        raise WriteError(msg + "another with --out.")
    try:
        refuse_odd_file(table)
        # utf-8-sig: programs that save CSV often put a mark before the first heading.
        with table.open(encoding=ENCODING, newline="") as source:
            header, names, line_end = _header(source, table, on_board.boat)
            sweep(out.parent)
            with staging(out.parent) as scratch:
                target = scratch / out.name
                with target.open("w", encoding=ENCODING, newline="") as sink:
                    writer = CsvRows(sink, line_end)
                    writer.writerow([*header, *ADDED])
                    for part in _parts(source, len(header), table, written):
                        columns = dict(zip(names, zip(*part, strict=True), strict=True))
                        added = _solve(columns, on_board)
                        for row, more in zip(part, added, strict=True):
                            writer.writerow([*row, *more])
                        written.rows += len(part)
                        written.unsolved += sum(more[-1] != "" for more in added)
                if written.aside:
                    aside = pd.DataFrame(written.aside, columns=list(SET_ASIDE_COLUMNS))
                    write_csv(aside, scratch / aside_name(out))
                put_in_place(scratch, out.parent)
    except UnicodeDecodeError as error:
        msg = "this file is not UTF-8 text"
        raise LogError(msg, file=table, remedy="save it again as CSV (UTF-8)") from error
    except (FileNotFoundError, IsADirectoryError, PermissionError) as error:
        msg = f"this file cannot be read ({error.strerror})"
        raise LogError(msg, file=table, remedy="check the name of the table") from error
    return written


def aside_name(out: Path) -> str:
    """Return the name of the file beside `out` for rows that do not fit under the headings."""
    return f"{out.stem}.set_aside.csv"


def _on_board(boat_toml: Path | None, log: Path | None) -> tuple[_OnBoard, tuple[str, ...]]:
    """Read the boat, or its season with what its soaks taught."""
    if log is None:
        if boat_toml is None:
            msg = "neither a boat.toml nor a season folder is named"
            raise ValueError(msg)
        boat, _ = read_boat(boat_toml)
        beliefs = {name: believe(gear, boat.water) for name, gear in boat.gears.items()}
        return _OnBoard(boat=boat, beliefs=beliefs), ()
    season = read_log(log)
    done = calibrations_of(season)
    known = {name: calibration.belief for name, calibration in done.items()}
    calibrated = tuple(
        f"{name} ({labels.count(belief.trials, 'trial')})"
        for name, belief in known.items()
        if belief.trials
    )
    return _OnBoard(boat=season.boat, beliefs=known), calibrated


def _header(source: TextIO, table: Path, boat: Boat) -> tuple[list[str], list[str], str]:
    """Read the header line; return it, our names of its columns, and the file's line end."""
    first = source.readline()
    line_end = "\r\n" if first.endswith("\r\n") else "\n"
    header = [name.strip() for name in next(csv.reader([first]), [])]
    twice = next((name for name in header if header.count(name) > 1), None)
    if twice is not None:
        msg = f"the column {twice!r} is there twice"
        raise LogError(msg, file=table, row=1, remedy="rename or remove one of the two")
    taken = [name for name in ADDED if name in header]
    if taken:
        msg = f"the table has a column {taken[0]} already"
        raise LogError(msg, file=table, row=1, remedy="rename or remove it and run again")
    renames = {
        heading: ours
        for of_table in ("readings", "sets")
        for heading, ours in boat.wording.columns.get(of_table, {}).items()
        if ours in USED
    }
    generous = boat.wording.reads("headings")
    wanted = Wanted(known=USED, renames=renames, generous=generous)
    names = our_names(header, wanted, table, 1)
    missing = [name for name in NEEDED if name not in names]
    if missing:
        msg = f"no column {', '.join(missing)}"
        remedy = f"the table needs the columns {', '.join(NEEDED)}, separated by commas"
        raise LogError(msg, file=table, row=1, remedy=remedy)
    return header, names, line_end


def _parts(source: TextIO, width: int, table: Path, written: Written) -> Iterator[list[list[str]]]:
    """Read the rows below the header, a limited number at a time; set ragged ones aside."""
    reader = csv.reader(source)
    while True:
        part, read = [], 0
        before = reader.line_num
        for row in islice(reader, _ROWS_AT_ONCE):
            read += 1
            first, before = before + 2, reader.line_num
            if not row:
                continue  # a blank line is no row
            if len(row) != width:
                reason = f"{labels.count(len(row), 'cell')} under {labels.count(width, 'heading')}"
                remedy = "put texts that hold a comma in quotation marks"
                written.aside.append((table.stem, first, "", ",".join(row), reason, remedy))
                continue
            part.append(row)
        if part:
            yield part
        if not read:
            return


def _numbers(texts: Sequence[str], quantity: str, unit: str) -> Array:
    """Read a column by the log's own rules, a unit typed with the number among them; NaN else."""

    def read(text: str) -> float:
        value = sure_number(text)
        if value is None and quantity:
            amount = read_amount(text.strip(), quantity, unit)
            value = amount.value if amount else None
        return np.nan if value is None else value

    codes, words = pd.factorize(np.array(texts, dtype=object))
    return np.array([read(str(word)) for word in words])[codes]


def _solve(columns: Mapping[str, Sequence[str]], on_board: _OnBoard) -> list[list[str]]:
    """Return the added cells of some rows."""
    boat, beliefs = on_board.boat, on_board.beliefs
    count = len(columns["gear"])
    units = {
        name: boat.wording.unit_of("sets", name) or boat.units.of(quantity) if quantity else ""
        for name, quantity in QUANTITIES.items()
    }
    values = {
        name: _numbers(columns[name], quantity, units[name])
        for name, quantity in QUANTITIES.items()
        if name in columns
    }
    notes = _unreadable(columns, values)
    rods = [text.strip() for text in columns.get("rod", ("",) * count)]
    tips = np.array([boat.tip_height_of(rod) for rod in rods])
    blank = np.full(count, np.nan)
    given = values.get("tip_height_m", blank)

    def metres(name: str) -> Array:
        return to_si(values.get(name, blank), "length", units[name])

    asked: dict[str, Array] = {
        "setting": values["setting"],
        "line_out_m": metres("line_out") * np.array([boat.counter_scale_of(rod) for rod in rods]),
        "speed_mps": to_si(values["speed"], "speed", units["speed"]),
        "tip_height_m": np.where(np.isnan(given), tips, given),
        "leader_length_m": metres("leader_length"),
        "lead_m": metres("lead"),
        **lure_columns(columns.get("lure", ("",) * count), boat.lures),
    }
    kinds = columns.get("speed_kind", ("water",) * count)
    ground = np.array([kind.strip().casefold() != "water" for kind in kinds])
    results = np.full((count, len(ADDED) - 1), np.nan)
    codes, words = pd.factorize(np.array(columns["gear"], dtype=object))
    for code, word in enumerate(words):
        rows = np.flatnonzero((codes == code) & (notes == ""))
        name = on_board.gear_meant(str(word))
        if name is None:
            notes[rows] = _no_such_gear(str(word).strip(), beliefs)
            continue
        found: Prediction = beliefs[name].predict(
            speed_over_ground=ground[rows], **{key: array[rows] for key, array in asked.items()}
        )
        notes[rows] = found.reason
        for at, column in enumerate(ADDED[:-1]):
            results[rows, at] = getattr(found, column)
    texts = np.where(np.isnan(results), "", np.char.mod(f"%.{_DECIMALS}f", results + 0.0))
    return [[*row, note] for row, note in zip(texts.tolist(), notes.tolist(), strict=True)]


def _unreadable(
    columns: Mapping[str, Sequence[str]], values: Mapping[str, Array]
) -> npt.NDArray[np.object_]:
    """Return, for each row, which of its texts is no number; empty where all can be read."""
    notes = np.full(len(columns["gear"]), "", dtype=object)
    for name, array in values.items():
        for row in np.flatnonzero(np.isnan(array)):
            text = columns[name][int(row)].strip()
            if text or name in ("line_out", "speed"):
                what = f"{name} {text!r} is not a number" if text else f"no {name}"
                notes[row] = f"{notes[row]}; {what}".lstrip("; ")
    return notes


def _no_such_gear(name: str, known: Mapping[str, GearBelief]) -> str:
    """Say that a gear is not in boat.toml, and which one may be meant."""
    like = nearest(name, known)
    hint = f"did you mean {like}?" if like else f"it has {', '.join(known) or 'no gear'}"
    return f"boat.toml has no gear {name!r}; {hint}"
