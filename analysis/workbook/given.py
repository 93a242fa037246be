"""Owns what may be typed for a season: one folder, several, results; and where they are sought."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path, PureWindowsPath
from typing import NoReturn

from analysis.errors import UsageError
from analysis.log.wording.spelling import nearest
from analysis.places import DEMO, NOTEBOOKS, TABLES

LOG_VARIABLE = "RODHOURS_LOG"
"""Environment variable in which `rodhours lab` hands its logs to every notebook."""
_BOAT = "boat.toml"

Typed = str | os.PathLike[str] | Sequence[str | os.PathLike[str]] | None


@dataclass(frozen=True, kw_only=True)
class Given:
    """What a typed season turned out to be: season folders, or one folder of result tables."""

    folders: tuple[Path, ...] = ()
    results: Path | None = None


def find_season(typed: Typed = None) -> Given:
    """Find the folders that somebody means.

    A path is sought where the notebook or program runs, beside the notebooks, and among the
    demo's logs, in this order; ``~`` and a path written as on Windows are understood.

    Parameters
    ----------
    typed : str, path or list of them, optional
        Season folders, or a folder that `rodhours review` wrote. By default the logs that
        `rodhours lab` was given, else the latest season of the demo's first boat.

    Returns
    -------
    Given

    Raises
    ------
    UsageError
        For a folder that is not there, is a file, is empty, or holds no season; it says which of
        these, and what is there instead.

    Examples
    --------
    >>> [folder.name for folder in find_season("dunlin-2026").folders]
    ['dunlin-2026']
    >>> find_season("dunlin-2062")
    Traceback (most recent call last):
    analysis.errors.UsageError: season 'dunlin-2062': there is no such folder. Remedy: write the
    path of a season folder; did you mean 'dunlin-2026'?
    """
    if typed is None:
        handed = [path for path in os.environ.get(LOG_VARIABLE, "").split(os.pathsep) if path]
        typed = handed or str(DEMO / "dunlin-2026")
    several = list(typed) if isinstance(typed, list | tuple) else [typed]
    if not several:
        _refuse("season", "no folder is named", "write the path of a season folder")
    found = [seek(one) for one in several]
    results = [folder for folder in found if _is_results(folder)]
    if results and len(found) > 1:
        _refuse(
            f"season {str(results[0])!r}",
            "results go alone, and several folders are named",
            "name season folders only, or this one alone",
        )
    if results:
        inner = results[0] / TABLES
        return Given(results=inner if inner.is_dir() else results[0])
    return Given(folders=tuple(map(_season_in, found)))


def one_folder(typed: Typed = None) -> Path:
    """Return the season folder of a notebook that looks at one boat: of several the first.

    Raises
    ------
    UsageError
        As `find_season`, and for results, which hold no boat.
    """
    given = find_season(typed)
    if not given.folders:
        _refuse(f"season {str(typed)!r}", "these are results", "name the season folder itself")
    return given.folders[0]


def seek(typed: object) -> Path:
    """Return the first file or folder of that name where one may be meant.

    Raises
    ------
    UsageError
        Where there is none.
    """
    text = str(typed) if isinstance(typed, str | os.PathLike) else ""
    if not text.strip():
        _refuse(f"season {typed!r}", "it is no path", "write the path of a season folder")
    written = Path(text.strip()).expanduser()
    candidates = [written]
    if "\\" in text and os.sep != "\\":
        candidates.append(Path(*PureWindowsPath(text.strip()).parts).expanduser())
    for path in candidates:
        for place in (Path.cwd(), NOTEBOOKS, DEMO):
            if (place / path).exists():
                return (place / path).resolve()
    beside = [path.name for path in (*_folders(Path.cwd() / written.parent), *_folders(DEMO))]
    like = nearest(written.name, beside)
    hint = f"; did you mean {like!r}?" if like else ""
    _refuse(
        f"season {text!r}",
        "there is no such folder",
        f"write the path of a season folder{hint}",
    )


def _folders(parent: Path) -> list[Path]:
    """Folders within a folder; none where it cannot be read."""
    try:
        return sorted(path for path in parent.iterdir() if path.is_dir())
    except OSError:
        return []


def _is_results(folder: Path) -> bool:
    return (folder / TABLES / "summary.json").is_file() or (folder / "summary.json").is_file()


def _season_in(folder: Path) -> Path:
    """Return a folder that holds a season, and refuse any other."""
    place = f"season {str(folder)!r}"
    if folder.is_file():
        _refuse(place, "this is a file", f"name the folder that holds it: {str(folder.parent)!r}")
    if (folder / _BOAT).is_file():
        return folder
    within = [path.name for path in _folders(folder) if (path / _BOAT).is_file()]
    if within:
        names = ", ".join(map(repr, within))
        _refuse(place, f"it holds several seasons: {names}", "name one of them, or a list of them")
    what = "it has no boat.toml" if any(folder.iterdir()) else "the folder is empty"
    _refuse(place, what, "`rodhours start FOLDER` makes a season folder to fill in")


def _refuse(place: str, problem: str, remedy: str) -> NoReturn:
    end = "" if remedy.endswith("?") else "."
    msg = f"{place}: {problem}. Remedy: {remedy}{end}"
    raise UsageError(msg)
