"""Owns crafted logs: one sound season of sixteen trips, and faults put into it one at a time."""

from collections.abc import Callable
from datetime import date, timedelta

Rows = dict[str, list[dict[str, str]]]

RODS = {"P1": ("diver", "1", 80), "S1": ("diver", "2.5", 140), "C1": ("rigger", "", 50)}


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def sound(first: date = date(2026, 6, 1), trips: int = 16) -> Rows:
    """Return a season without a fault: three rods, four sets a rod, strikes at ends of sets."""
    rows: Rows = {"trips": [], "sets": [], "strikes": [], "readings": []}
    for n in range(trips):
        trip = {"trip": f"T{n + 1}", "date": (first + timedelta(days=3 * n)).isoformat()}
        rows["trips"].append(trip | {"start": "06:00", "end": "10:00"})
        for r, (rod, (gear, setting, line_out)) in enumerate(RODS.items()):
            ends = [360, 420 + 5 * r, 470 + 7 * r + n, 530 + 4 * r, 600]
            for k in range(4):
                # line-outs follow the season, as a captain's do
                out = line_out + 10 * k + 2 * n
                ended = "strike" if k < 2 else "end"
                rows["sets"].append(
                    {
                        "trip": trip["trip"],
                        "rod": rod,
                        "gear": gear,
                        "setting": setting,
                        "line_out": str(out),
                        "leader_length": "" if gear == "rigger" else "6",
                        "time_in": _clock(ends[k]),
                        "time_out": _clock(ends[k + 1]),
                        "ended_by": ended,
                    }
                )
                if ended == "strike":
                    rows["strikes"].append(
                        {
                            "trip": trip["trip"],
                            "time": _clock(ends[k + 1]),
                            "rod": rod,
                            "species": "lake trout",
                            "outcome": "landed",
                            "length": "24",
                            "weight": "5.5",
                        }
                    )
        for minute in range(360, 601, 30):
            rows["readings"].append(
                {
                    "trip": trip["trip"],
                    "time": _clock(minute),
                    "speed": "2.4",
                    "surface_temp": f"{60 + n / 2:g}",
                }
            )
    return rows


def written(rows: Rows) -> dict[str, str]:
    """Return the tables as CSV texts."""
    texts = {}
    for table, cells in rows.items():
        columns = list(dict.fromkeys(name for row in cells for name in row))
        lines = [",".join(row.get(name, "") for name in columns) for row in cells]
        texts[table] = "\n".join([",".join(columns), *lines]) + "\n"
    return texts


Fault = Callable[[Rows], None]


def of_trip(rows: Rows, table: str, trip: str) -> list[dict[str, str]]:
    """Return the rows of one trip."""
    return [row for row in rows[table] if row["trip"] == trip]


def moved(clock: str, minutes: int) -> str:
    """Return a time so many minutes later."""
    return _clock(int(clock[:2]) * 60 + int(clock[3:]) + minutes)
