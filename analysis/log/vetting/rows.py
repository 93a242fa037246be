"""Owns what each row of a table is worth: bad ones set aside, bad fields emptied, and why."""

from collections.abc import Mapping
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis.errors import SET_ASIDE_COLUMNS
from analysis.log.files.tables import TextTable
from analysis.log.files.words import Codes, coded, in_order, plain
from analysis.log.schema import Field, fields_of
from analysis.log.wording.wide import CELL, UNDER
from analysis.units import Units

Mask = npt.NDArray[np.bool_]

# columns that later rooms add to the clean tables: an extra column may not pass for one
_DERIVED = ("slice", "placed", "reason", "lost_set", "hours")


def problem_frame(records: list[dict[str, Any]]) -> pd.DataFrame:
    """Return problems as a frame with `SET_ASIDE_COLUMNS`, ordered by table and line."""
    frame = pd.DataFrame(records, columns=list(SET_ASIDE_COLUMNS))
    frame = frame.astype({name: "str" for name in SET_ASIDE_COLUMNS if name != "row"})
    return frame.astype({"row": "int64"}).sort_values(["table", "row"], ignore_index=True)


class Vetting:
    """The vetting of one table: what each row is worth, and why.

    Parameters
    ----------
    table : analysis.log.files.tables.TextTable
        The table as text.
    units : analysis.units.Units
        What its numbers are written in.

    Attributes
    ----------
    text : pandas.DataFrame
        The rows as written, all our columns present.
    clean : pandas.DataFrame
        The same rows with clean names and SI values; times are still to be resolved.
    aside : list of dict
        One problem a row that is set aside.
    """

    def __init__(self, table: TextTable, units: Units) -> None:
        self.name = table.name
        self.fields = fields_of(table.name)
        self.units = units
        names = [field.name for field in self.fields]
        self.absent = [name for name in names if name not in table.frame]
        blank = pd.DataFrame("", index=table.frame.index, columns=self.absent, dtype="str")
        self.text = pd.concat([table.frame, blank], axis=1)
        self.read = len(table.frame) + len(table.malformed)
        self.lines = self.text["line"].to_numpy()
        self.kept = np.ones(len(self.text), dtype=bool)
        self.aside = [
            self._problem(line, "", value, reason, "check commas and quotation marks")
            for line, value, reason in zip(
                table.malformed["line"].tolist(),
                table.malformed["value"].tolist(),
                table.malformed["reason"].tolist(),
                strict=True,
            )
        ]
        self._aside_of: dict[int, dict[str, Any]] = {}
        self._changed: list[tuple[int, dict[str, Any]]] = []
        self.clean = pd.DataFrame({"line": self.lines}, index=self.text.index)
        self.written = self.text if table.written is None else table.written
        for read in table.readings:
            judge = self.set_aside if read.doubtful else self.change
            judge(read.rows, read.column, read.reason, read.remedy)

    def _problem(
        self, row: int, column: str, value: str, reason: str, remedy: str
    ) -> dict[str, Any]:
        cells = (self.name, int(row), column, value, reason, remedy)
        return dict(zip(SET_ASIDE_COLUMNS, cells, strict=True))

    def _problems(
        self, bad: Mask, column: str, reason: Any, remedy: Any
    ) -> list[tuple[int, dict[str, Any]]]:
        """Make a problem of each bad row; reason and remedy are one text or one a row."""
        if not bad.any():
            return []
        reasons = np.broadcast_to(np.asarray(reason, dtype=object), bad.shape)
        remedies = np.broadcast_to(np.asarray(remedy, dtype=object), bad.shape)
        values = self.written.get(column, self.text.get(column))
        return [
            (
                i,
                self._problem(
                    self.lines[i],
                    column,
                    "" if values is None else values.iloc[i],
                    reasons[i],
                    remedies[i],
                ),
            )
            for i in np.flatnonzero(bad).tolist()
        ]

    @cached_property
    def trips(self) -> tuple[Codes, "pd.Index[Any]"]:
        """Trips that the rows name, and for each row which of them."""
        codes, names = coded(self.text["trip"])
        return codes, pd.Index(names)

    def set_aside(self, bad: Mask, column: str, reason: Any, remedy: Any) -> None:
        """Set bad rows aside; a row already aside only gains a further reason.

        Parameters
        ----------
        bad : numpy.ndarray of bool
            One a row.
        column : str
            The column at fault, empty when it is the whole row.
        reason, remedy : str or array of str
            In plain words, one for all or one a row.
        """
        for i, problem in self._problems(bad, column, reason, remedy):
            if i in self._aside_of:
                self._aside_of[i]["reason"] += f"; also {column}: {problem['reason']}"
            else:
                self._aside_of[i] = problem
                self.aside.append(problem)
        self.kept &= ~bad

    def change(self, bad: Mask, column: str, reason: Any, remedy: Any) -> None:
        """Note fields that were emptied or read in another way, their rows being kept."""
        self._changed += self._problems(bad & self.kept, column, reason, remedy)

    def empty(self, bad: Mask, field: Field, reason: Any, remedy: Any) -> None:
        """Empty bad fields of rows that can do without, and note it."""
        if not bad.any():
            return
        reasons = np.asarray(reason, dtype=object) + "; field left empty, row kept"
        self.change(bad, field.name, reasons, remedy)
        if field.kind == "number":
            self.clean.loc[bad, field.clean] = np.nan
        elif field.kind == "date":
            self.clean.loc[bad, field.clean] = pd.NaT
        else:
            self.clean[field.clean] = self.clean[field.clean].astype("str").mask(bad, "")

    def judge(self, bad: Mask, field: Field, reason: Any, remedy: Any) -> None:
        """Set bad rows aside where they are of no use without the field; else empty the field."""
        if field.value_needed or field.spoils:
            self.set_aside(bad, field.name, reason, remedy)
        else:
            self.empty(bad, field, reason, remedy)

    def respell(self, column: str, usual: Mapping[str, str]) -> None:
        """Give each name of a column its usual spelling, and note where that changes it.

        Parameters
        ----------
        column : str
        usual : mapping
            Name as written -> its usual spelling; other names stay as they are.
        """
        written = self.text[column]
        if not any(usual.get(name, name) != name for name in written.unique()):
            return
        spelt = written.map(lambda name: usual.get(name, name)).astype("str")
        reasons = ("read as " + spelt + ", as this log mostly spells it").to_numpy(dtype=object)
        remedies = ("write " + spelt).to_numpy(dtype=object)
        self.change((spelt != written).to_numpy(), column, reasons, remedies)
        self.text[column] = spelt

    def duplicates(self) -> None:
        """Set aside rows that repeat an earlier row in every column."""
        # rows that repeat another in every column do so in ours, and those are few
        ours = self.text[[field.name for field in self.fields]]
        again = _alike(ours)
        if not len(again):
            return
        first: dict[tuple[str, ...], int] = {}
        repeated = np.zeros(len(self.text), dtype=bool)
        reasons = np.full(len(self.text), "", dtype=object)
        cells = self.text.iloc[again].drop(columns="line").to_numpy(dtype=object)
        for at, row in zip(again.tolist(), cells, strict=True):
            line = first.setdefault(tuple(row), int(self.lines[at]))
            repeated[at] = line != self.lines[at]
            reasons[at] = f"duplicate row of line {line}"
        self.set_aside(repeated, "", reasons, "delete it, or tell the two apart in a column")

    def spoiled(self) -> Mask:
        """Return the rows set aside for a value that, misread, would change what a rod fished."""
        spoiling = {CELL, *(field.name for field in self.fields if field.spoils)}
        bad = np.zeros(len(self.text), dtype=bool)
        bad[[i for i, problem in self._aside_of.items() if problem["column"] in spoiling]] = True
        return bad

    def changes(self) -> list[dict[str, Any]]:
        """Return what was changed in rows that were kept in the end."""
        return [problem for i, problem in self._changed if self.kept[i]]

    def name_cells(self) -> None:
        """Name heading and cell in the problems of rows that were a cell under a rod."""
        if UNDER not in self.text:
            return
        for i, problem in [*self._aside_of.items(), *self._changed]:
            if problem["column"] not in ("trip", "spread", "time"):
                problem["column"] = self.text[UNDER].iloc[i]
                problem["value"] = self.text[CELL].iloc[i]

    def result(self, order: list[str], *, words: bool = False) -> pd.DataFrame:
        """Return the kept rows, ours first, extra columns after, in an order of their own.

        The order depends on what the rows say and not on where they stand in the file. Where
        `words` is true, text is held once a word, else it is plain.
        """
        ours = [*(f.clean for f in self.fields), "line"]
        taken = {*ours, *_DERIVED}
        more = self.text.drop(columns=[*(f.name for f in self.fields), "line"])
        more = more.rename(columns={name: f"{name} as written" for name in taken})
        rows = pd.concat([self.clean[ours], more], axis=1)
        if not self.kept.all():
            rows = rows.loc[self.kept]
        for name in rows.select_dtypes(["category", "str"] if words else "category"):
            rows[name] = in_order(rows[name])
        ordered = rows.sort_values(order, ignore_index=True)
        if _has_ties(ordered[order]):
            ties = [name for name in ours if name not in order]
            ordered = rows.sort_values([*order, *ties], ignore_index=True)
        return ordered if words else plain(ordered)


