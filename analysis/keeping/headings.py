"""Owns what each heading of the tables means, in the words of a note on it, and one example row."""

from collections.abc import Iterator

from analysis.keeping.plan import Plan
from analysis.log.files.tables import EXAMPLE
from analysis.log.schema import ENDINGS, OUTCOMES, SIDES, SPEED_KINDS, TABLES, WHATS, Field

ORDER = (
    *("trips", "spreads", "changes", "strikes", "readings", "casts", "soaks", "loggers"),
    "sets",
)
"""The tables as a captain meets them: the short form first, sets in full last."""

CHOICES = {
    "side": SIDES,
    "what": WHATS,
    "ended_by": ENDINGS,
    "outcome": OUTCOMES,
    "speed_kind": SPEED_KINDS,
}

_NOTES = {
    "trip": "a name of your own for the trip, such as T1; used once in the season",
    "date": "the day the trip began",
    "start": "lines first in",
    "end": "lines last out; after midnight is understood",
    "area": "name of the water fished; never a position",
    "rods": "number of rods usually down; used only where nothing says which",
    "spread": "name of the spread that went in at the start",
    "rod": "label of the rod, the same all season",
    "side": "port, starboard or centre",
    "gear": "as in boat.toml",
    "setting": "dial setting of a diver; empty for other gear",
    "line_out": "line from the rod tip; for a rigger, cable from the pulley",
    "lead": "rigger only: line from the ball to the lure",
    "leader_length": "leader from the diver or swivel to the lure",
    "lure": "as you call it, the same all season",
    "what": "in, out, or empty: it fishes on as changed",
    "ended_by": "how the rod's last stretch ended",
    "note": "anything",
    "species": "empty for a fish not seen",
    "outcome": "landed, released, lost (hooked, then off), missed (no hook-up)",
    "length": "of the fish",
    "weight": "of the fish",
    "time_in": "when it began fishing",
    "time_out": "when it ended fishing",
    "speed": "of the boat",
    "speed_kind": "water (a paddle wheel) or ground (satellites)",
    "surface_temp": "of the water at the surface",
    "depth_temp": "of the water at a probe",
    "probe_depth": "of that probe",
    "heading": "of the boat by its compass, in degrees, once a minute or oftener; tells turns",
    "depth": "below the surface",
    "temp": "of the water at that depth",
    "file": "its name in the folder loggers",
    "offset": "how much deeper the lure ran than the logger; may be empty",
}
_OF_TABLE = {
    ("changes", "time"): "when it was changed; empty for the trip's start",
    ("changes", "rod"): "one rod, several (P1 P2), or all",
    ("changes", "line_out"): "only where it changed, as the other columns; empty keeps it",
    ("strikes", "time"): "when it struck",
    ("strikes", "gear"): "only where no other table says what the rod fished",
    ("readings", "time"): "when the instruments showed this",
    ("casts", "time"): "when the thermometer went down; one row a depth",
    ("loggers", "rod"): "the rod on whose line it hung",
    ("loggers", "time_in"): "when it went in; empty for the trip's start",
    ("loggers", "time_out"): "when it came out; empty for the trip's end",
    ("soaks", "depth"): "what the depth logger showed, at the lure if that dives",
    ("soaks", "lure"): "only one that dives, as under [lures] in boat.toml",
    ("spreads", "spread"): "a name of your own; one row a rod, in the order they go in",
}

_EXAMPLES = {
    "trips": {"date": "2026-07-04", "start": "05:30", "end": "11:15", "area": "north arm"}
    | {"rods": "6", "spread": "usual", "note": "flat calm"},
    "spreads": {"rod": "P1", "side": "port", "gear": "diver", "setting": "2", "line_out": "90"}
    | {"leader_length": "6", "lure": "silver spoon"},
    "changes": {"time": "07:40", "rod": "P1 S1", "line_out": "110", "ended_by": "moved"},
    "strikes": {"time": "06:50", "rod": "P1", "species": "lake trout", "outcome": "landed"}
    | {"length": "24"},
    "sets": {"rod": "P1", "side": "port", "gear": "diver", "setting": "2", "line_out": "90"}
    | {"time_in": "05:30", "time_out": "06:50", "ended_by": "strike"},
    "readings": {"time": "06:00", "speed": "2.4", "speed_kind": "water", "surface_temp": "58"},
    "casts": {"time": "06:10", "depth": "30", "temp": "52"},
    "soaks": {"setting": "2", "line_out": "90", "speed": "2.4", "depth": "42"},
    "loggers": {"trip": "T1", "rod": "P1", "time_in": "05:30", "time_out": "11:15"},
}


def note_of(table: str, field: Field, plan: Plan) -> str:
    """Return what a heading means, with its unit and whether it must be filled in."""
    text = _OF_TABLE.get((table, field.name)) or _NOTES[field.name]
    unit = plan.units.of(field.quantity) if field.quantity else ""
    if field.name in ("date", "start", "end", "time", "time_in", "time_out"):
        unit = "2026-07-04" if field.kind == "date" else "05:30"
    needed = " Needed." if field.value_needed else ""
    return f"{text[0].upper()}{text[1:]}{f' ({unit})' if unit else ''}.{needed}"


def example_of(table: str) -> list[str]:
    """Return a table's example row, marked in its first column."""
    cells = [_EXAMPLES[table].get(field.name, "") for field in TABLES[table]]
    return [EXAMPLE.upper(), *cells[1:]]


def first_rows(table: str, plan: Plan) -> Iterator[list[str]]:
    """Yield the rows that the plan already knows: those of the usual spread."""
    if table != "spreads":
        return
    for rod in plan.rods:
        known = {"spread": "usual", "rod": rod.rod, "side": rod.side, "gear": rod.gear}
        known |= {"setting": rod.setting, "line_out": rod.line_out}
        yield [known.get(field.name, "") for field in TABLES[table]]
