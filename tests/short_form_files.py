"""Owns the way from a season in full to its short form, as a captain would have written it."""

import csv
import shutil
from pathlib import Path

import pandas as pd

from analysis.effort import count_effort
from analysis.log import read_log

TACKLE = ("side", "gear", "setting", "line_out", "lead", "leader_length", "lure")
HABITS = "\n[habits]\nreset_minutes = 8\nminutes_per_rod = 0\n"
NEAR_MIN = 4
"""A rod back this near to the habit is not worth a row."""


def shorten(folder: Path, out: Path, *, longest_gap_min: float) -> Path:
    """Write a season folder's sets as spreads and changes into another folder.

    Parameters
    ----------
    folder, out : Path
    longest_gap_min : float
        A rod that is out of the water for longer, and did not strike, gets a row when it comes
        out; else the row that puts it in again is all.
    """
    log = read_log(folder)
    zone = log.boat.time_zone
    sets = count_effort(log).sets.sort_values(["trip", "rod", "time_in"])
    file = next(path for path in folder.iterdir() if path.name.casefold() == "sets.csv")
    written = _rows(file)
    trips = log.trips.set_index("trip")
    spreads, changes = [], []
    for trip, of_trip in sets.groupby("trip", sort=False):
        spread, rows = _trip(of_trip, trips.loc[trip], written, longest_gap_min)
        spreads += [{"spread": f"of {trip}", **row} for row in spread]
        for row in rows:
            moment = row["time"].tz_convert(zone).strftime("%Y-%m-%d %H:%M:%S")
            changes.append({**row, "trip": trip, "time": moment})
    shutil.copytree(folder, out)
    (out / file.name).unlink()
    toml = (folder / "boat.toml").read_text(encoding="utf-8-sig")
    (out / "boat.toml").write_text(toml + HABITS, encoding="utf-8")
    _write(out / "spreads.csv", ("spread", "rod", *TACKLE), spreads)
    columns = ("trip", "time", "rod", "what", *TACKLE, "ended_by", "note")
    _write(out / "changes.csv", columns, changes)
    named = {row["spread"] for row in spreads}
    trips_file = next(path for path in out.iterdir() if path.name.casefold() == "trips.csv")
    with trips_file.open(encoding="utf-8-sig", newline="") as opened:
        rows = list(csv.DictReader(opened))
    for row in rows:
        name = f"of {row['trip'].strip()}"
        row["spread"] = name if name in named else ""
    _write(trips_file, tuple(rows[0]), rows)
    return out


def _rows(file: Path) -> dict[int, dict[str, str]]:
    """Return the rows of a CSV by the line on which they begin."""
    with file.open(encoding="utf-8-sig", newline="") as opened:
        reader = csv.reader(opened)
        header = next(reader)
        found, line = {}, reader.line_num + 1
        for cells in reader:
            found[line] = dict(zip(header, (cell.strip() for cell in cells), strict=False))
            line = reader.line_num + 1
    return found


def _trip(sets, trip, written, longest_gap_min):
    """Return a trip's spread and changes."""
    spread, changes = [], []
    for rod, of_rod in sets.groupby("rod", sort=False):
        state, before = {}, None
        for row in of_rod.itertuples():
            tackle = {name: written[row.line].get(name, "") for name in TACKLE}
            news = {name: cell for name, cell in tackle.items() if cell and state.get(name) != cell}
            if before is None and row.time_in == trip["start"]:
                spread.append({"rod": rod, **tackle})
            elif before is None:
                changes.append({"rod": rod, "time": row.time_in, "what": "in", **news})
            else:
                changes += _between(before, row, rod, news, longest_gap_min)
            state |= {name: cell for name, cell in tackle.items() if cell}
            before = row
        if before.time_out < trip["end"] and before.ended_by != "strike":
            changes.append({"rod": rod, "time": before.time_out, "what": "out"})
        elif _minutes(before.time_out, trip["end"]) > NEAR_MIN:
            # after a last strike the rod stayed in the boat
            changes.append({"rod": rod, "time": before.time_out, "what": "out"})
    return spread, changes


def _between(before, row, rod, news, longest_gap_min):
    """Return the changes between two sets of a rod."""
    gap = _minutes(before.time_out, row.time_in)
    struck = before.ended_by == "strike"
    if struck and not news and abs(gap - 8) <= NEAR_MIN:
        return []
    again = {"rod": rod, "time": row.time_in, "what": "", **news}
    if struck or gap <= longest_gap_min:
        return [{**again, "ended_by": "" if struck else before.ended_by}]
    gone = {"rod": rod, "time": before.time_out, "what": "out", "ended_by": before.ended_by}
    return [gone, again]


def _minutes(first: pd.Timestamp, last: pd.Timestamp) -> float:
    return (last - first).total_seconds() / 60


def _write(file: Path, columns, rows) -> None:
    with file.open("w", encoding="utf-8", newline="") as opened:
        writer = csv.DictWriter(opened, columns, restval="", extrasaction="ignore")
        writer.writeheader()
        writer.writerows(rows)
