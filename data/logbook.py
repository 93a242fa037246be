"""What a crew writes down: tables of a season as frames in SI, and as files in boat units."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from data.captain import Plan
from data.lake import Lake
from data.scenario import FT, Casts, Species
from data.tackle import GEARS, RODS, TIP_HEIGHT_M

Array = NDArray[np.float64]

LURES = (
    "Green Lantern 4",
    "Pale Herring",
    "Copper Vole",
    "Old Tin",
    "Night Smelt",
    "Ragged Moth",
    "Blue Heel",
    "Glass Minnow 9",
)
OUTCOMES = ("landed", "released", "lost", "missed")


@dataclass(frozen=True, kw_only=True)
class BoatFile:
    """What `boat.toml` says of a boat, its lures, and to what its crew rounds line-outs."""

    name: str = "Dunlin"
    club: str | None = "Ostermere Trolling Club"
    time_zone: str = "Europe/Oslo"
    units: dict[str, str] = field(
        default_factory=lambda: {
            "length": "ft",
            "depth": "ft",
            "speed": "mph",
            "temperature": "F",
            "fish_length": "in",
            "fish_weight": "lb",
        }
    )
    name_boat: bool = False
    lures: tuple[str, ...] = LURES
    areas: tuple[str, ...] = ("North Basin", "The Narrows", "Skerry Deep")
    gears: dict[str, dict[str, Any]] = field(default_factory=lambda: GEARS)

    @property
    def line_step_m(self) -> float:
        """The steps in which line is let out: 5 ft or 2 m."""
        return 5 * FT if self.units["length"] == "ft" else 2.0

    def toml(self) -> str:
        """Return the text of `boat.toml`."""
        head = [f'boat = "{self.name}"']
        if self.club:
            head.append(f'club = "{self.club}"')
        head += [f'time_zone = "{self.time_zone}"', "", "[units]"]
        head += [f'{k} = "{v}"' for k, v in self.units.items()]
        head += ["", "[rods]", f"tip_height_m = {TIP_HEIGHT_M}", "", "[sharing]"]
        head += [f"name_boat = {str(self.name_boat).lower()}"]
        for name, gear in self.gears.items():
            head += ["", f"[gear.{name}]", *(f"{k} = {_toml(v)}" for k, v in gear.items())]
        return "\n".join(head) + "\n"


def _toml(value: Any) -> str:
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, dict):
        inner = (f'{k if k.isidentifier() else _toml(k)} = {_toml(v)}' for k, v in value.items())
        return "{ " + ", ".join(inner) + " }"
    if isinstance(value, list):
        return "[\n" + "".join(f"  {_toml(v)},\n" for v in value) + "]"
    return str(value)


def _time(plan: Plan, trip: NDArray[np.intp], minute: Array) -> pd.Series:
    utc = plan.start[trip] + np.asarray(minute).astype("timedelta64[m]")
    return pd.Series(pd.DatetimeIndex(utc.astype("datetime64[us]")).tz_localize("UTC"))


def trips_frame(
    plan: Plan, names: NDArray[np.str_], boat: BoatFile, rng: np.random.Generator
) -> pd.DataFrame:
    """Return the trips."""
    every = np.arange(len(names))
    return pd.DataFrame(
        {
            "trip": names,
            "date": plan.date.astype("datetime64[us]"),
            "start": _time(plan, every, 0 * plan.minutes),
            "end": _time(plan, every, plan.minutes),
            "area": rng.choice(boat.areas, len(names)),
            "rods": plan.rods,
            "note": "",
        }
    )


def sets_frame(
    plan: Plan, names: NDArray[np.str_], sets: pd.DataFrame, boat: BoatFile
) -> pd.DataFrame:
    """Return the sets; a lead is only a rigger's."""
    rod = sets["rod"].to_numpy()
    trip = sets["trip"].to_numpy()

    def of(key: str) -> NDArray[Any]:
        return np.array([getattr(r, key) for r in RODS])[rod]

    gear = of("gear")
    return pd.DataFrame(
        {
            "trip": names[trip],
            "rod": of("rod"),
            "side": of("side"),
            "gear": gear,
            "setting": of("setting"),
            "line_out_m": sets["line_out_m"],
            "lead_m": np.where(gear == "rigger", sets["lead_m"], np.nan),
            "leader_length_m": sets["leader_length_m"],
            "lure": np.array(boat.lures)[sets["lure"]],
            "time_in": _time(plan, trip, sets["minute_in"].to_numpy()),
            "time_out": _time(plan, trip, sets["minute_out"].to_numpy()),
            "ended_by": sets["ended_by"],
        }
    )


