"""Owns the opening of a season: folders in, a `Season` out, with what was kept of the last time."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from analysis.errors import LogError, UsageError
from analysis.log.schema import REQUIRED, TABLES
from analysis.report.fingerprints import digest
from analysis.units import band_height_m
from analysis.workbook.counted import Counted
from analysis.workbook.given import Typed, find_season
from analysis.workbook.kept import fingerprint, reused
from analysis.workbook.narrowing import nearest_of
from analysis.workbook.season import Season
from analysis.workbook.source import Source

_TOGETHER = {"sets": ("spreads", "changes"), "soaks": ("loggers",)}
"""Tables that are left out along with one: they tell the same in another form."""


def open_season(
    season: Typed = None, *, band: str | None = None, leave_out: str | Sequence[str] = ()
) -> Season:
    """Open the log of a season to ask it.

    Reading takes seconds; what was read and fitted is kept for the next time, as long as no file
    of the log changes.

    Parameters
    ----------
    season : str, path or list of them, optional
        Season folders of one boat or several; see `analysis.workbook.given.find_season`. The
        latest year is asked; the year before is its ``before``.
    band : str, optional
        Height of the depth bands, such as ``"5 ft"``; by default 10 ft or 3 m.
    leave_out : str or sequence of str, optional
        Tables to do without, as if they had not been written, to see what they are worth:
        ``sets`` (and the short form that may stand in their place), ``readings``, ``casts``,
        ``soaks`` (and loggers).

    Returns
    -------
    Season

    Raises
    ------
    UsageError
        For a folder that is not there or is no season folder, a band that is none, or a table
        that cannot be left out.
    LogError
        For a log that cannot be read, or that holds no trip.

    Examples
    --------
    >>> import rodhours
    >>> rodhours.open(rodhours.example()).boats
    ['Heron']
    >>> rodhours.open(rodhours.example(), leave_out="sets").names("gear")
    []
    """
    absent = _absent([leave_out] if isinstance(leave_out, str) else leave_out)
    given = find_season(season)
    if given.results is not None:
        msg = (
            f"{given.results}: these are results, which hold no log to ask. Remedy: name the "
            "season folder that they were made of; notebooks that only show take results."
        )
        raise UsageError(msg)
    if band is not None:
        band_height_m(band)
    folders = given.folders
    logs = digest([fingerprint(folders), *absent]) if absent else fingerprint(folders)
    read = reused("counted", logs, "", Years, lambda: _count(folders, absent))
    by_year = {counted.year: counted for counted in read.counted}
    latest = max(by_year)
    sources = {
        year: Source(logs=logs, counted=counted, band=band) for year, counted in by_year.items()
    }
    earlier = Season(sources[latest - 1]) if latest - 1 in sources else None
    return Season(sources[latest], before=earlier)


def _absent(leave_out: Sequence[str]) -> tuple[str, ...]:
    """Return the tables to do without, each once and in one order.

    Raises
    ------
    UsageError
        For a table that is none, or without which there is no season.
    """
    optional = [name for name in TABLES if name not in REQUIRED]
    for name in leave_out:
        if name not in optional:
            raise UsageError(nearest_of("leave_out cannot be", name, optional))
    along = [name for one in leave_out for name in _TOGETHER.get(one, ())]
    return tuple(name for name in optional if name in {*leave_out, *along})


@dataclass(frozen=True, kw_only=True)
class Years:
    """The seasons of some folders, counted, a year each."""

    counted: tuple[Counted, ...]


def _count(folders: tuple[Path, ...], leave_out: tuple[str, ...]) -> Years:
    """Read folders together, so that they share what each tells of the water; count each year."""
    from analysis.season import read_seasons

    everyone = read_seasons(folders, leave_out=leave_out)
    for season in everyone:
        if season.log.trips.empty:
            msg = "there is no trip in the log"
            raise LogError(msg, file=season.log.folder, remedy="write a trip into the table trips")
    years = sorted({season.log.year for season in everyone})
    by_year = [[one for one in everyone if one.log.year == year] for year in years]
    return Years(counted=tuple(Counted.of(some) for some in by_year))


EXAMPLE = {
    "boat.toml": """\
boat = "Heron"
time_zone = "Europe/Oslo"
[units]
length = "ft"
depth = "ft"
speed = "mph"
temperature = "F"
[gear.diver]
kind = "diver"
[gear.rigger]
kind = "rigger"
""",
    "trips.csv": """\
trip,date,start,end,area,rods,note
1,2026-07-04,05:10,09:30,North Basin,2,
""",
    "sets.csv": """\
trip,rod,side,gear,setting,line_out,lead,leader_length,lure,time_in,time_out,ended_by
1,P1,port,diver,2,120,,8,Blue Heel,05:15,06:40,strike
1,P1,port,diver,2,120,,8,Blue Heel,06:55,09:20,end
1,S1,starboard,rigger,,55,15,6,Copper Vole,05:20,09:20,end
""",
    "strikes.csv": """\
trip,time,rod,species,outcome,length,weight,note
1,06:40,P1,lake trout,landed,27,7.5,
""",
}
"""Files of the front page's log of five lines: name -> content."""


def example(folder: str | Path | None = None) -> Path:
    """Write the five-line log of the front page, to try things on.

    Parameters
    ----------
    folder : str or Path, optional
        A new folder; by default one that the system clears away.

    Returns
    -------
    Path
        The season folder.

    Raises
    ------
    UsageError
        Where the folder is there already: nothing is overwritten.

    Examples
    --------
    >>> import rodhours
    >>> sorted(path.name for path in rodhours.example().iterdir())
    ['boat.toml', 'sets.csv', 'strikes.csv', 'trips.csv']
    """
    place = Path(folder) if folder else Path(tempfile.mkdtemp(prefix="rodhours-")) / "heron-2026"
    if place.exists():
        msg = f"{place}: it is there already. Remedy: name a new folder."
        raise UsageError(msg)
    place.mkdir(parents=True)
    for name, content in EXAMPLE.items():
        (place / name).write_text(content, encoding="utf-8")
    return place
