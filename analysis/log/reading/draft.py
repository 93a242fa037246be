"""Owns a table whilst its text is brought into our words: what was done to which cell, and why."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis.log.files.tables import Reading, TextTable
from analysis.log.files.words import coded

Mask = npt.NDArray[np.bool_]


@dataclass(kw_only=True)
class Draft:
    """A table on its way from the boat's habit to ours.

    Parameters
    ----------
    table : analysis.log.files.tables.TextTable
        As the file has it.
    frame : pandas.DataFrame
        Its text as far as it is brought into our words.
    readings : list of Reading
        What was done to which cell.
    """

    table: TextTable
    frame: pd.DataFrame
    readings: list[Reading] = field(default_factory=list)

    @classmethod
    def of(cls, table: TextTable) -> "Draft":
        """Begin with what the file has."""
        frame = table.frame.copy(deep=False)
        return cls(table=table, frame=frame, readings=list(table.readings))

    @property
    def name(self) -> str:
        """Name of the table."""
        return self.table.name

    @property
    def file(self) -> Path:
        """Where the table stands, its sheet named."""
        return self.table.place

    def each(self, column: str, read: Callable[[str], tuple[str, str]], remedy: str = "") -> None:
        """Read each cell of a column by itself.

        Parameters
        ----------
        column : str
        read : callable
            Text of a cell -> what it says in our words, and in plain words how it was read.
        remedy : str
            How to write it; by default ``write`` and what it says.
        """
        codes, words = coded(self.frame[column])
        pairs = [read(str(word)) for word in words]
        if [text for text, _ in pairs] == words.tolist():
            return
        ours = np.array([text for text, _ in pairs], dtype=object)[codes]
        how = np.array([reason for _, reason in pairs], dtype=object)[codes]
        self.put(column, ours, how, remedy)

    def put(self, column: str, ours: npt.NDArray[Any], how: Any, remedy: str = "") -> None:
        """Put our words into a column, and note where that changes it and `how` says why."""
        before = self.frame[column].to_numpy(dtype=object)
        told = np.asarray((ours != before) & (how != ""), dtype=bool)
        if told.any():
            remedies = np.array([remedy or f"write {text}" for text in ours], dtype=object)
            self.readings.append(Reading(column=column, rows=told, reason=how, remedy=remedies))
        self.frame[column] = pd.Series(ours, index=self.frame.index, dtype="str")

    def doubt(self, column: str, rows: Mask, reason: Any, remedy: Any) -> None:
        """Set rows aside whose cell can be read in two ways."""
        if rows.any():
            self.readings.append(
                Reading(column=column, rows=rows, reason=reason, remedy=remedy, doubtful=True)
            )

    def lines(self, rows: Mask, most: int = 3) -> str:
        """Name some lines of the file."""
        found = self.frame["line"].to_numpy()[rows][:most].tolist()
        return ", ".join(map(str, found))

    def done(self) -> TextTable:
        """Return the table in our words."""
        return replace(
            self.table, frame=self.frame, written=self.table.frame, readings=tuple(self.readings)
        )
