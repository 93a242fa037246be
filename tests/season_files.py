"""Owns a small season folder that tests write, changed where a test needs it."""

from pathlib import Path

BOAT = """\
boat = "Dunlin"
club = "Ostermere Trolling Club"
time_zone = "Europe/Oslo"
[units]
length = "ft"
depth = "ft"
speed = "mph"
temperature = "F"
fish_length = "in"
fish_weight = "lb"
[rods]
tip_height_m = 2.0
counter_scale = { S1 = 1.04 }
[gear.diver]
kind = "diver"
[gear.rigger]
kind = "rigger"
"""

PLAIN_BOAT = """
boat = "Plover"
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
"""

TRIPS = """\
trip,date,start,end,area,rods,note
T1,2026-07-04,2026-07-04 06:00,12:00,north arm,2,
T2,2026-07-10,2026-07-10 20:00,02:00,south arm,2,past midnight
"""

SETS = """\
trip,rod,side,gear,setting,line_out,lead,leader_length,lure,time_in,time_out,ended_by
T1,P1,port,diver,1,80,,6,silver spoon,06:00,08:00,strike
T1,P1,port,diver,2.5,100,,6,silver spoon,08:10,12:00,end
T1,S1,starboard,rigger,,50,10,,blue plug,06:00,12:00,end
T2,P1,port,diver,3,120,,8,silver spoon,20:00,02:00,end
"""

STRIKES = """\
trip,time,rod,species,outcome,length,weight,note
T1,08:00,P1,lake trout,landed,24,5.5,
T1,09:30,S1,brown trout,lost,,,
T2,00:30,P1,,missed,,,
"""

READINGS = """\
trip,time,speed,speed_kind,surface_temp
T1,06:00,2.4,water,60
T1,07:00,2.6,water,60
T1,09:00,2.6,water,62
T2,20:00,2.0,ground,64
"""

CASTS = """\
trip,time,depth,temp
T1,06:10,0,60
T1,06:10,30,56
T1,06:10,60,45
T1,06:10,120,42
"""

SOAKS = """\
gear,setting,line_out,speed,depth,date,note
diver,1,80,2.4,42,2026-06-01,
diver,1,80,2.4,42,2026-06-01,
rigger,,50,2.4,48,,
"""

TABLES = {
    "trips": TRIPS,
    "sets": SETS,
    "strikes": STRIKES,
    "readings": READINGS,
    "casts": CASTS,
    "soaks": SOAKS,
}


def write(folder: Path, *, boat: str = BOAT, **tables: str | bytes | None) -> Path:
    """Write the season; a table given replaces the usual one, None leaves it out."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "boat.toml").write_text(boat, encoding="utf-8")
    for name, text in (TABLES | tables).items():
        file = folder / f"{name}.csv"
        if isinstance(text, bytes):
            file.write_bytes(text)
        elif text is not None:
            file.write_text(text, encoding="utf-8", newline="")
        elif file.is_file():
            file.unlink()
    return folder


def add(table: str, *rows: str) -> str:
    """Return a usual table with rows added."""
    return TABLES[table] + "".join(row + "\n" for row in rows)
