"""Owns the result files: a season's tables and summary to disk, and back for the notebooks."""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from analysis.csv_files import read_csv, write_csv
from analysis.errors import NameNotThereError, RodhoursError
from analysis.log.wording.spelling import nearest
from analysis.places import TABLES
from analysis.render.staging import put_in_place, staging
from analysis.report.results_book import FILE as BOOK
from analysis.report.results_book import write_book
from analysis.result_schema import RESULTS, check_known, described
from analysis.summary import Summary
from analysis.units import Units

if TYPE_CHECKING:
    from analysis.season import Season

_NAMES = "tables"
_TEXT_MARK = "text_columns"


class ResultsError(RodhoursError):
    """Result files that are not there or cannot be read."""


@dataclass(frozen=True, kw_only=True)
class Results:
    """What `write_results` wrote, read back.

    Parameters
    ----------
    tables : Mapping
        Table name to frame, as in the result files.
    summary : Mapping
        The summary.
    """

    tables: Mapping[str, pd.DataFrame]
    summary: Summary

    def __getattr__(self, name: str) -> pd.DataFrame:
        """Return a table by its name; one that the season did not give is a frame without rows.

        Raises
        ------
        NameNotThereError
            For a name that no table has, with the nearest one: a frame without rows would say
            that there is nothing to show.
        """
        if name.startswith("_"):
            raise AttributeError(name)
        known = {*self.tables, *RESULTS}
        if name not in known:
            like = nearest(name, known)
            hint = f"did you mean {like}?" if like else f"there are {', '.join(self.tables)}."
            msg = f"there is no result table {name!r}; {hint}"
            raise NameNotThereError(msg)
        return self.tables.get(name, pd.DataFrame())

    @property
    def units(self) -> Units:
        """The units to write the report in."""
        return Units(**self.summary["units"])


def write_results(season: "Season", out_dir: Path) -> list[Path]:
    """Write a season's tables and summary under ``out_dir/tables``.

    Every file is first written whole beside its place, then moved there; tables of an older
    result that this season does not have are removed. The summary goes last.

    Parameters
    ----------
    season : Season
        The analysed season.
    out_dir : Path
        The folder that holds ``tables``; made if absent.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    WriteError
        When the folder cannot be written to; an older result is then untouched.
    """
    with staging(out_dir) as scratch:
        stage_results(season.tables, season.summary, scratch)
        return publish_results(scratch, out_dir)


def stage_results(tables: Mapping[str, pd.DataFrame], summary: Summary, folder: Path) -> None:
    """Write tables, summary and book under ``folder/tables``, for `publish_results` to move.

    See `stage_tables` and `stage_book`.
    """
    stage_tables(tables, summary, folder)
    stage_book(tables, summary, folder)


def stage_tables(tables: Mapping[str, pd.DataFrame], summary: Summary, folder: Path) -> None:
    """Write tables and summary under ``folder/tables``: all that the notebook reads.

    Parameters
    ----------
    tables : Mapping
        Table name to frame; ``exposure`` becomes a Parquet file, the others CSV. What their
        columns are is told in ``columns.json``, and in the fields of the Parquet file.
    summary : Mapping
        Anything JSON can hold; a number that is not finite becomes null.
    folder : Path
        A scratch folder.

    Raises
    ------
    SchemaError
        For a table or column that `analysis.result_schema` does not know: a fault of the program.
    """
    for name, frame in tables.items():
        check_known(name, frame)
    target = folder / TABLES
    target.mkdir(exist_ok=True)
    text_columns = {}
    for name, frame in tables.items():
        if name == "exposure":
            _write_parquet(frame, target / "exposure.parquet")
            continue
        write_csv(frame, target / f"{name}.csv")
        text_columns[name] = [
            column for column in frame if not pd.api.types.is_numeric_dtype(frame[column])
        ]
    content = plain(dict(summary) | {_TEXT_MARK: text_columns, _NAMES: sorted(tables)})
    _write_json(content, target / "summary.json")
    _write_json(described(tables), target / "columns.json")


def stage_book(tables: Mapping[str, pd.DataFrame], summary: Summary, folder: Path) -> None:
    """Write all but very long tables as one workbook under ``folder/tables``, in the boat's units.

    There is none without the units of a summary.
    """
    if "units" in summary:
        (folder / TABLES).mkdir(exist_ok=True)
        write_book(tables, Units(**summary["units"]), folder / TABLES / BOOK)


def _write_json(content: Mapping[str, Any], path: Path) -> None:
    text = json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False)
    path.write_text(text + "\n", encoding="utf-8")


def _write_parquet(frame: pd.DataFrame, path: Path) -> None:
    """Write the exposure with unit and meaning in the metadata of each field."""
    table = pa.Table.from_pandas(frame, preserve_index=False)
    says = {column.name: column for column in RESULTS["exposure"].columns}
    fields = [
        field.with_metadata({"unit": says[field.name].unit, "meaning": says[field.name].meaning})
        for field in table.schema
    ]
    pq.write_table(table.cast(pa.schema(fields, metadata=table.schema.metadata)), path)


def publish_results(scratch: Path, out_dir: Path, gone: Sequence[str] = ()) -> list[Path]:
    """Move staged results into place, and drop tables of an older result that have no successor.

    Parameters
    ----------
    scratch : Path
        A folder that `stage_results` wrote to.
    out_dir : Path
        The folder that holds ``tables``.
    gone : sequence of str
        Names of further files that go at the same time, seen from `out_dir`.
    """
    old = _names_in(out_dir / TABLES)
    new = _names_in(scratch / TABLES)
    outlived = [f"{TABLES}/{name}.csv" for name in sorted(old - new)]
    return put_in_place(scratch, out_dir, [*gone, *outlived])


def _names_in(folder: Path) -> set[str]:
    """Return the tables that the summary of a result lists; none where there is no result."""
    path = folder / "summary.json"
    if not path.is_file():
        return set()
    return set(_read_summary(path).get(_NAMES, []))


def plain(value: Any) -> Any:
    """Turn what pandas and numpy hand over into what JSON can hold."""
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def _read_summary(path: Path) -> dict[str, Any]:
    try:
        content: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError as error:
        msg = (
            f"{path.parent}: no results here. Remedy: run `rodhours review` first, and name the "
            "folder that it wrote."
        )
        raise ResultsError(msg) from error
    except ValueError as error:
        msg = f"{path}: not a summary. Remedy: run `rodhours review` again."
        raise ResultsError(msg) from error
    return content


def read_results(folder: str | Path) -> Results:
    """Read what `write_results` wrote.

    Parameters
    ----------
    folder : str or Path
        The folder ``tables``; relative to the working folder.

    Returns
    -------
    Results
        Tables, each an attribute by its name, and the summary; ids and other texts stay texts.

    Raises
    ------
    ResultsError
        When there are no results in the folder.
    """
    path = Path(folder)
    summary = _read_summary(path / "summary.json")
    tables = {
        name: read_csv(path / f"{name}.csv", columns)
        for name, columns in summary[_TEXT_MARK].items()
    }
    exposure = path / "exposure.parquet"
    if exposure.is_file():  # left out of a sample that is only to be shown
        tables["exposure"] = pd.read_parquet(exposure)
    return Results(tables=tables, summary=cast(Summary, summary))
