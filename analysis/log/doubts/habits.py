"""Owns values that a boat otherwise never has: slipped digits, and numbers in another unit.

A value is held against the boat's own others of its kind, by median and median absolute deviation
(MAD) of the logarithm, which a tenth or a quarter of wrong rows cannot move far. The modified
z-score is 0.6745 |x - median| / MAD (Iglewicz and Hoaglin 1993, *How to Detect and Handle
Outliers*, who cut at 3.5; from memory). The cuts here are ours and wider, for a captain explores.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis.log.boat import Boat
from analysis.log.doubts.record import Doubts
from analysis.log.read import SeasonLog
from analysis.units import UNITS, from_si, to_si

Values = npt.NDArray[np.float64]

CUT = 5.0
"""Modified z-score beyond which a value is doubted."""
LEAST_FACTOR = 3.0
"""A value nearer to the usual than by this factor is never doubted."""
FEWEST = 20
"""Values without which there is no habit."""
_MOST_ALIKE = 3
"""Values within a fifth of a doubted one, itself among them, that are no habit yet."""
_NEAR = 1.5
"""Modified z-score within which a value read in the other unit fits the habit."""
_TRIP_CUT, _TRIP_FACTOR, _TRIP_NEAR, _TRIPS_AROUND = 4.0, 2.0, 2.0, 7
FULTON_K = (0.2, 5.0)
"""Condition factor 100 W/L^3 (g, cm) of fishes of ordinary shape; trout and salmon lie near 1
(Ricker 1975, *Computation and Interpretation of Biological Statistics of Fish Populations*,
chapter 9, for the factor; the limits are ours and wide)."""
_SURFACE_OFF_C = 6.0
"""A surface reading that leaves its trip's median by more is doubted (ours: no source)."""


@dataclass(frozen=True, kw_only=True)
class _Kind:
    """A number that the boat has a habit of."""

    column: str
    clean: str
    quantity: str
    what: str


_OF_SETS = (
    _Kind(column="line_out", clean="line_out_m", quantity="length", what="line-out of this gear"),
    _Kind(column="lead", clean="lead_m", quantity="length", what="lead of this gear"),
    _Kind(
        column="leader_length",
        clean="leader_length_m",
        quantity="length",
        what="leader of this gear",
    ),
)
_SPEED = _Kind(column="speed", clean="speed_mps", quantity="speed", what="speed of this boat")


def out_of_habit(log: SeasonLog, doubts: Doubts) -> None:
    """Doubt line-outs, leads, leaders, speeds, surface temperatures and fish out of all habit."""
    rows = log.stretches.drop_duplicates(["table", "line", "rod"]).reset_index(drop=True)
    scale = np.array([log.boat.counter_scale_of(rod) for rod in rows["rod"]], dtype=float)
    rows = rows.assign(line_out_m=rows["line_out_m"] / scale)
    for kind in _OF_SETS:
        _doubt_values(rows, kind, rows["gear"], log.boat, doubts)
    _doubt_trips(rows, log, doubts)
    if log.readings is not None:
        typed = log.readings.loc[log.readings["line"] > 0]  # a track's have no line
        moving = typed.loc[typed["speed_mps"] > 0].assign(table="readings")
        _doubt_values(moving, _SPEED, pd.Series("", index=moving.index), log.boat, doubts)
        _doubt_surface(typed, log.boat, doubts)
    _doubt_fish(log.strikes, log.boat, doubts)


def _score(logs: Values, median: Values, mad: Values) -> Values:
    """Return the modified z-score; 0 for the median itself, also where all others equal it."""
    away = np.abs(logs - median)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(away == 0, 0.0, 0.6745 * away / mad)


def _habit(logs: "pd.Series[float]", by: "pd.Series[str]") -> tuple[Values, Values, Values]:
    """Return count, median and MAD of each row's group."""
    known = logs.groupby(by)
    median = known.transform("median")
    mad = (logs - median).abs().groupby(by).transform("median")
    return tuple(part.to_numpy(dtype=float) for part in (known.transform("count"), median, mad))  # type: ignore[return-value]


def _doubt_values(
    rows: pd.DataFrame, kind: _Kind, by: "pd.Series[str]", boat: Boat, doubts: Doubts
) -> None:
    """Doubt single values that lie beyond the habit of their group."""
    written = rows[kind.clean].where(rows[kind.clean] > 0)
    logs = pd.Series(np.log(written.to_numpy(dtype=float)), index=rows.index)
    count, median, mad = _habit(logs, by)
    x = logs.to_numpy(dtype=float)
    far = np.abs(x - median) > np.log(LEAST_FACTOR)
    bad = far & (count >= FEWEST) & (_score(x, median, mad) > CUT)
    bad[bad] = [_lonely(x[i], x[(by == by.iloc[i]).to_numpy()]) for i in np.flatnonzero(bad)]
    unit = boat.units.of(kind.quantity)
    for i in np.flatnonzero(bad).tolist():
        row = rows.iloc[i]
        usual, value = (_in_unit(v, kind.quantity, unit) for v in (np.exp(median[i]), np.exp(x[i])))
        other, becomes = _other_unit(np.exp(x[i]), kind.quantity, unit, median[i], mad[i])
        reason = f"the {kind.what} is mostly near {usual:.3g} {unit}"
        remedy = "check the number, and whether a digit slipped"
        if other:
            reason += f", and it would fit in {other}"
            remedy = f"check the number: if it was meant in {other}, write it in {unit}"
        place = (row["table"], row["line"], kind.column, f"{value:.4g}")
        doubts.add(*place, reason, remedy, becomes, rod=row.get("rod", ""))


