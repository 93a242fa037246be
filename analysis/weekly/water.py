"""How a week was fished and how warm its water was, against the season's curves."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.rates.effects import weighted_quantile
from analysis.rates.standardised import BoatHours
from analysis.weekly.disclosure import parts_of, stands
from analysis.weekly.figures import Condition, Water

Array = NDArray[np.float64]

GOOD = 0.9
"""Water, speed or leader counts as the best where its rate is at least this share of the top."""
CONDITIONS = ("speed_mps", "lure_temp_c", "leader_length_m")
"""Terms of the season's model that a week is told by."""


def conditions_of(effects: pd.DataFrame, slices: pd.DataFrame, least: int) -> tuple[Condition, ...]:
    """Return how a week was fished, in the respects that enough boats logged.

    Parameters
    ----------
    effects : DataFrame
        ``effects.csv`` of the season.
    slices : DataFrame
        The week's rows of the exposure, with ``boat``.
    least : int
        Boats that must stand behind the rod-hours for which it is logged.
    """
    found = []
    for term in CONDITIONS:
        rows = slices[slices[term].notna()]
        if rows.empty or not stands(parts_of(rows, "hours"), least):
            continue
        values, hours = rows[term].to_numpy(dtype=float), rows["hours"].to_numpy(dtype=float)
        low, middle, high = (weighted_quantile(values, hours, q) for q in (0.25, 0.5, 0.75))
        curve = effects[effects["term"] == term].sort_values("at")
        at, ratio = curve["at"].to_numpy(dtype=float), curve["ratio"].to_numpy(dtype=float)
        best = at[ratio >= GOOD * ratio.max()] if len(at) else np.array([np.nan])
        found.append(
            Condition(
                term=term,
                low=low,
                middle=middle,
                high=high,
                best_low=float(best.min()),
                best_high=float(best.max()),
                from_end=bool(len(at)) and bool(best.min() == at[0]),
                to_end=bool(len(at)) and bool(best.max() == at[-1]),
                matters=_matters(curve),
            )
        )
    return tuple(found)


def profile_of(hours: BoatHours, here: NDArray[np.bool_]) -> pd.DataFrame:
    """Return the mean temperature at each depth over some boat hours.

    Parameters
    ----------
    hours : BoatHours
    here : (hours,) bool array

    Returns
    -------
    DataFrame
        ``depth_m, temp_c``, for depths at which it is known for half of the hours for which any
        depth's is: where fewer know it, the mean would jump with who they are.
    """
    temp = hours.temp_c[here].reshape(int(here.sum()), hours.depth_m.size)
    known = np.isfinite(temp)
    weight = hours.weight[here, None] * known
    total = weight.sum(axis=0)
    told = (total > 0) & (total >= 0.5 * total.max(initial=0.0))
    mean = (weight * np.nan_to_num(temp)).sum(axis=0)[told] / total[told]
    return pd.DataFrame({"depth_m": hours.depth_m.ravel()[told], "temp_c": mean})


def water_of(profile: pd.DataFrame, thermocline_m: float, effects: pd.DataFrame) -> Water | None:
    """Return the water of a week; None where no cast tells it.

    Parameters
    ----------
    profile : DataFrame
        From `profile_of`.
    thermocline_m : float
        NaN where there is none.
    effects : DataFrame
        ``effects.csv`` of the season.
    """
    if profile.empty:
        return None
    rows = profile.sort_values("depth_m")
    depth, temp = rows["depth_m"].to_numpy(dtype=float), rows["temp_c"].to_numpy(dtype=float)
    warm, place = (np.nan, np.nan), (np.nan, np.nan)
    curve = effects[effects["term"] == "lure_temp_c"]
    if _matters(curve):
        good = curve.loc[curve["ratio"] >= GOOD * curve["ratio"].max(), "at"]
        warm = (float(good.min()), float(good.max()))
        fine = np.arange(depth[0], depth[-1] + 1e-9, 0.1)
        warmth = np.interp(fine, depth, temp)
        inside = fine[(warmth >= warm[0]) & (warmth <= warm[1])]
        if len(inside):
            place = (float(inside.min()), float(inside.max()))
    return Water(
        depth_m=tuple(map(float, depth)),
        temp_c=tuple(map(float, temp)),
        thermocline_m=thermocline_m,
        best_low_c=warm[0],
        best_high_c=warm[1],
        best_low_m=place[0],
        best_high_m=place[1],
    )


def _matters(curve: pd.DataFrame) -> bool:
    """Tell whether a curve's interval leaves out 'no difference' anywhere."""
    return bool(((curve["high"] < 1.0) | (curve["low"] > 1.0)).any())
