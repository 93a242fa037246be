"""Owns a made-up club that tests write: a few boats, a few weeks, and one boat with secrets.

Three boats fish alike. The fourth, Dee, alone fishes deep, alone catches pike, alone tows a
certain lure in a certain bay, and writes notes: what a club's report must not give away.
"""

from pathlib import Path

import numpy as np

BOATS = ("Ant", "Bee", "Cod", "Dee")
SECRETS = {
    "boat": "Dee",
    "area": "Secret Bay",
    "lure": "secret spoon",
    "species": "pike",
    "note": "SECRET NOTE 59.1234 N 10.4321 E",
}
HOSTILE = '<img src=x onerror="document.title=1"> & $x$ [url=//x]'

_UNITS = {
    "ft": ("ft", "ft", "mph", "F", "in", "lb"),
    "m": ("m", "m", "km/h", "C", "cm", "kg"),
}
_QUANTITIES = ("length", "depth", "speed", "temperature", "fish_length", "fish_weight")


def _boat_toml(name: str, units: str, sharing: str, club: str) -> str:
    lines = [f"boat = '{name}'", f"club = '{club}'", 'time_zone = "Europe/Oslo"', "[units]"]
    lines += [f'{key} = "{unit}"' for key, unit in zip(_QUANTITIES, _UNITS[units], strict=True)]
    lines += ["[rods]", "tip_height_m = 2.0", "[sharing]", sharing]
    lines += ["[gear.diver]", 'kind = "diver"', "[gear.rigger]", 'kind = "rigger"']
    return "\n".join(lines) + "\n"


def _csv(columns: str, rows: list[tuple[object, ...]]) -> str:
    def quoted(cell: object) -> str:
        text = str(cell)
        return f'"{text.replace(chr(34), chr(34) * 2)}"' if set(text) & set('",') else text

    return "\n".join([columns, *(",".join(map(quoted, row)) for row in rows)]) + "\n"


def write_boat(
    folder: Path,
    name: str,
    days: list[str],
    *,
    units: str = "ft",
    sharing: str = "name_boat = false",
    club: str = "Ostermere Trolling Club",
    secretive: bool = False,
    hostile: bool = False,
    strikes_a_trip: int = 4,
    seed: int = 1,
) -> Path:
    """Write one boat's season: a trip of six hours with four rods on each day.

    Whatever a hostile boat can type holds markup.
    """
    typed = HOSTILE if hostile else ""
    rng = np.random.default_rng([seed, sum(map(ord, name))])
    metre, per_degree, zero = (3.28084, 1.8, 32.0) if units == "ft" else (1.0, 1.0, 0.0)
    knots = 2.5 if units == "ft" else 4.0
    trips, sets, strikes, readings, casts = [], [], [], [], []
    for number, day in enumerate(days, 1):
        trip = f"{name[0]}{number}"
        area = SECRETS["area"] if secretive else f"North Basin{typed}"
        note = SECRETS["note"] if secretive else ""
        trips.append((trip, day, "06:00", "12:00", area, 4, note))
        for rod in range(4):
            deep = secretive and rod >= 2
            out_m = (95.0 if deep else 12.0 + 14.0 * rod) + float(rng.uniform(0, 6))
            gear, setting = ("diver", 1) if rod < 2 else ("rigger", "")
            if rod >= 2:
                out_m = 45.0 + float(rng.uniform(0, 4)) if deep else 8.0 + 7.0 * (rod - 2)
            lure = SECRETS["lure"] if deep else (f"silver{typed}", "copper")[rod % 2]
            end = f"11:{int(rng.integers(10, 59)):02d}"
            row = (trip, f"R{rod}", "port", gear, setting, round(out_m * metre, 1), 2, lure)
            sets.append((*row, "06:00", end, "end"))
        for minute in np.sort(rng.choice(300, strikes_a_trip, replace=False)):
            rod = int(rng.integers(0, 4))
            kind = rng.choice(["lake trout", f"brown trout{typed}"])
            if secretive and rod >= 2:
                kind = SECRETS["species"]
            outcome = rng.choice(["landed", "landed", "lost", "released"])
            at = f"{6 + (minute + 5) // 60:02d}:{(minute + 5) % 60:02d}"
            strikes.append((trip, at, f"R{rod}", kind, outcome, note))
        for hour in range(6, 12):
            pace = round(knots + float(rng.normal(0, 0.15)), 2)
            readings.append((trip, f"{hour:02d}:00", pace, "water", 18 * per_degree + zero))
        for depth in range(0, 61, 3):
            warmth = 4 + 14 / (1 + np.exp((depth - 12) / 2.5))
            casts.append((trip, "06:10", round(depth * metre, 1), warmth * per_degree + zero))
    folder.mkdir(parents=True, exist_ok=True)
    tables = {
        "trips": ("trip,date,start,end,area,rods,note", trips),
        "sets": (
            "trip,rod,side,gear,setting,line_out,leader_length,lure,time_in,time_out,ended_by",
            sets,
        ),
        "strikes": ("trip,time,rod,species,outcome,note", strikes),
        "readings": ("trip,time,speed,speed_kind,surface_temp", readings),
        "casts": ("trip,time,depth,temp", casts),
    }
    (folder / "boat.toml").write_text(_boat_toml(name, units, sharing, club), encoding="utf-8")
    for table, (columns, rows) in tables.items():
        (folder / f"{table}.csv").write_text(_csv(columns, rows), encoding="utf-8")
    return folder


WEEK_26 = ["2026-06-23", "2026-06-25"]
WEEK_27 = ["2026-06-30", "2026-07-02", "2026-07-05"]
WEEK_29 = ["2026-07-14"]
YEAR_BEFORE = ["2025-07-01", "2025-07-03"]


def write_club(
    folder: Path, boats: tuple[str, ...] = BOATS, *, hostile: bool = False
) -> list[Path]:
    """Write the club: all fish in weeks 26 and 27 of 2026, only two boats in week 29.

    Week 28 has no trip; of the year before, three boats have logs.
    """
    logs = []
    for number, name in enumerate(boats):
        days = WEEK_26 + WEEK_27 + (WEEK_29 if number < 2 else [])
        units = ("ft", "m")[number % 2]
        club = f"Ostermere{HOSTILE}" if hostile else "Ostermere Trolling Club"
        current = write_boat(
            folder / f"{name.lower()}-2026",
            f"{name}{HOSTILE}" if hostile and not number else name,
            days,
            units=units,
            club=club,
            # The first boat allows to be named.
            sharing=f"name_boat = {'false' if number else 'true'}",
            secretive=name == SECRETS["boat"],
            hostile=hostile and name != SECRETS["boat"],
        )
        logs.append(current)
        if number < 3:
            earlier = folder / f"{name.lower()}-2025"
            logs.append(write_boat(earlier, name, YEAR_BEFORE, units=units, club=club, seed=2))
    return logs