def _alike(text: pd.DataFrame) -> npt.NDArray[np.intp]:
    """Return the rows that have another of the same cells; the telling columns are asked first."""
    telling = [name for name in ("trip", "rod", "time", "time_in") if name in text]
    rows = np.arange(len(text), dtype=np.intp)
    for names in (telling, [name for name in text if name not in telling]):
        group = pd.Series(_numbered(text[names].iloc[rows]))
        rows = rows[group.duplicated(keep=False).to_numpy()]
    return rows


def _numbered(text: pd.DataFrame) -> npt.NDArray[np.int64]:
    """Return a number a row, the same for rows whose cells are alike."""
    number = np.zeros(len(text), dtype=np.int64)
    for name in text:
        codes, words = coded(text[name])
        if int(number.max(initial=0)) > np.iinfo(np.int64).max // max(len(words), 1) - 1:
            number = pd.factorize(number)[0].astype(np.int64)
        number = number * len(words) + codes
    return number


def _has_ties(ordered: pd.DataFrame) -> bool:
    """Whether two rows of an ordered frame are alike."""
    alike = np.ones(max(len(ordered) - 1, 0), dtype=bool)
    for name in ordered:
        row, following = ordered[name].array[:-1], ordered[name].array[1:]
        alike &= np.asarray((row == following) | (row.isna() & following.isna()), dtype=bool)
    return bool(alike.any())
