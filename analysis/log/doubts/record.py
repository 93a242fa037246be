"""Owns the list of doubts whilst it is gathered."""

from typing import Any

import pandas as pd

from analysis.errors import SET_ASIDE_COLUMNS


class Doubts:
    """The doubts of one log."""

    def __init__(self) -> None:
        self._rows: list[dict[str, Any]] = []

    def add(
        self,
        table: str,
        line: int,
        column: str,
        value: str,
        reason: str,
        remedy: str,
        becomes: str = "",
        rod: str = "",
    ) -> None:
        """Note one row; `becomes` is what its cell would say if the doubt is right.

        A doubt of one `rod` leaves alone what the row says of others, as a grid's rows do.
        """
        cells = (table, int(line), column, value, reason, remedy)
        told = dict(zip(SET_ASIDE_COLUMNS, cells, strict=True))
        self._rows.append(told | {"becomes": becomes, "rod": rod})

    def frame(self) -> pd.DataFrame:
        """Return them by table and line; a row that gives the same doubt twice is one."""
        columns = [*SET_ASIDE_COLUMNS, "becomes", "rod"]
        frame = pd.DataFrame(self._rows, columns=columns).drop_duplicates()
        frame = frame.astype({name: "str" for name in columns if name != "row"})
        return frame.astype({"row": "int64"}).sort_values(["table", "row"], ignore_index=True)
