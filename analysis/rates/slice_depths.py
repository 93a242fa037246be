"""How deep the lure of every slice ran, by what was towed, with its errors."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.at_once import at_once
from analysis.depth.calibrate import Calibration
from analysis.depth.columns import Columns
from analysis.depth.limits import USUAL_SPEED_MPS
from analysis.depth.lures import lure_columns
from analysis.effort import Effort
from analysis.log import SeasonLog
from analysis.log.boat import Boat
from analysis.log.files.words import in_order, plain, spelt
from analysis.log.rods import side_of_label
from analysis.rates.exposure import Array, Index, SharedErrors
from analysis.stats.cells import Cells, collapse

KEPT_VARIANCE = 0.995
"""Share of the shared depth variance that the errors carried to the models explain."""

_TOWED_BY = ["rod", "side", "gear", "setting", "line_out_m", "lead_m", "leader_length_m", "lure"]
_TOWED_BY += ["speed_mps", "speed_kind", "turn_rad_s"]
"""Columns of the slices that a line's depth hangs on."""
_TOWARD = {"starboard": 1.0, "port": -1.0, "centre": 1.0}
"""By the side of a rod, the sign of a turn toward it; from the middle both are alike."""


@dataclass(frozen=True, kw_only=True)
class SliceDepths:
    """How deep lures ran, and what is uncertain of it.

    Attributes
    ----------
    columns : dict of str to Series
        For the table of an exposure; see `analysis.rates.build_exposure.join`.
    loadings : (slices, errors) array
        Slope of log depth to errors that sets share.
    bends : (slices, own errors) array
        Its second difference to each of the gears' own errors.
    own_sd : (slices,) array
        Standard deviation of log depth that a set has of its own.
    shared : dict of (int, str) to SharedErrors
        Of each gear that was fished; the first number is that of the log, 0.
    """

    columns: dict[str, pd.Series]
    loadings: Array
    bends: Array
    own_sd: Array
    shared: dict[tuple[int, str], SharedErrors]


def slice_depths(
    log: SeasonLog, effort: Effort, calibrations: Mapping[str, Calibration]
) -> SliceDepths:
    """Work out the depth of every slice: once for each gear and distinct row, with its errors."""
    slices = effort.slices
    alike = _towed_alike(slices)
    hours, rows = alike.sum(slices["hours"].to_numpy()), len(alike.row)
    names = ("depth_m", "depth_sd_m", "lateral_m", "setback_m", "line_pull_n")
    columns = {name: np.full(rows, np.nan) for name in names}
    reasons, note = [""], np.zeros(rows, dtype=np.intp)
    own = np.zeros(rows)
    loadings: list[Array] = []
    bends: list[Array] = []
    modes: dict[tuple[int, str], SharedErrors] = {}
    for name, here, wanted, ground in _towed(log.boat, slices, alike):
        belief = calibrations[name].belief
        first, place = wanted.distinct(ground.astype(float))
        distinct, over_ground = wanted.take(first), ground[first]
        found, follows = belief.predict_with_loadings(distinct, over_ground)
        for column in names:
            columns[column][here] = getattr(found, column)[place]
        reason, words = pd.factorize(found.reason)
        note[here] = (len(reasons) + reason)[place]
        reasons.extend(words)
        own[here] = np.nan_to_num(follows.own_sd[place])
        every = np.nan_to_num(follows.shared[place])
        turn = _main_modes(every, hours[here])
        taken = sum(part.shape[1] for part in loadings)
        modes[0, name] = SharedErrors(first=taken, turn=turn)
        spread = np.zeros((rows, len(turn)))
        spread[here] = every @ turn.T
        loadings.append(spread)
        bend = np.zeros((rows, every.shape[1]))
        bend[here] = np.nan_to_num(follows.bend[place])
        bends.append(bend)
    none = np.zeros((rows, 0))
    errors, curved = np.hstack([none, *loadings]), np.hstack([none, *bends])
    *of_rows, errors, curved, own = at_once(
        lambda array: array[alike.cell], [*columns.values(), errors, curved, own], rows=len(slices)
    )
    # as series, which a table takes without a copy
    told = {name: pd.Series(column) for name, column in zip(columns, of_rows, strict=True)}
    towed = slices[["gear", "setting"]].iloc[alike.row]
    dials = as_labels(pd.Series(gear_setting(towed["gear"], towed["setting"])))
    return SliceDepths(
        columns={
            **told,
            "depth_note": pd.Series(spelt(reasons, note[alike.cell])),
            "gear_setting": dials.take(alike.cell).reset_index(drop=True),
        },
        loadings=errors,
        bends=curved,
        own_sd=own,
        shared=modes,
    )


