"""Owns lures that dive: what boat.toml says of them by name, and the lift that follows.

A lipped lure pulls down with q times its lift area and back with q times its drag area. Nobody
knows these, so a lure may be told in three ways: the areas; how deep it runs on a line-out, a
line and a speed, from its maker or a trial, from which the lift is found; or a word.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from analysis.depth.fields import area, check_numbers, known, number, table
from analysis.depth.limits import DEFAULT_TIP_HEIGHT_M, LINE_OUT_M, SPEED_MPS
from analysis.depth.march import Array, Tow
from analysis.depth.own_units import in_si, line_size
from analysis.depth.towline import tow_lines
from analysis.errors import GearError, toml_key

CLASSES: Mapping[str, float] = MappingProxyType(
    {"shallow": 0.0003, "medium": 0.0007, "deep": 0.0015}
)
"""Lift area in m2 of a lure that dives so (from memory)."""
CLASS_DOUBT = 0.5
RUNS_DOUBT = 0.2
AREAS_DOUBT = 0.1
DRAG_SHARE = 1.0
"""Drag area over lift area where no drag is given: a lip is a plate of low aspect at a steep angle,
and the body adds to it (from memory)."""
_LEAST_M2, _MOST_M2 = 1e-6, 0.05
_WAYS = 'write diving = "shallow", "medium" or "deep", or runs = { depth = "12 ft", line_out = '
_WAYS += '"100 ft", line = "10 lb mono", speed = "2 mph" }, or lift_area_m2'


@dataclass(frozen=True, kw_only=True)
class Lure:
    """A lure that dives.

    `doubt` is the standard deviation of the logarithm of its lift, alike for all sets with it.
    """

    name: str
    lift_area_m2: float = area("lift area: its pull down over the water's pressure", 0.0007)
    drag_area_m2: float = area("drag area; that of the lift unless given", 0.0007)
    weight_n: float = number(-5.0, 50.0, "N", "weight in water, negative for one that floats", 0.0)
    doubt: float = number(
        0.0,
        1.5,
        "-",
        f"by what share the lift may be off (sd): {CLASS_DOUBT:g} for a word, {RUNS_DOUBT:g} for "
        f"what it runs, {AREAS_DOUBT:g} for areas unless given",
        AREAS_DOUBT,
    )

    def __post_init__(self) -> None:
        """Check ranges, naming the key."""
        check_numbers(toml_key("lures", self.name), self)

    @property
    def columns(self) -> dict[str, float]:
        """What `Columns` says of a row that fishes it."""
        return {
            "lure_lift_area_m2": self.lift_area_m2,
            "lure_drag_area_m2": self.drag_area_m2,
            "lure_weight_n": self.weight_n,
            "lure_doubt": self.doubt,
        }


@dataclass(frozen=True, kw_only=True)
class _Runs:
    """How deep a lure runs, as its maker or a trial has it."""

    depth_m: float = number(0.0, 100.0, "m", "depth it runs at", zero=False)
    line_out_m: float = number(0.0, LINE_OUT_M.high, "m", "line out then", zero=False)
    line_diameter_mm: float = number(0.0, 20.0, "mm", "diameter of that line", zero=False)
    speed_mps: float = number(0.0, SPEED_MPS.high, "m/s", "speed then", zero=False)
    tip_height_m: float = number(0.0, 10.0, "m", "height of the rod tip", DEFAULT_TIP_HEIGHT_M)


def lure_key(name: str) -> str:
    """Return what two spellings of one lure share: capitals and spaces do not matter.

    >>> lure_key(" Deep  Plug") == lure_key("deep plug")
    True
    """
    return " ".join(name.casefold().split())


def lures_from_toml(mapping: Mapping[str, Any], density_kg_m3: float) -> Mapping[str, Lure]:
    """Make the lures of `[lures]`, by the `lure_key` of their names.

    Parameters
    ----------
    mapping
        Name of a lure to its table.
    density_kg_m3
        Of the water.

    Raises
    ------
    GearError
        For an unknown key, a lure told in no way or in two, or a depth that no lift explains.
    """
    lures: dict[str, Lure] = {}
    for name, given in mapping.items():
        if lure_key(name) in lures:
            raise GearError(
                problem="this lure stands here twice",
                key=toml_key("lures", name),
                remedy="capitals and spaces do not tell lures apart: keep one of the two",
            )
        lures[lure_key(name)] = _lure(name, table(toml_key("lures", name), given), density_kg_m3)
    return MappingProxyType(lures)


def _lure(name: str, given: Mapping[str, Any], density_kg_m3: float) -> Lure:
    where = toml_key("lures", name)
    keys = dict(given)
    word, runs = keys.pop("diving", None), keys.pop("runs", None)
    keys = known(where, keys, Lure, hidden="name")
    told = [word is not None, runs is not None, "lift_area_m2" in keys]
    if sum(told) != 1:
        problem = "this lure is told in two ways" if any(told) else "how it dives is not told"
        raise GearError(problem=problem, key=where, remedy=_WAYS)
    if word is not None:
        if word not in CLASSES:
            problem = f"{word!r} is no way to dive"
            raise GearError(problem=problem, key=f"{where}.diving", remedy=_WAYS)
        keys = {"lift_area_m2": CLASSES[word], "doubt": CLASS_DOUBT, **keys}
    if runs is not None:
        lift = _lift_of(f"{where}.runs", runs, keys, density_kg_m3)
        keys = {"lift_area_m2": lift, "doubt": RUNS_DOUBT, **keys}
    keys.setdefault("drag_area_m2", DRAG_SHARE * keys["lift_area_m2"])
    return Lure(**{**keys, "name": name})


def _lift_of(where: str, value: object, keys: Mapping[str, Any], density_kg_m3: float) -> float:
    """Return the lift area with which a lure runs as deep as told."""
    given = dict(table(where, value))
    if "line" in given:
        given["line_diameter_mm"] = line_size(f"{where}.line", given.pop("line")).diameter_mm
    allowed = list(_Runs.__dataclass_fields__)
    given = in_si(where, given, allowed)
    missing = [name for name in allowed[:4] if name not in given]
    if missing:
        raise GearError(
            problem=f"{missing[0]} is missing",
            key=where,
            remedy="a depth says nothing without its line-out, line and speed: " + _WAYS,
        )
    run = _Runs(**known(where, given, _Runs))
    check_numbers(where, run)
    weight = float(keys.get("weight_n", 0.0))

    from scipy.optimize import brentq  # here: heavy, and few logs name such a lure

    def missed(log_lift: float) -> float:
        lift = np.exp(log_lift)
        drag = float(keys.get("drag_area_m2", DRAG_SHARE * lift))
        return float(np.nan_to_num(_depth_of(run, lift, drag, weight, density_kg_m3))) - run.depth_m

    low, high = np.log(_LEAST_M2), np.log(_MOST_M2)
    if missed(low) >= 0.0 or missed(high) <= 0.0:
        raise GearError(
            problem=f"no lift takes a lure to {run.depth_m:.1f} m on {run.line_out_m:.0f} m of "
            f"{run.line_diameter_mm:g} mm line",
            key=f"{where}.depth",
            remedy="check depth, line-out, line and speed, and their units",
        )
    return float(np.exp(brentq(missed, low, high, xtol=1e-9)))


def _depth_of(run: _Runs, lift: float, drag: float, weight: float, density_kg_m3: float) -> float:
    """Return how deep a lure runs on plain line."""
    q = 0.5 * density_kg_m3 * run.speed_mps**2
    line_m = run.line_diameter_mm / 1000.0
    tow = Tow(
        end_n=np.array([[q * drag], [0.0], [q * lift + weight]]),
        normal_n_per_m=np.array([[q * line_m * 1.2]]),
        tangential_n_per_m=np.array([[q * np.pi * line_m * 0.015]]),
        weight_n_per_m=np.zeros((1, 1)),
        top_m=np.full((1, 1), np.inf),
        lump_n=np.zeros((3, 1, 1)),
        line_out_m=np.array([run.line_out_m]),
        height_m=np.array([run.tip_height_m]),
        from_m=np.zeros(1),
        trail_m=np.zeros((3, 1)),
    )
    return float(tow_lines(tow).depth_m[0])


def lure_columns(names: Sequence[object], lures: Mapping[str, Lure]) -> dict[str, Array]:
    """Return the columns `lure_...` of rows that fish lures of these names; NaN for others."""
    blank = dict.fromkeys(("lure_lift_area_m2", "lure_drag_area_m2"), np.nan)
    blank |= dict.fromkeys(("lure_weight_n", "lure_doubt"), np.nan)
    each = {name: lures.get(lure_key(str(name))) for name in set(names)} if lures else {}
    rows = {name: lure.columns if lure else blank for name, lure in each.items()}
    return {
        column: np.array([rows[name][column] for name in names], dtype=float)
        if lures
        else np.full(len(names), np.nan)
        for column in blank
    }
