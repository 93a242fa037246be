"""Owns twenty invented logs of one small season, each in the habit of another boat.

The season is invented; what each column really is stands in `TRUTH`, which the reader never sees.
"""

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path

import openpyxl

TRIPS = [
    ("T1", date(2026, 7, 4), "05:20", "12:10", "north arm", 3),
    ("T2", date(2026, 7, 13), "17:40", "22:30", "south arm", 4),
    ("T3", date(2026, 7, 25), "06:00", "13:45", "deep hole", 3),
]
RODS = [("P1", "port", "diver", 1.5, 120, 8), ("P2", "port", "flat", None, 90, 6),
        ("S1", "starboard", "rigger", None, 60, 5),
        ("S2", "starboard", "diver", 2.5, 150, 7)]  # fmt: skip
SPECIES = ["lake trout", "brown trout", "landlocked salmon"]
OUTCOMES = ["landed", "lost", "released", "missed"]
TEMPS_F = [61.5, 60.5, 59.0, 52.5, 46.0]


def season():
    """Return the tables of the season in ft, mph, F, in and lb: rows of column -> value."""
    trips, sets, strikes, readings, casts = [], [], [], [], []
    for n, (trip, day, start, end, area, rods) in enumerate(TRIPS):
        trips.append(dict(trip=trip, date=day, start=start, end=end, area=area, rods=rods))
        begun = datetime.combine(day, datetime.strptime(start, "%H:%M").time())  # noqa: DTZ007
        for i, (rod, side, gear, setting, out, leader) in enumerate(RODS[:rods]):
            at = begun + timedelta(minutes=3 * i)
            hit = at + timedelta(minutes=70 + 25 * i + 11 * n)
            row = dict(trip=trip, rod=rod, side=side, gear=gear, setting=setting,
                       line_out=out + 5 * n, leader_length=leader, lure="silver spoon",
                       time_in=f"{at:%H:%M}", time_out=f"{hit:%H:%M}",
                       ended_by="strike")  # fmt: skip
            sets.append(row)
            sets.append(row | dict(time_in=f"{hit + timedelta(minutes=9):%H:%M}", time_out=end,
                                   ended_by=["end", "moved", "tangle"][i % 3]))  # fmt: skip
            strikes.append(dict(trip=trip, time=f"{hit:%H:%M}", rod=rod,
                                species=SPECIES[(i + n) % 3], outcome=OUTCOMES[(i + n) % 4],
                                length=22.5 + 1.5 * i, weight=4.25 + 0.5 * i))  # fmt: skip
        for k in range(5):
            when = begun + timedelta(minutes=55 * k)
            readings.append(dict(trip=trip, time=f"{when:%H:%M}", speed=2.2 + 0.1 * k,
                                 speed_kind=["water", "ground"][k % 2],
                                 surface_temp=TEMPS_F[0] + 0.5 * k))  # fmt: skip
        for k, temp in enumerate(TEMPS_F):
            casts.append(dict(trip=trip, time=start, depth=30.0 * k, temp=temp))
    return dict(trips=trips, sets=sets, strikes=strikes, readings=readings, casts=casts)


METRIC = dict(length="m", depth="m", speed="km/h", temperature="C", fish_length="cm",
              fish_weight="kg")  # fmt: skip
US = dict(length="ft", depth="ft", speed="mph", temperature="F", fish_length="in",
          fish_weight="lb")  # fmt: skip
FACTOR = {"m": 0.3048, "km/h": 1.609344, "kn": 1.609344 / 1.852, "cm": 2.54, "kg": 0.45359237}
QUANTITY = dict(line_out="length", leader_length="length", depth="depth", speed="speed",
                surface_temp="temperature", temp="temperature", length="fish_length",
                weight="fish_weight")  # fmt: skip


@dataclass
class Habit:
    """How one boat writes: headings and words, units and where they stand, clocks, dates, form."""

    name: str
    headings: dict = field(default_factory=dict)
    words: dict = field(default_factory=dict)
    units: dict = field(default_factory=lambda: US)
    said: str = "heading"  # where units stand: heading, cells or nowhere
    clock: str = "%H:%M"
    date: str = "%Y-%m-%d"
    files: dict = field(default_factory=dict)
    delimiter: str = ","
    encoding: str = "utf-8"
    comma: bool = False
    form: str = "csv"  # csv, xlsx, one (a CSV for all), one sheet
    kinds: str = "Type"
    only: tuple = ("trips", "sets", "strikes", "readings", "casts")


def value_of(habit, column, value):
    """Write one value as the boat does."""
    if value is None:
        return ""
    if column in QUANTITY:
        unit = habit.units[QUANTITY[column]]
        number = value
        if unit == "C":
            number = (value - 32) / 1.8
        elif unit in FACTOR:
            number = value * FACTOR[unit]
        text = f"{number:.1f}" if column != "line_out" else f"{number:.0f}"
        text = text.replace(".", ",") if habit.comma else text
        return f"{text} {unit}" if habit.said == "cells" else text
    if column == "date":
        day = f"{value:{habit.date}}"
        return day.replace("Jul", habit.words.get("Jul", "Jul"))
    if column in ("start", "end", "time", "time_in", "time_out"):
        when = datetime.strptime(value, "%H:%M")  # noqa: DTZ007
        return f"{when:{habit.clock}}"
    if isinstance(value, float):
        return str(value).replace(".", ",") if habit.comma else str(value)
    return habit.words.get(str(value), str(value))


def heading_of(habit, table, column):
    """Write one heading as the boat does."""
    own = habit.headings.get(f"{table}.{column}") or habit.headings.get(column) or column
    if column in QUANTITY and habit.said == "heading":
        return f"{own} ({habit.units[QUANTITY[column]]})"
    return own


def write(habit, folder: Path):
    """Write the boat's log; return the truth: (file or sheet, table) -> {heading: column}."""
    folder.mkdir(parents=True, exist_ok=True)
    tables = {name: rows for name, rows in season().items() if name in habit.only}
    truth, written = {}, {}
    for name, rows in tables.items():
        columns = list(rows[0])
        if not any(row[column] not in (None, "") for row in rows for column in columns):
            continue
        heads = [heading_of(habit, name, column) for column in columns]
        truth[name] = dict(zip(heads, columns, strict=True))
        written[name] = [heads] + [
            [value_of(habit, column, row[column]) for column in columns] for row in rows
        ]
    if habit.form.startswith("one"):
        heads = list(dict.fromkeys(h for rows in written.values() for h in rows[0]))
        whole = [[habit.kinds, *heads]]
        for name, rows in written.items():
            for row in rows[1:]:
                cells = dict(zip(rows[0], row, strict=True))
                whole.append([habit.files.get(name, name), *(cells.get(h, "") for h in heads)])
        written = {"season": whole}
    if habit.form in ("xlsx", "one sheet"):
        book = openpyxl.Workbook()
        book.remove(book.active)
        for name, rows in written.items():
            sheet = book.create_sheet(habit.files.get(name, name))
            for row in rows:
                sheet.append([_number(cell) for cell in row])
        book.save(folder / "book.xlsx")
        return truth
    for name, rows in written.items():
        lines = [habit.delimiter.join(_cell(c, habit.delimiter) for c in row) for row in rows]
        file = folder / f"{habit.files.get(name, name)}.csv"
        file.write_bytes(("\n".join(lines) + "\n").encode(habit.encoding))
    return truth


def _number(cell):
    try:
        return float(cell)
    except ValueError:
        return cell


def _cell(text, delimiter):
    return f'"{text}"' if delimiter in text else text