def _lonely(one: float, all_of_group: Values) -> bool:
    """Tell whether hardly another value lies near: what recurs is a habit too."""
    near = int((np.abs(all_of_group - one) < np.log(1.2)).sum())
    return near <= max(_MOST_ALIKE, len(all_of_group) // 200)


def _in_unit(value: Any, quantity: str, unit: str) -> float:
    return float(from_si(np.asarray([value], dtype=float), quantity, unit)[0])


def _other_unit(
    value_si: float, quantity: str, unit: str, median: float, mad: float
) -> tuple[str, str]:
    """Return the unit in which a value as written fits the habit, and what it is in the boat's."""
    number = _in_unit(value_si, quantity, unit)
    near = max(_NEAR * mad / 0.6745, np.log(1.25))
    fitting = []
    for other in UNITS[quantity]:
        meant = float(to_si(np.asarray([number]), quantity, other)[0])
        if other != unit and abs(np.log(meant) - median) <= near:
            fitting.append((other, f"{_in_unit(meant, quantity, unit):.4g}"))
    return fitting[0] if len(fitting) == 1 else ("", "")


def _doubt_trips(rows: pd.DataFrame, log: SeasonLog, doubts: Doubts) -> None:
    """Doubt whole trips whose line-outs fit those of the trips around only in the other unit."""
    unit = log.boat.units.of("length")
    (other,) = (name for name in UNITS["length"] if name != unit)
    logs = pd.Series(np.log(rows["line_out_m"].to_numpy(dtype=float)), index=rows.index)
    against = logs - logs.groupby(rows["gear"]).transform("median")
    of_sets = rows["table"].isin(("sets", "changes")).to_numpy()
    grouped = against[of_sets].groupby(rows["trip"][of_sets])
    enough = grouped.median()[grouped.size() >= 3]
    order = [trip for trip in log.trips.sort_values("start")["trip"] if trip in enough.index]
    of_trip: pd.Series[float] = enough.loc[order]
    if len(of_trip) < 2 * _TRIPS_AROUND:
        return
    around = of_trip.rolling(_TRIPS_AROUND, center=True, min_periods=_TRIPS_AROUND // 2).median()
    away = of_trip - around
    mad = max(float(np.nanmedian(away.abs())), 0.02)
    factor = np.log(
        float(to_si(np.ones(1), "length", other)[0] / to_si(np.ones(1), "length", unit)[0])
    )
    far = away.abs() > max(_TRIP_CUT * mad / 0.6745, np.log(_TRIP_FACTOR))
    fits = (away + factor).abs() <= max(_TRIP_NEAR * mad / 0.6745, np.log(1.25))
    for trip in away.index[far & fits]:
        for row in rows.loc[of_sets & (rows["trip"] == trip)].itertuples():
            number = _in_unit(row.line_out_m, "length", unit)
            meant = float(to_si(np.asarray([number]), "length", other)[0])
            doubts.add(
                str(row.table),
                int(row.line),
                "line_out",
                f"{number:.4g}",
                f"all line-outs of this trip fit those of the trips around it only in {other}",
                f"check how this trip was written; if in {other}, write it in {unit}",
                f"{_in_unit(meant, 'length', unit):.4g}",
                rod=str(row.rod),
            )


def _doubt_surface(readings: pd.DataFrame, boat: Boat, doubts: Doubts) -> None:
    """Doubt surface temperatures that leave those of their trip."""
    shown = readings.dropna(subset=["surface_temp_c"])
    of_trip = shown.groupby("trip")["surface_temp_c"]
    away = (shown["surface_temp_c"] - of_trip.transform("median")).abs()
    unit = boat.units.of("temperature")
    for row in shown.loc[(away > _SURFACE_OFF_C) & (of_trip.transform("size") >= 5)].itertuples():
        value = _in_unit(row.surface_temp_c, "temperature", unit)
        reason = f"the surface was mostly more than {_SURFACE_OFF_C:g} °C off this on that trip"
        remedy = "check the number, and whether a digit slipped"
        doubts.add("readings", int(row.line), "surface_temp", f"{value:.4g}", reason, remedy)  # type: ignore[arg-type]


def _doubt_fish(strikes: pd.DataFrame, boat: Boat, doubts: Doubts) -> None:
    """Doubt fish whose weight and length no fish has together."""
    length, weight = strikes["length_m"], strikes["weight_kg"]
    condition = 100 * (weight * 1000) / (length * 100) ** 3
    for i in np.flatnonzero(((condition < FULTON_K[0]) | (condition > FULTON_K[1])).to_numpy()):
        row = strikes.iloc[i]
        unit = boat.units.of("fish_weight")
        heavy = condition.iloc[i] > FULTON_K[1]
        doubts.add(
            "strikes",
            row["line"],
            "weight",
            f"{_in_unit(row['weight_kg'], 'fish_weight', unit):.4g}",
            f"far too {'heavy' if heavy else 'light'} for a fish of its length",
            "check weight and length, and the unit of each",
        )
