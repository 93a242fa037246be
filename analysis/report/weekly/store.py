"""Owns what the weekly report keeps: fingerprints, the figures of all weeks, what was published."""

import json
from collections.abc import Mapping
from math import nan
from pathlib import Path
from typing import Any

from cattrs import BaseValidationError, Converter, transform_error

from analysis.errors import RodhoursError
from analysis.places import NOTEBOOKS
from analysis.render.staging import put_in_place, staging
from analysis.weekly.figures import WeekReport

NOTEBOOK = NOTEBOOKS / "weekly_report.ipynb"
STORE = ".weekly-figures.json"
"""Hidden file of the report's folder: the figures of all weeks, so that a run that was stopped,
or one for another week, needs no second fit. It holds nothing that a report does not tell."""

Figures = dict[str, Any]


class WeeklyError(RodhoursError):
    """Figures of a week that are not there."""


def read_json(path: Path) -> Figures | None:
    """Return the content of a JSON file of ours; None where there is none, or no whole one."""
    try:
        content = json.loads(path.read_text(encoding="utf-8"))
    except (FileNotFoundError, ValueError):
        return None
    return content if isinstance(content, dict) else None


def read_week(path: str | Path) -> WeekReport:
    """Read the figures of one week, for the notebook.

    Raises
    ------
    WeeklyError
        Where there is no such file, or not one of ours.
    """
    path = Path(path)
    content = read_json(path)
    if content is None or "week" not in content:
        msg = (
            f"{path}: no figures of a week. Remedy: run `rodhours weekly` first, and name a "
            "JSON file that it wrote."
        )
        raise WeeklyError(msg)
    return report_of(content, path.name)


def report_of(content: Figures, file: str) -> WeekReport:
    """Turn the content of a week's JSON file into its figures; what JSON has no number for is NaN.

    Raises
    ------
    WeeklyError
        Where it is not what this version writes.
    """
    try:
        return _READER.structure(content, WeekReport)
    except BaseValidationError as error:
        fault, *_ = transform_error(error, path=content.get("week", "$"))
        msg = (
            f"{file}: not what this version of rodhours writes ({fault}). Remedy: make the report "
            "again with `rodhours weekly`."
        )
        raise WeeklyError(msg) from error


def _number(value: Any, _: type) -> float:
    return nan if value is None else float(value)


_READER = Converter()
_READER.register_structure_hook(float, _number)


def as_json(content: Mapping[str, Any]) -> str:
    """Write a JSON file's text."""
    return json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def read_store(out_dir: Path, key: str) -> Figures | None:
    """Return the stored figures of all weeks, if they were made of the same with the same."""
    store = read_json(out_dir / STORE)
    return store if store is not None and store.get("key") == key else None


def write_store(out_dir: Path, store: Figures) -> None:
    """Put the store in place.

    Raises
    ------
    WriteError
        When the folder cannot be written to.
    """
    with staging(out_dir) as scratch:
        (scratch / STORE).write_text(as_json(store), encoding="utf-8")
        put_in_place(scratch, out_dir)


def published(out_dir: Path) -> dict[str, Figures]:
    """Return the figures of every week that has a report in the folder."""
    found = {}
    for path in sorted(out_dir.glob("[0-9][0-9][0-9][0-9]-W[0-9][0-9].json")):
        content = read_json(path)
        if content is not None and content.get("week") == path.stem:
            found[path.stem] = content
    return found


def is_whole(figures: Figures | None) -> bool:
    """Tell whether stored figures are all that may be told, not the mark of a week held back."""
    return figures is not None and "status" in figures