def strikes_frame(
    plan: Plan,
    names: NDArray[np.str_],
    strikes: pd.DataFrame,
    species: tuple[Species, ...],
    rng: np.random.Generator,
) -> pd.DataFrame:
    """Return the strikes; a fish that was not seen has no species and no size."""
    n = len(strikes)
    kind = strikes["kind"].to_numpy().astype(np.intp)
    trip = strikes["trip"].to_numpy().astype(np.intp)
    luck = rng.random(n)
    landed = np.array([s.landed for s in species])[kind]
    outcome = np.where(
        luck < 0.75 * landed,
        "landed",
        np.where(luck < landed, "released", np.where(luck < landed + 0.2, "lost", "missed")),
    )
    boxed = np.isin(outcome, ("landed", "released"))
    seen = boxed | ((outcome == "lost") & (rng.random(n) < 0.4))
    mean = np.array([s.length_cm[0] for s in species])[kind]
    sd = np.array([s.length_cm[1] for s in species])[kind]
    length = np.maximum(rng.normal(mean, sd), 0.5 * mean)
    weight = np.array([s.weight_at_mean_kg for s in species])[kind] * (length / mean) ** 3
    weight = weight * np.exp(rng.normal(0, 0.08, n))
    name = np.array([s.name for s in species], dtype=object)[kind]
    return pd.DataFrame(
        {
            "trip": names[trip],
            "time": _time(plan, trip, strikes["minute"].to_numpy()),
            "rod": np.array([r.rod for r in RODS])[strikes["rod"].to_numpy().astype(np.intp)],
            "species": np.where(seen, name, ""),
            "outcome": outcome,
            "length_m": np.where(boxed & (rng.random(n) < 0.85), length / 100, np.nan),
            "weight_kg": np.where((outcome == "landed") & (rng.random(n) < 0.6), weight, np.nan),
            "note": "",
        }
    )


def readings_frame(
    plan: Plan, names: NDArray[np.str_], lake: Lake, ground: bool, rng: np.random.Generator
) -> pd.DataFrame:
    """Return a reading of speed and surface temperature each ten minutes."""
    count = plan.minutes // 10 + 1
    trip = np.repeat(np.arange(len(names)), count)
    ten = np.arange(len(trip)) - np.repeat(np.cumsum(count) - count, count)
    minute = ten * 10.0
    speed = plan.speed_mps[trip, ten] + (plan.current_mps[trip, ten] if ground else 0.0)
    surface = lake.temp_c(trip, minute, 0 * minute) + rng.normal(0, 0.1, len(trip))
    return pd.DataFrame(
        {
            "trip": names[trip],
            "time": _time(plan, trip, minute),
            "speed_mps": speed,
            "speed_kind": "ground" if ground else "water",
            "surface_temp_c": surface,
        }
    )


