"""Owns boat.toml: one file in, one frozen and checked `Boat` out."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

import numpy as np

from analysis.depth.kinds import Gear, gear_from_toml
from analysis.depth.limits import DEFAULT_TIP_HEIGHT_M, TIP_HEIGHT_M, TIP_TO_SIDE_M, Limit
from analysis.depth.lures import Lure, lures_from_toml
from analysis.depth.water import Water, water_from_toml
from analysis.errors import GearError, LogError
from analysis.log.files.content import LARGE_BYTES, content_of
from analysis.log.files.dialect import decode
from analysis.log.files.toml import toml_of
from analysis.log.rods import of_rod, rod_key
from analysis.log.wording.settings import WORDING, Wording, read_wording
from analysis.log.wording.spelling import nearest
from analysis.log.wording.toml_keys import TomlKeys
from analysis.units import QUANTITIES, UNITS, Units

_KEYS = (
    "boat",
    "club",
    "time_zone",
    "units",
    "rods",
    "habits",
    "sharing",
    *WORDING,
    "gear",
    "lures",
    "water",
)
_SHARING = ("name_boat", "name_areas")
"""What a boat may allow a club's report: to name the boat, to name the waters that it fished."""
_HABITS = ("reset_minutes", "minutes_per_rod", "move_minutes")
_HABIT_RANGE_MIN = (0.0, 120.0)
_OF_WATER = ("name", "max_depth_m")
_WATER_DEPTH_M = (1.0, 2000.0)
_FISH_BESIDE = {
    "ft": {"fish_length": "in", "fish_weight": "lb"},
    "m": {"fish_length": "cm", "fish_weight": "kg"},
}
_COUNTER_RANGE = (0.5, 2.0)


@dataclass(frozen=True, kw_only=True)
class Habits:
    """How long a boat takes over what its short log leaves out.

    Parameters
    ----------
    reset_minutes : float
        From a strike until the rod fishes again (default: common practice, no source).
    minutes_per_rod : float
        Between two rods when lines go in and come out (default: common practice, no source).
    move_minutes : float
        That a rod is out of the water when it is changed; none by default, as a change is
        written down.
    """

    reset_minutes: float = 8.0
    minutes_per_rod: float = 3.0
    move_minutes: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Boat:
    """What boat.toml says of one boat.

    Parameters
    ----------
    name : str
        The boat's name.
    club : str or None
        Its club, if it has one.
    time_zone : zoneinfo.ZoneInfo
        Zone of all local times of the log.
    units : analysis.units.Units
        What the tables are written in.
    tip_height_m : float or mapping
        Height of the rod tips above the water in metres, one for all or one per rod.
    tip_to_side_m : float or mapping
        How far the rod tips are from the middle of the boat in metres, one for all or one per rod;
        NaN for where the rods of a gear usually stand.
    counter_scale : mapping
        Rod -> true line over counter reading, where known.
    habits : Habits
        How long it takes to reset a rod and to put lines in.
    name_boat : bool
        May a club report name this boat?
    sharing : mapping
        The whole `[sharing]` table.
    gears : mapping
        Gear name -> gear.
    lures : mapping
        Lures that dive, by `analysis.depth.lures.lure_key` of their names.
    water : analysis.depth.water.Water
        The water fished.
    water_name : str or None
        Its name: logs that name the same water fish the same water.
    water_max_depth_m : float or None
        How deep it is at most.
    wording : analysis.log.wording.settings.Wording
        How the boat's own headings, words and units are read.
    """

    name: str
    club: str | None
    time_zone: ZoneInfo
    units: Units
    tip_height_m: float | Mapping[str, float]
    tip_to_side_m: float | Mapping[str, float]
    counter_scale: Mapping[str, float]
    habits: Habits
    name_boat: bool
    sharing: Mapping[str, Any]
    gears: Mapping[str, Gear]
    lures: Mapping[str, Lure]
    water: Water
    water_name: str | None
    water_max_depth_m: float | None
    wording: Wording

    def tip_height_of(self, rod: str) -> float:
        """Return the height in metres of a rod's tip above the water."""
        if isinstance(self.tip_height_m, Mapping):
            return of_rod(self.tip_height_m, rod, DEFAULT_TIP_HEIGHT_M)
        return self.tip_height_m

    def tip_to_side_of(self, rod: str) -> float:
        """Return how far in metres a rod's tip is from the middle of the boat, NaN if not told."""
        if isinstance(self.tip_to_side_m, Mapping):
            return of_rod(self.tip_to_side_m, rod, np.nan)
        return self.tip_to_side_m

    def counter_scale_of(self, rod: str) -> float:
        """Return true line over counter reading of a rod, 1 where it is not known."""
        return of_rod(self.counter_scale, rod, 1.0)


def _units(reader: TomlKeys, toml: Mapping[str, Any]) -> Units:
    table = reader.table(toml, "units")
    usual = _FISH_BESIDE.get(str(table.get("length")), {})
    table = {**usual, **table}
    for quantity in QUANTITIES:
        remedy = f"under [units] write {quantity} = one of {', '.join(UNITS[quantity])}"
        if quantity not in table:
            msg = "this unit is missing"
            raise reader.fail(msg, f"units.{quantity}", remedy)
        if table[quantity] not in UNITS[quantity]:
            msg = f"this is not a unit of {quantity}"
            raise reader.fail(msg, f"units.{quantity}", remedy, table[quantity])
    return Units(**{quantity: table[quantity] for quantity in QUANTITIES})