def gear_setting(gear: pd.Series, setting: pd.Series) -> pd.Categorical:
    """Label of gear and dial setting, such as ``diver 2``."""
    codes, settings = pd.factorize(setting, use_na_sentinel=False)
    dial = np.array(["" if np.isnan(value) else f" {value:g}" for value in settings], dtype=object)
    gears, names = pd.factorize(gear, use_na_sentinel=False)
    labels = np.add.outer(np.asarray(names, dtype=object), dial)
    return spelt(labels.ravel().tolist(), gears * len(dial) + codes)


def as_labels(text: pd.Series) -> pd.Series:
    """Texts as categories; an empty one is none of them."""
    words = in_order(text)
    return pd.Series(words.set_categories(words.categories[words.categories != ""]))


def why_no_depth(
    log: SeasonLog, effort: Effort, calibrations: Mapping[str, Calibration]
) -> NDArray[np.object_]:
    """Return why a slice has no depth, empty where it has one; `slice_depths` knows it too."""
    alike = _towed_alike(effort.slices)
    note = np.full(len(alike.row), "", dtype=object)
    for name, here, columns, _ in _towed(log.boat, effort.slices, alike):
        first, place = columns.distinct()
        note[here] = calibrations[name].belief.solve(columns.take(first)).reason[place]
    return note[alike.cell]


def _towed_alike(slices: pd.DataFrame) -> Cells:
    """Tell which slices are alike in all that a line's depth hangs on, in the slices' order."""
    codes = [_codes(slices[name]) for name in _TOWED_BY]
    cells = collapse(*codes)
    # in the slices' order
    order = np.argsort(cells.row)
    place = np.empty(len(order), dtype=np.intp)
    place[order] = np.arange(len(order))
    return Cells(row=cells.row[order], cell=place[cells.cell])


def _codes(column: pd.Series) -> NDArray[np.integer]:
    """Return which of its words or numbers each row of a column has, none being one of them."""
    if isinstance(column.dtype, pd.CategoricalDtype):
        return column.cat.codes.to_numpy()
    codes, values = pd.factorize(column, use_na_sentinel=False)
    return codes.astype(np.min_scalar_type(len(values)))  # there are as many as slices


def _towed(
    boat: Boat, slices: pd.DataFrame, alike: Cells
) -> Iterator[tuple[str, Index, Columns, NDArray[np.bool_]]]:
    """Yield each gear that was fished, its cells, what was towed there, and where over ground."""
    usual_mps = slices["speed_mps"].median()
    towed = plain(slices[_TOWED_BY].iloc[alike.row]).reset_index(drop=True)
    rod, rods = pd.factorize(towed["rod"])
    heights = np.array([boat.tip_height_of(name) for name in rods], dtype=float)[rod]
    turn, tips = _turning(towed, boat, rod, rods)
    speed = towed["speed_mps"].fillna(usual_mps).fillna(USUAL_SPEED_MPS)
    ground = ((towed["speed_kind"] != "water") | towed["speed_mps"].isna()).to_numpy()
    for name, gear in boat.gears.items():
        here = np.flatnonzero((towed["gear"] == name).to_numpy())
        if not len(here):
            continue
        columns = Columns.of(
            setting=towed["setting"].to_numpy(dtype=float)[here],
            line_out_m=towed["line_out_m"].to_numpy(dtype=float)[here],
            speed_mps=speed.to_numpy(dtype=float)[here],
            tip_height_m=heights[here],
            leader_length_m=towed["leader_length_m"].to_numpy(dtype=float)[here],
            lead_m=towed["lead_m"].to_numpy(dtype=float)[here],
            turn_rad_s=turn[here],
            tip_y_m=tips[here],
            **lure_columns(towed["lure"].iloc[here].tolist(), boat.lures),
        )
        yield name, here, columns.for_gear(gear), ground[here]


def _turning(
    towed: pd.DataFrame, boat: Boat, rod: Index, rods: Iterable[str]
) -> tuple[Array, Array]:
    """Return how fast the boat turned toward each row's side, and its rod tip from the middle.

    A rod of which nobody says on which side it stands may be on the inside or the outside of a
    turn: there the turn is not known.
    """
    of_label = np.array([side_of_label(name) for name in rods], dtype=object)[rod]
    side = towed["side"].where(towed["side"] != "", of_label)
    own = side.map(_TOWARD).to_numpy(dtype=float)
    tips = np.array([boat.tip_to_side_of(name) for name in rods], dtype=float)[rod]
    turn = towed["turn_rad_s"].to_numpy(dtype=float)
    straight = turn == 0.0  # where all sides are alike
    return np.where(straight, 0.0, own * turn), np.where(side == "centre", 0.0, tips)


def _main_modes(loadings: Array, hours: Array) -> Array:
    """Turn correlated shared errors into the few independent ones that matter where rods fished."""
    weighted = loadings * np.sqrt(hours / hours.sum())[:, None]
    _, size, turn = np.linalg.svd(weighted, full_matrices=False)
    kept = np.cumsum(size**2) <= KEPT_VARIANCE * np.sum(size**2)
    count = min(int(kept.sum()) + 1, len(size))
    return np.asarray(turn[:count])