def casts_frame(
    plan: Plan, names: NDArray[np.str_], lake: Lake, often: Casts, rng: np.random.Generator
) -> pd.DataFrame | None:
    """Return temperature casts to 36 m with 0.2 C of noise, or None where none was made."""
    n = len(names)
    second = rng.random(n) < 0.5
    day = plan.day_of_year
    if often == "none":
        return None
    if often == "trip":
        first = np.ones(n, bool)
    else:
        # a cast is due when this many days have passed since the last one
        every, last = (3, -99) if often == "week" else (10, -99)
        first, second = np.zeros(n, bool), np.zeros(n, bool)
        for i in range(n):
            if day[i] - last >= every:
                first[i], last = True, int(day[i])
    when = [np.where(first, rng.integers(5, 40, n), -1), np.where(second, plan.minutes // 2, -1)]
    trip = np.concatenate([np.nonzero(w >= 0)[0] for w in when])
    minute = np.concatenate([w[w >= 0] for w in when])
    order = np.lexsort((minute, trip))
    trip, minute = trip[order], minute[order]
    depth = np.arange(0.0, 36.6, 5 * FT)
    at = np.repeat(trip, len(depth))
    depths = np.tile(depth, len(trip))
    temp = lake.temp_c(at, np.repeat(minute, len(depth)).astype(float), depths)
    return pd.DataFrame(
        {
            "trip": names[at],
            "time": _time(plan, at, np.repeat(minute, len(depth))),
            "depth_m": depths,
            "temp_c": temp + rng.normal(0, 0.2, len(at)),
        }
    )


_SCALE = {
    ("length", "ft"): 1 / FT,
    ("depth", "ft"): 1 / FT,
    ("speed", "mph"): 1 / 0.44704,
    ("speed", "kn"): 3600 / 1852,
    ("speed", "km/h"): 3.6,
    ("fish_length", "in"): 1 / 0.0254,
    ("fish_length", "cm"): 100.0,
    ("fish_weight", "lb"): 1 / 0.45359237,
}
# clean column -> (log column, quantity, decimals a crew writes down)
_WRITTEN = {
    "line_out_m": ("line_out", "length", 1),
    "lead_m": ("lead", "length", 1),
    "leader_length_m": ("leader_length", "length", 1),
    "length_m": ("length", "fish_length", 1),
    "weight_kg": ("weight", "fish_weight", 1),
    "speed_mps": ("speed", "speed", 2),
    "surface_temp_c": ("surface_temp", "temperature", 1),
    "temp_c": ("temp", "temperature", 1),
    "depth_m": ("depth", "depth", 1),
}


def as_written(frame: pd.DataFrame, boat: BoatFile) -> pd.DataFrame:
    """Return a clean frame as the text a crew writes: own units, local times, empty cells."""
    out: dict[str, Any] = {}
    for name, column in frame.items():
        if name in _WRITTEN:
            label, quantity, decimals = _WRITTEN[str(name)]
            unit = boat.units[quantity]
            x = column.to_numpy(dtype=float)
            x = x * 1.8 + 32 if unit == "F" else x * _SCALE.get((quantity, unit), 1.0)
            out[label] = _number(x, decimals)
        elif isinstance(column.dtype, pd.DatetimeTZDtype):
            local = column.dt.tz_convert(boat.time_zone).dt.tz_localize(None)
            text = np.datetime_as_string(local.to_numpy().astype("datetime64[m]"))
            out[str(name)] = np.char.replace(text, "T", " ")
        elif name == "date":
            out["date"] = np.datetime_as_string(column.to_numpy().astype("datetime64[D]"))
        elif name == "setting":
            out["setting"] = _number(column.to_numpy(dtype=float), 1)
        else:
            out[str(name)] = column.to_numpy()
    return pd.DataFrame(out)


def _number(x: Array, decimals: int) -> NDArray[np.object_]:
    """Return numbers as text, whole ones without a point, missing ones empty."""
    distinct, back = np.unique(np.round(x, decimals), return_inverse=True)
    text = np.array(["" if v != v else f"{v:.{decimals}f}" for v in distinct], dtype=object)
    text = np.array([t.rstrip("0").rstrip(".") if "." in t else t for t in text], dtype=object)
    return np.asarray(text[back])


def write(folder: Path, boat: BoatFile, frames: dict[str, pd.DataFrame]) -> Path:
    """Write `boat.toml` and one CSV a table into a folder, which is made if need be."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "boat.toml").write_text(boat.toml(), encoding="utf-8", newline="\n")
    for name, frame in frames.items():
        text = as_written(frame, boat)
        text.to_csv(folder / f"{name}.csv", index=False, lineterminator="\n", encoding="utf-8")
    return folder
