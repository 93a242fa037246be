"""Owns the equilibrium of a towed line: where its tension, marched up, leaves the water.

Above the water the line is straight along the tangent at the surface, up to the height h: the
wetted length Lw solves (L - Lw) sin(elevation) = h, and a heavy line with a light end, which has
two solutions, takes the longer. The march is that of `analysis.depth.march`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.depth.march import Array, March, Rows, Tow, step, tension

FEWEST_STEPS = 8
CLOSER = 16  # parts of a step
NEAR_SHARE = 0.25  # of the tip's height


@dataclass(frozen=True, kw_only=True)
class Towed:
    """Where n lures run; NaN where the line does not stay in the water.

    `top_n` (3, n) is the force with which the line pulls on what holds it, `carry_m` (3, n) where
    that is from the rod tip, and `end_m` (3, n) the deep end from what holds the line and the
    surface: astern, sideways, down.
    """

    depth_m: Array
    lateral_m: Array
    setback_m: Array
    pull_n: Array
    wetted_m: Array
    top_n: Array
    carry_m: Array
    end_m: Array

    def take(self, rows: Rows) -> Towed:
        """Return the chosen rows."""
        return Towed(**{name: value[..., rows] for name, value in vars(self).items()})


TOWED = tuple(Towed.__dataclass_fields__)


def _sine(state: Array) -> Array:
    """Return the sine of the elevation of the line."""
    return np.asarray(-state[2] / tension(state))


@dataclass(frozen=True)
class _Steps:
    """A step of each row: where it begins, the loads there, and how long it is."""

    state: Array
    arc_m: Array
    load: Array
    length_m: Array

    @classmethod
    def none(cls, rows: int, loads: int) -> _Steps:
        """Return steps of no length, to be put."""
        return cls(np.zeros((6, rows)), np.zeros(rows), np.zeros((loads, rows)), np.zeros(rows))

    def put(self, rows: Rows, steps: _Steps) -> None:
        """Take some rows over, in the order of theirs."""
        for name, value in vars(steps).items():
            getattr(self, name)[..., rows] = value

    def take(self, rows: Rows | NDArray[np.bool_]) -> _Steps:
        """Return the chosen rows."""
        return _Steps(**{name: value[..., rows] for name, value in vars(self).items()})

    def within(self, part: Array, rows: Rows) -> tuple[Array, Array]:
        """Return state and arclength a way into the steps of some rows."""
        state, _ = step(self.state[:, rows], self.load[:, rows], part)
        return state, self.arc_m[rows] + part


@dataclass(frozen=True)
class _Surface:
    """Where the piece in the air last fits: the step in which (L - s) sin - h falls below 0."""

    tow: Tow
    at: _Steps
    found: NDArray[np.bool_]

    def spare(self, rows: Rows, state: Array, arc: Array) -> Array:
        """Return the height that the line left over reaches, less the height of the tip."""
        left = np.maximum(self.tow.line_out_m[rows] - arc, 0.0)
        return np.asarray(left * _sine(state) - self.tow.height_m[rows])

    def look_closer(self, rows: Rows, steps: _Steps) -> None:
        """Look for it between the ends of a step of some rows, neither of which shows it."""
        shares = np.linspace(0.0, 1.0, CLOSER + 1)
        each = np.repeat(np.arange(rows.size), shares.size)
        part = (steps.length_m[:, None] * shares).ravel()
        state, arc = steps.within(part, each)
        spare = self.spare(rows[each], state, arc).reshape(rows.size, shares.size)
        falls = (spare[:, :-1] >= 0.0) & (spare[:, 1:] <= 0.0)
        hit = np.flatnonzero(falls.any(axis=1))
        last = CLOSER - 1 - np.argmax(falls[hit, ::-1], axis=1)
        begins = hit * shares.size + last
        length = part[begins + 1] - part[begins]
        here = _Steps(state[:, begins], arc[begins], steps.load[:, hit], length)
        self.at.put(rows[hit], here)
        self.found[rows[hit]] = True


def _find_surface(tow: Tow) -> _Surface:
    """March to the rod tip and keep the last step in which the line leaves the water."""
    n = tow.line_out_m.size
    march = March.start(tow)
    loads = len(march.load(np.arange(0)))
    kept = _Surface(tow, _Steps.none(n, loads), np.zeros(n, dtype=bool))
    # The last step of each row, and the two about the highest peak below 0 since it was found.
    last, up, down = (_Steps.none(n, loads) for _ in range(3))
    missed_m = np.full(n, -np.inf)
    rising = np.ones(n, dtype=bool)

    def watch(
        rows: Rows, before: Array, arc: Array, load: Array, length: Array, after: Array
    ) -> None:
        this = _Steps(before, arc, load, length)
        spare, then = kept.spare(rows, before, arc), kept.spare(rows, after, arc + length)
        peak = rising[rows] & (then <= spare) & (spare < 0.0) & (spare > missed_m[rows])
        higher = rows[peak]
        if higher.size:
            missed_m[higher] = spare[peak]
            up.put(higher, last.take(higher))
            down.put(higher, this.take(peak))
        rising[rows] = then > spare
        inside = (spare >= 0.0) & (then <= 0.0)
        hit = rows[inside]
        if hit.size:
            kept.found[hit] = True
            missed_m[hit] = -np.inf
            kept.at.put(hit, this.take(inside))
        last.put(rows, this)

    march.to(tow.line_out_m, tow.line_out_m / FEWEST_STEPS, watch)
    # Between two nodes the line may just reach the height that it misses at both.
    near = np.flatnonzero(missed_m > -NEAR_SHARE * tow.height_m)
    for steps in (up, down):
        rows = near[steps.length_m[near] > 0.0]
        if rows.size:
            kept.look_closer(rows, steps.take(rows))
    return kept


def nowhere(rows: int) -> dict[str, Array]:
    """Return the arrays of `Towed`, all NaN."""
    out = {name: np.full(rows, np.nan) for name in TOWED}
    three = {name: np.full((3, rows), np.nan) for name in ("top_n", "end_m")}
    return out | three | {"carry_m": np.zeros((3, rows))}


def _along(tow: Tow, arc_m: Array) -> Array:
    """Return (3, n): where each line is at an arclength, from its deep end."""
    place = np.zeros((3, arc_m.size))
    rows = np.flatnonzero(arc_m > 0.0)
    if rows.size:
        march = March.start(tow.take(rows))
        march.to(arc_m[rows], tow.line_out_m[rows])
        place[:, rows] = march.state[3:]
    return place


def tow_lines(tow: Tow) -> Towed:
    """Return where each line runs.

    Parameters
    ----------
    tow
        The lines, one a row.

    Returns
    -------
    Towed
        Depth, lateral and setback of the lure from the rod tip, the pull at the top and the
        wetted length; NaN where the line never reaches or never stays in the water.
        Relative error below 1e-5 (tests compare with tight-tolerance integration).

    Raises
    ------
    ArithmeticError
        If a line cannot be integrated in `MAX_STEPS` steps.
    """
    out = nowhere(tow.line_out_m.size)
    surface = _find_surface(tow)
    rows = np.flatnonzero(surface.found)
    if rows.size:
        from scipy.optimize import elementwise  # here: heavy, and to read a log needs no solver

        length = surface.at.length_m[rows]

        def spare(part: Array, row: Any) -> Array:
            row = row.astype(np.intp)
            return surface.spare(row, *surface.at.within(part, row))

        root = elementwise.find_root(
            spare,
            (np.zeros(rows.size), length),
            args=(rows.astype(float),),
            tolerances={"xatol": 1e-11, "xrtol": 1e-11, "fatol": 1e-13},
        )
        # A step of no length is a lump that lies in the surface.
        state, arc = surface.at.within(np.where(length > 0.0, root.x, 0.0), rows)
        left = tow.line_out_m[rows] - arc
        pull = tension(state)
        level = np.sqrt(state[0] ** 2 + state[1] ** 2)
        run = np.sqrt(np.maximum(left**2 - tow.height_m[rows] ** 2, 0.0))
        # The lure from the deep end: where its leader begins, and how it trails from there.
        x, y, z = _along(tow.take(rows), np.minimum(tow.from_m[rows], arc)) + tow.trail_m[:, rows]
        z[tow.from_m[rows] > arc] = np.nan
        end = -(state[3:] + run * np.stack([state[0], state[1], 0.0 * run]) / level)
        out["depth_m"][rows] = z + end[2]
        out["lateral_m"][rows] = y + end[1]
        out["setback_m"][rows] = x + end[0]
        out["end_m"][:, rows] = end
        out["pull_n"][rows] = pull
        out["wetted_m"][rows] = arc
        out["top_n"][:, rows] = -state[:3]
    return Towed(**out)


def line_points(tow: Tow, towed: Towed, points: int) -> Array:
    """Return points along each line, from its lure to the rod tip.

    Parameters
    ----------
    tow
        The lines, n rows.
    towed
        Where they run.
    points
        How many points along the wetted line; the rod tip is added as the last.

    Returns
    -------
    (points + 3, n, 3)
        Distance astern of the rod tip, to its side, and depth below the surface (negative
        above it), in metres: the lure, where its leader begins, `points` points of the line, its
        upper end and the rod tip; some of them may be one.
    """
    shares = np.linspace(0.0, 1.0, points)[:, None]
    states = _states(tow, tow.from_m + shares * (towed.wetted_m - tow.from_m))
    places, pull = states[:, 3:], states[-1, :3]
    left = tow.line_out_m - towed.wetted_m
    level = np.sqrt(pull[0] ** 2 + pull[1] ** 2)
    run = np.sqrt(np.maximum(left**2 - tow.height_m**2, 0.0)) / level
    top = places[-1] + np.stack([run * pull[0], run * pull[1], -tow.height_m])
    tip = top - towed.carry_m
    path = np.concatenate([[places[0] + tow.trail_m], places, [top, tip]])
    path[:, 2] += -places[-1, 2]
    path[:, :2] -= tip[:2]
    return np.moveaxis(path, 1, 2)


def _states(tow: Tow, arc_m: Array) -> Array:
    """Return (points, 6, n): tension and place at arclengths (points, n) that rise to the last."""
    taken: list[tuple[Rows, Array, Array, Array]] = []
    march = March.start(tow)
    march.to(arc_m[-1], tow.line_out_m, lambda *seen: taken.append(seen[:4]))
    rows, before, begin, load = (np.concatenate(part, axis=-1) for part in zip(*taken, strict=True))
    at = np.empty(arc_m.shape, dtype=np.intp)
    for row in range(arc_m.shape[1]):
        own = np.flatnonzero(rows == row)
        at[:, row] = own[np.searchsorted(begin[own], arc_m[:, row], side="right") - 1]
    there, part = at.ravel(), arc_m.ravel()
    found, _ = step(before[:, there], load[:, there], part - begin[there])
    return np.moveaxis(found.reshape(6, *arc_m.shape), 1, 0)
