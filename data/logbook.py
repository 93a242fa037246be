"""What a crew writes down: tables of a season as frames in SI, and as files in boat units."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import expit, logit

from analysis.units import from_si
from data.boat import Boat
from data.lake import Lake
from data.plan import Plan
from data.scenario import FT, Casts, Scenario

Array = NDArray[np.float64]


def trips_frame(
    plan: Plan, names: NDArray[np.str_], boat: Boat, rng: np.random.Generator
) -> pd.DataFrame:
    """Return the trips."""
    every = np.arange(len(names))
    return pd.DataFrame(
        {
            "trip": names,
            "date": plan.date.astype("datetime64[us]"),
            "start": plan.time(every, 0 * every),
            "end": plan.time(every, plan.minutes),
            "area": rng.choice(boat.areas, len(names)),
            "rods": plan.rods,
            "note": "",
        }
    )


def sets_frame(plan: Plan, names: NDArray[np.str_], sets: pd.DataFrame, boat: Boat) -> pd.DataFrame:
    """Return the sets; a lead is only a rigger's."""
    rod = sets["rod"].to_numpy()
    trip = sets["trip"].to_numpy()

    def of(key: str) -> NDArray[Any]:
        return np.array([getattr(r, key) for r in boat.tackle.rods])[rod]

    kinds = np.array([boat.tackle.kind(r) for r in boat.tackle.rods])[rod]
    return pd.DataFrame(
        {
            "trip": names[trip],
            "rod": of("rod"),
            "side": of("side"),
            "gear": of("gear"),
            "setting": of("setting"),
            "line_out_m": sets["line_out_m"],
            "lead_m": np.where(kinds == "rigger", sets["lead_m"], np.nan),
            "leader_length_m": sets["leader_length_m"],
            "lure": np.array(boat.lures)[sets["lure"]],
            "time_in": plan.time(trip, sets["minute_in"].to_numpy()),
            "time_out": plan.time(trip, sets["minute_out"].to_numpy()),
            "ended_by": sets["ended_by"],
        }
    )


def strikes_frame(
    plan: Plan,
    names: NDArray[np.str_],
    strikes: pd.DataFrame,
    boat: Boat,
    scenario: Scenario,
    rng: np.random.Generator,
) -> pd.DataFrame:
    """Return the strikes; a fish that was not seen has no species and no size."""
    n = len(strikes)
    species = scenario.species
    kind = strikes["kind"].to_numpy().astype(np.intp)
    trip = strikes["trip"].to_numpy().astype(np.intp)
    luck = rng.random(n)
    landed = np.array([s.landed for s in species])[kind]
    longer = np.log(strikes["leader_length_m"].to_numpy(dtype=float) / (8 * FT))
    landed = expit(logit(landed) + scenario.landing_leader * longer)
    outcome = np.where(
        luck < 0.75 * landed,
        "landed",
        np.where(
            luck < landed,
            "released",
            np.where(luck < landed + 0.6 * (1 - landed), "lost", "missed"),
        ),
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
            "time": plan.time(trip, strikes["minute"].to_numpy()),
            "rod": np.array([r.rod for r in boat.tackle.rods])[
                strikes["rod"].to_numpy().astype(np.intp)
            ],
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
            "time": plan.time(trip, minute),
            "speed_mps": speed,
            "speed_kind": "ground" if ground else "water",
            "surface_temp_c": surface,
        }
    )


def casts_frame(
    plan: Plan,
    names: NDArray[np.str_],
    lake: Lake,
    boat: Boat,
    often: Casts,
    rng: np.random.Generator,
) -> pd.DataFrame:
    """Return temperature casts with 0.2 C of noise: one or two a trip, or every few days."""
    n = len(names)
    first, second = np.ones(n, bool), rng.random(n) < 0.5
    if often != "trip":
        every, last = {"week": 3, "sparse": 10}[often], -99
        first, second = np.zeros(n, bool), np.zeros(n, bool)
        for i, day in enumerate(plan.day_of_year):
            if day - last >= every:
                first[i], last = True, day
    early = rng.integers(5, 40, n)
    trip = np.concatenate([np.flatnonzero(first), np.flatnonzero(second)])
    minute = np.concatenate([early[first], plan.minutes[second] // 2])
    order = np.lexsort((minute, trip))
    depth = boat.cast_depths_m
    trip, minute = np.repeat(trip[order], len(depth)), np.repeat(minute[order], len(depth))
    depths = np.tile(depth, len(order))
    temp = lake.temp_c(trip, minute.astype(float), depths)
    return pd.DataFrame(
        {
            "trip": names[trip],
            "time": plan.time(trip, minute),
            "depth_m": depths,
            "temp_c": temp + rng.normal(0, 0.2, len(trip)),
        }
    )


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
    "depth_temp_c": ("depth_temp", "temperature", 1),
    "probe_depth_m": ("probe_depth", "depth", 1),
}


def as_written(frame: pd.DataFrame, boat: Boat) -> pd.DataFrame:
    """Return a clean frame as the text a crew writes: own units, local times, empty cells."""
    out: dict[str, Any] = {}
    for name, column in frame.items():
        if name in _WRITTEN:
            label, quantity, decimals = _WRITTEN[str(name)]
            x = from_si(column.to_numpy(dtype=float), quantity, boat.units[quantity])
            if name == "line_out_m" and "rod" in frame:
                x = x / frame["rod"].map(lambda rod: boat.counter_scale.get(rod, 1.0)).to_numpy()
            out[label] = number_text(x, decimals)
        elif isinstance(column.dtype, pd.DatetimeTZDtype):
            local = column.dt.tz_convert(boat.time_zone).dt.tz_localize(None)
            text = np.datetime_as_string(local.to_numpy().astype("datetime64[m]"))
            out[str(name)] = np.char.replace(text, "T", " ").astype(object)
        elif name == "date":
            out["date"] = np.datetime_as_string(column.to_numpy().astype("datetime64[D]"))
        elif name == "setting":
            out["setting"] = number_text(column.to_numpy(dtype=float), 1)
        else:
            out[str(name)] = column.to_numpy()
    return pd.DataFrame(out, dtype=object).astype(str)


def number_text(x: Array, decimals: int) -> NDArray[np.object_]:
    """Return numbers as text, whole ones without a point, missing ones empty."""
    distinct, back = np.unique(np.round(x, decimals), return_inverse=True)
    text = np.array(["" if v != v else f"{v:.{decimals}f}" for v in distinct], dtype=object)
    text = np.array([t.rstrip("0").rstrip(".") if "." in t else t for t in text], dtype=object)
    return np.asarray(text[back])


def write(folder: Path, boat: Boat, frames: dict[str, pd.DataFrame]) -> Path:
    """Write `boat.toml` and one CSV a table into a folder, which is made if need be."""
    return write_text(folder, boat, {k: as_written(v, boat) for k, v in frames.items()})


def write_text(folder: Path, boat: Boat, tables: dict[str, pd.DataFrame]) -> Path:
    """Write tables that are text already, under the boat's own headings."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "boat.toml").write_text(boat.toml(), encoding="utf-8", newline="\n")
    for name, table in tables.items():
        own = {ours: theirs for theirs, ours in boat.headings.get(name, {}).items()}
        text = table.rename(columns=own).to_csv(index=False, lineterminator="\n")
        (folder / f"{name}.csv").write_text(text, encoding="utf-8", newline="\n")
    return folder
