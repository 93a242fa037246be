"""Owns the making of a new season folder: everything is made first, then written, or nothing."""

from pathlib import Path

from analysis.errors import LogError
from analysis.keeping.boat_file import boat_toml
from analysis.keeping.book import IN_CSV, season_book, season_csv
from analysis.keeping.plan import Plan
from analysis.keeping.sheet import sheet_pdf
from analysis.log.files.unread import SHEETS
from analysis.log.files.workbook import WORKBOOKS


def start_season(folder: Path, plan: Plan, *, as_csv: bool = False) -> list[Path]:
    """Write boat.toml, the tables to fill in and the sheet to print into a folder.

    Parameters
    ----------
    folder : Path
        Made if absent; nothing in it is overwritten.
    plan : analysis.keeping.plan.Plan
    as_csv : bool
        CSV files in place of the workbook.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    LogError
        Where the folder holds a season already, or cannot be written to. Nothing is left behind.
    """
    made: list[Path] = []
    try:
        if folder.is_dir():
            _refuse_season(folder)
        files = _contents(plan, as_csv=as_csv)
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in files.items():
            file = folder / name
            with file.open("xb") as opened:
                made.append(file)
                opened.write(content)
    except OSError as error:
        for file in made:
            file.unlink(missing_ok=True)
        msg = f"this folder cannot be written to ({error.strerror}); nothing was left in it"
        remedy = "name a folder that you may write to"
        raise LogError(msg, file=folder, remedy=remedy) from error
    return made


def _contents(plan: Plan, *, as_csv: bool) -> dict[str, bytes]:
    files = {"boat.toml": boat_toml(plan).encode("utf-8")}
    if as_csv:
        files |= {f"{table}.csv": season_csv(plan, table) for table in IN_CSV}
    else:
        files["season.xlsx"] = season_book(plan)
    return files | {name: sheet_pdf(plan, paper) for paper, name in SHEETS.items()}


def _refuse_season(folder: Path) -> None:
    """Refuse a folder that already holds part of a log."""
    ours = {"boat.toml", *(f"{table}.csv" for table in IN_CSV)}
    ours |= {name.casefold() for name in SHEETS.values()}
    there = [
        path.name
        for path in sorted(folder.iterdir())
        if path.name.casefold() in ours or path.suffix.casefold() in WORKBOOKS
    ]
    if there:
        msg = f"a season was begun here: it has {', '.join(there)}; nothing was written"
        raise LogError(msg, file=folder, remedy="name a new folder for the new season")
