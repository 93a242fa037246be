"""Owns the week that the weekly notebook shows: read where it was written, else worked out."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from tqdm.auto import tqdm

from analysis.errors import UsageError
from analysis.places import PROJECT
from analysis.report.weekly.store import is_whole, read_week, report_of
from analysis.weeks import check_week
from analysis.workbook.given import LOG_VARIABLE, Typed, find_season, seek

if TYPE_CHECKING:
    from analysis.weekly.figures import WeekReport

SAMPLE = PROJECT / "reports" / "sample" / "weekly.json"


def season_week(season: Typed = None, week: str | None = None) -> WeekReport:
    """Return the figures of a club's week, or of a boat's own.

    Parameters
    ----------
    season : str, path or list of them, optional
        A week's JSON file or the folder of reports that `rodhours weekly` wrote, or season
        folders. By default the logs that `rodhours lab` was given, else the sample.
    week : str, optional
        Such as ``2026-W27``; by default the last one with a report.

    Raises
    ------
    RodhoursError
        For a season or week that is not there, or a week that cannot be told.
    """
    wished = None if week is None else check_week(week)
    if season is None and not os.environ.get(LOG_VARIABLE):
        return read_week(SAMPLE)
    place = seek(season) if isinstance(season, str | os.PathLike) else None
    if place is not None and place.suffix == ".json" and place.is_file():
        return read_week(place)
    written = sorted(place.glob("????-W??.json")) if place is not None and place.is_dir() else []
    if written:
        return read_week(_chosen({path.stem: path for path in written}, wished))
    return _worked_out(find_season(season).folders, wished)


def _chosen(written: dict[str, Path], week: str | None) -> Path:
    if week is not None and week not in written:
        msg = f"week {week!r}: there is no report of it; there are {', '.join(written)}."
        raise UsageError(msg)
    return written[week or max(written)]


def _worked_out(folders: tuple[Path, ...], week: str | None) -> WeekReport:
    if not folders:
        msg = "season: these are a season's results. Remedy: name season folders for a week."
        raise UsageError(msg)
    from analysis.report.weekly.run import Settings, figures_of  # here: heavy, for this alone
    from analysis.workbook.kept import kept_folder

    out = kept_folder("weekly", folders, "")
    out.mkdir(parents=True, exist_ok=True)
    with tqdm(total=100, desc="Weeks", bar_format="{desc} {percentage:3.0f} % |{bar}|") as bar:

        def show(stage: str, share: float) -> None:
            bar.set_description(stage)
            bar.update(100 * share - bar.n)

        found = figures_of(folders, [week] if week else None, out, Settings(), show)
        show("Done", 1.0)  # a bar that ends before its end turns red
    told = {name: content for name, content in found.items() if is_whole(content)}
    if not told:
        why = next((str(content["problem"]) for content in found.values()), "there is no trip")
        msg = f"no week can be told: {why}. Remedy: name other logs, or another week."
        raise UsageError(msg)
    name = max(told)
    return report_of(told[name], f"{name}.json")