def _time_zone(reader: TomlKeys, toml: Mapping[str, Any]) -> ZoneInfo:
    name = reader.text(toml, "time_zone")
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        # letters such as CEST name a clock setting: the zone most like them is another one
        places = [zone for zone in available_timezones() if "/" in zone]
        like = nearest(name, places) if "/" in name else _zone_of_place(name, places)
        remedy = f'did you mean "{like}"?' if like else 'write a zone such as "Europe/Oslo"'
        msg = "this time zone is not known"
        raise reader.fail(msg, "time_zone", remedy, name) from error


def _zone_of_place(name: str, zones: Collection[str]) -> str | None:
    """Return the zone named after a place, such as Europe/Oslo; None where there is not one."""
    found = [zone for zone in zones if zone.rpartition("/")[2].casefold() == name.casefold()]
    return found[0] if len(found) == 1 else None


def _per_rod(
    reader: TomlKeys, rods: Mapping[str, Any], key: str, low: float, high: float
) -> Mapping[str, float]:
    """Read a table of one number a rod; two spellings of one rod are refused."""
    where = f"rods.{key}."
    found = reader.table(rods, key, "rods.")
    seen: dict[str, str] = {}
    for rod, value in found.items():
        other = seen.setdefault(rod_key(rod), rod)
        if other != rod:
            msg = f"this rod stands here twice, the other time as {other}"
            raise reader.fail(msg, where + rod, "keep one of the two", value)
    return MappingProxyType(
        {rod: reader.number(value, where + rod, low, high) for rod, value in found.items()}
    )


def _one_or_per_rod(
    reader: TomlKeys, rods: Mapping[str, Any], key: str, limit: Limit, default: float
) -> float | Mapping[str, float]:
    """Read a number for all rods, or a table of one a rod."""
    if key not in rods:
        return default
    if isinstance(rods[key], dict):
        return _per_rod(reader, rods, key, limit.low, limit.high)
    return reader.number(rods[key], f"rods.{key}", limit.low, limit.high)


def read_boat(file: Path) -> tuple[Boat, bytes]:
    """Read and check a boat.toml.

    Parameters
    ----------
    file : pathlib.Path
        The boat.toml.

    Returns
    -------
    boat : Boat
        The checked boat.
    content : bytes
        The file as read, to be hashed.

    Raises
    ------
    LogError
        Naming file, key and remedy, for an unreadable file, a missing or unknown key, a bad
        unit, time zone, number or gear.
    """
    content = content_of(
        file, "put the boat.toml of the boat into the season folder", most=LARGE_BYTES
    )
    remedy = "text stands in quotation marks, and each key on a line of its own"
    toml = toml_of(decode(content, file), file, remedy)
    reader = TomlKeys(file)
    reader.refuse_unknown(toml, _KEYS, "")
    rods = reader.table(toml, "rods")
    reader.refuse_unknown(rods, ("tip_height_m", "tip_to_side_m", "counter_scale"), "rods.")
    habits = reader.table(toml, "habits")
    reader.refuse_unknown(habits, _HABITS, "habits.")
    sharing = reader.table(toml, "sharing")
    reader.refuse_unknown(sharing, _SHARING, "sharing.")
    for key, value in sharing.items():
        if not isinstance(value, bool):
            msg = "this must be true or false"
            raise reader.fail(msg, f"sharing.{key}", "write true or false", value)
    gears = reader.table(toml, "gear")
    try:
        water_table = dict(reader.table(toml, "water"))
        named = {key: water_table.pop(key) for key in _OF_WATER if key in water_table}
        water = water_from_toml(water_table)
        made = {name: gear_from_toml(name, mapping) for name, mapping in gears.items()}
        lures = lures_from_toml(reader.table(toml, "lures"), water.density_kg_m3)
    except GearError as error:
        raise LogError(error.problem, file=file, key=error.key, remedy=error.remedy) from error
    wording = read_wording(reader, toml, made)
    boat = Boat(
        name=reader.text(toml, "boat"),
        club=reader.text(toml, "club") if "club" in toml else None,
        time_zone=_time_zone(reader, toml),
        units=_units(reader, toml),
        tip_height_m=_one_or_per_rod(
            reader, rods, "tip_height_m", TIP_HEIGHT_M, DEFAULT_TIP_HEIGHT_M
        ),
        tip_to_side_m=_one_or_per_rod(reader, rods, "tip_to_side_m", TIP_TO_SIDE_M, np.nan),
        counter_scale=_per_rod(reader, rods, "counter_scale", *_COUNTER_RANGE),
        habits=Habits(
            **{
                key: reader.number(value, f"habits.{key}", *_HABIT_RANGE_MIN)
                for key, value in habits.items()
            }
        ),
        name_boat=bool(sharing.get("name_boat", False)),
        sharing=MappingProxyType(dict(sharing)),
        gears=MappingProxyType(made),
        lures=lures,
        water=water,
        water_name=reader.text(named, "name") if "name" in named else None,
        water_max_depth_m=(
            reader.number(named["max_depth_m"], "water.max_depth_m", *_WATER_DEPTH_M)
            if "max_depth_m" in named
            else None
        ),
        wording=wording,
    )
    return boat, content
