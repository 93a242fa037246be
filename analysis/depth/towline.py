"""Owns the equilibrium of a towed line: marches the tension up from the deep end.

Frame of the boat: x astern, y to the side, z down; the water streams past with (U, 0, 0).
Arclength s runs from the deep end up, t is the unit tangent toward the boat, Q = T t the
tension. With q = rho U^2 / 2 and the cross-flow principle (normal and tangential loads act
independently; Ablow & Schechter, Ocean Engineering 10(6), 1983, 443-457)

    dQ/ds = -[ q d Cn |e_n| e_n  +  q pi d Ct |e_t| e_t  +  w e_z ],   dr/ds = t,   Q(0) = -F

where e_t = (e_x . t) t and e_n = e_x - e_t. Above the water the line is straight along the
tangent at the surface, up to the height h: the wetted length Lw solves
(L - Lw) sin(elevation) = h, and a heavy line with a light end, which has two solutions,
takes the longer.

All rows are marched at once, each with its own step, by the fifth-order formula of Cash & Karp
(ACM Trans. Math. Software 16, 1990, 201-222) with the error kept small against each
component's own size, so that a shallow line's depth is as good as its length.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import elementwise

Array = NDArray[np.float64]
Rows = NDArray[np.intp]

RELATIVE_TOLERANCE = 1e-6
MAX_STEPS = 20_000
FEWEST_STEPS = 8
CLOSER_STEPS = 128
NEAR_SHARE = 0.25  # of the tip's height

_NODES = (
    (1 / 5,),
    (3 / 40, 9 / 40),
    (3 / 10, -9 / 10, 6 / 5),
    (-11 / 54, 5 / 2, -70 / 27, 35 / 27),
    (1631 / 55296, 175 / 512, 575 / 13824, 44275 / 110592, 253 / 4096),
)
_FIFTH = (37 / 378, 0.0, 250 / 621, 125 / 594, 0.0, 512 / 1771)
_FOURTH = (2825 / 27648, 0.0, 18575 / 48384, 13525 / 55296, 277 / 14336, 1 / 4)
_ERROR = tuple(high - low for high, low in zip(_FIFTH, _FOURTH, strict=True))


@dataclass(frozen=True, kw_only=True)
class Tow:
    """Towed lines, n rows of at most m parts counted from the deep end.

    Attributes
    ----------
    end_n : (3, n)
        Force F on the deep end: astern, sideways, down.
    normal_n_per_m, tangential_n_per_m, weight_n_per_m : (m, n)
        q d Cn, q pi d Ct and w of each part.
    top_m : (m, n)
        Where each part ends, counted along the line from the deep end.
    lump_n : (3, m, n)
        Force at each part's upper end: astern, sideways, down.
    line_out_m, height_m : (n,)
        Length L from the deep end to the rod tip or pulley, and its height h above the water.
    from_m : (n,)
        Where along the line the lure's own leader begins, counted from the deep end.
    trail_m : (3, n)
        The lure from there: astern, sideways, down.
    """

    end_n: Array
    normal_n_per_m: Array
    tangential_n_per_m: Array
    weight_n_per_m: Array
    top_m: Array
    lump_n: Array
    line_out_m: Array
    height_m: Array
    from_m: Array
    trail_m: Array

    def take(self, rows: Rows) -> Tow:
        """Return the chosen rows."""
        return Tow(**{name: value[..., rows] for name, value in vars(self).items()})


@dataclass(frozen=True, kw_only=True)
class Towed:
    """Where n lures run; NaN where the line does not stay in the water.

    `top_n` (3, n) is the force with which the line pulls on what holds it, and `carry_m` (3, n)
    where that is from the rod tip: astern, sideways, down.
    """

    depth_m: Array
    lateral_m: Array
    setback_m: Array
    pull_n: Array
    wetted_m: Array
    top_n: Array
    carry_m: Array


def _slope(state: Array, load: Array) -> Array:
    """Return d(Q, r)/ds for the normal, tangential and weight load per metre."""
    qx, qy, qz = state[:3]
    normal, tangential, weight = load
    across = np.sqrt(qy * qy + qz * qz)
    tension = np.sqrt(qx * qx + across * across)
    out = np.empty_like(state)
    tx, ty, tz = np.divide(state[:3], tension, out=out[3:])
    push = normal * across / tension
    along = (tangential * np.abs(tx) - push) * tx
    out[0] = -(push + along * tx)
    out[1] = -along * ty
    out[2] = -(along * tz + weight)
    return out


def _step(state: Array, load: Array, length: Array) -> tuple[Array, Array]:
    """Take one Cash-Karp step; return the new state and the estimate of its error."""
    slopes = [_slope(state, load)]
    for weights in _NODES:
        change = sum(c * k for c, k in zip(weights, slopes, strict=True))
        slopes.append(_slope(state + length * change, load))
    rise = sum(c * k for c, k in zip(_FIFTH, slopes, strict=True) if c)
    error = sum(c * k for c, k in zip(_ERROR, slopes, strict=True) if c)
    return state + length * rise, length * error


def _relative_error(before: Array, after: Array, error: Array, arc: Array) -> Array:
    """Return the worst error of a step relative to what it is an error of."""
    size = np.maximum(np.abs(before), np.abs(after))
    size[:3] += 1e-3 * np.sqrt((after[:3] ** 2).sum(axis=0))
    size[3:] += 1e-3 * arc
    worst: Array = (np.abs(error) / size).max(axis=0)
    return worst


TOWED = tuple(Towed.__dataclass_fields__)


@dataclass
class _March:
    """The state of lines being marched up from the deep end."""

    tow: Tow
    state: Array  # (6, n): tension and position
    arc_m: Array
    part: Rows
    step_m: Array

    @classmethod
    def start(cls, tow: Tow) -> _March:
        n = tow.line_out_m.size
        state = np.zeros((6, n))
        state[:3] = -tow.end_n
        # A free end without any drag has no direction: a nanonewton gives it one.
        state[0] = np.minimum(state[0], -1e-9)
        load = tow.normal_n_per_m[0] + tow.tangential_n_per_m[0] + np.abs(tow.weight_n_per_m[0])
        with np.errstate(divide="ignore"):
            step = 0.1 * np.sqrt((state[:3] ** 2).sum(axis=0)) / load
        return cls(tow, state, np.zeros(n), np.zeros(n, dtype=np.intp), step)

    def load(self, rows: Rows) -> Array:
        part, tow = self.part[rows], self.tow
        return np.stack(
            [
                tow.normal_n_per_m[part, rows],
                tow.tangential_n_per_m[part, rows],
                tow.weight_n_per_m[part, rows],
            ]
        )

    def to(
        self,
        goal_m: Array,
        longest_m: Array,
        watch: Callable[[Rows, Array, Array, Array, Array], None] | None = None,
    ) -> None:
        """March every row to its goal; `watch` sees each step (rows, before, s, after, ds)."""
        last = self.tow.top_m.shape[0] - 1
        rows = np.flatnonzero(self.arc_m < goal_m)
        for _ in range(MAX_STEPS):
            if not rows.size:
                return
            arc, before = self.arc_m[rows], self.state[:, rows]
            part = self.part[rows]
            end = np.minimum(self.tow.top_m[part, rows], goal_m[rows])
            wanted = np.minimum(self.step_m[rows], longest_m[rows])
            closing = wanted >= (end - arc) * (1 - 1e-12)
            length = np.where(closing, end - arc, wanted)
            after, error = _step(before, self.load(rows), length)
            ratio = _relative_error(before, after, error, arc + length) / RELATIVE_TOLERANCE
            kept = ratio <= 1.0
            growth = np.clip(0.9 * np.maximum(ratio, 1e-10) ** -0.2, 0.2, 5.0)
            # A step cut short by the end of a part says nothing against a longer one.
            self.step_m[rows] = np.where(
                kept & closing, np.maximum(wanted, length * growth), length * growth
            )
            done = rows[kept]
            if watch is not None:
                watch(done, before[:, kept], arc[kept], after[:, kept], length[kept])
            self.state[:, done] = after[:, kept]
            self.arc_m[done] = np.where(closing, end, arc + length)[kept]
            lumps = rows[kept & closing & (self.tow.top_m[part, rows] <= end) & (part < last)]
            if lumps.size:
                self._pass(lumps, watch)
            rows = rows[self.arc_m[rows] < goal_m[rows]]
        message = f"{rows.size} lines were not integrated in {MAX_STEPS} steps"
        raise ArithmeticError(message)

    def _pass(
        self, rows: Rows, watch: Callable[[Rows, Array, Array, Array, Array], None] | None
    ) -> None:
        """Go from one part to the next over the lump between them."""
        before = self.state[:, rows]
        lump = self.tow.lump_n[:, self.part[rows], rows]
        self.state[:3, rows] -= lump
        self.part[rows] += 1
        if watch is not None and np.any(lump):
            watch(rows, before, self.arc_m[rows], self.state[:, rows], np.zeros(rows.size))


def _sine(state: Array) -> Array:
    """Return the sine of the elevation of the line."""
    return np.asarray(-state[2] / np.sqrt((state[:3] ** 2).sum(axis=0)))


@dataclass
class _Surface:
    """Where the piece in the air last fits: the step in which (L - s) sin - h falls below 0."""

    tow: Tow
    state: Array
    arc_m: Array
    length_m: Array
    load: Array
    found: NDArray[np.bool_]
    missed_m: Array  # highest peak below 0 that the nodes since then show

    def spare(self, rows: Rows, state: Array, arc: Array) -> Array:
        """Return the height that the line left over reaches, less the height of the tip."""
        left = np.maximum(self.tow.line_out_m[rows] - arc, 0.0)
        return np.asarray(left * _sine(state) - self.tow.height_m[rows])

    def put(self, rows: Rows, other: _Surface) -> None:
        """Take over what was found for some rows."""
        for name in ("state", "arc_m", "length_m", "load", "found"):
            getattr(self, name)[..., rows] = getattr(other, name)

    def within(self, part: Array, rows: Rows) -> tuple[Array, Array]:
        """Return state and arclength a way into the step that was kept."""
        state, _ = _step(self.state[:, rows], self.load[:, rows], part)
        return state, self.arc_m[rows] + part


def _find_surface(tow: Tow, steps: int) -> _Surface:
    """March to the rod tip and keep the last step in which the line leaves the water."""
    n = tow.line_out_m.size
    march = _March.start(tow)
    kept = _Surface(
        tow=tow,
        state=np.zeros((6, n)),
        arc_m=np.zeros(n),
        length_m=np.zeros(n),
        load=np.zeros((3, n)),
        found=np.zeros(n, dtype=bool),
        missed_m=np.full(n, -np.inf),
    )
    rising = np.ones(n, dtype=bool)

    def watch(rows: Rows, before: Array, arc: Array, after: Array, length: Array) -> None:
        spare, then = kept.spare(rows, before, arc), kept.spare(rows, after, arc + length)
        peak = rising[rows] & (then <= spare) & (spare < 0.0)
        kept.missed_m[rows[peak]] = np.maximum(kept.missed_m[rows[peak]], spare[peak])
        rising[rows] = then > spare
        inside = (spare >= 0.0) & (then <= 0.0)
        hit = rows[inside]
        kept.found[hit] = True
        kept.missed_m[hit] = -np.inf
        kept.state[:, hit] = before[:, inside]
        kept.arc_m[hit] = arc[inside]
        kept.length_m[hit] = length[inside]
        kept.load[:, hit] = march.load(hit)

    march.to(tow.line_out_m, tow.line_out_m / steps, watch)
    return kept


def nowhere(rows: int) -> dict[str, Array]:
    """Return the arrays of `Towed`, all NaN."""
    out = {name: np.full(rows, np.nan) for name in TOWED}
    return out | {"top_n": np.full((3, rows), np.nan), "carry_m": np.zeros((3, rows))}


def _along(tow: Tow, arc_m: Array) -> Array:
    """Return (3, n): where each line is at an arclength, from its deep end."""
    place = np.zeros((3, arc_m.size))
    rows = np.flatnonzero(arc_m > 0.0)
    if rows.size:
        march = _March.start(tow.take(rows))
        march.to(arc_m[rows], tow.line_out_m[rows])
        place[:, rows] = march.state[3:]
    return place


def trail_freely(tow: Tow) -> tuple[Array, Array]:
    """Return how lines wholly in the water pull at their upper end, and where their lures are.

    Parameters
    ----------
    tow
        The lines, such as leaders behind a disc or a ball; `line_out_m` long, of no height.

    Returns
    -------
    pull_n, place_m : (3, n)
        Force on what holds the line, and the deep end from there: astern, sideways, down.
    """
    march = _March.start(tow)
    march.to(tow.line_out_m, tow.line_out_m)
    return -march.state[:3], -march.state[3:]


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
    surface = _find_surface(tow, FEWEST_STEPS)
    # Between two nodes the line may just reach the height that it misses at both: look closer.
    near = np.flatnonzero(surface.missed_m > -NEAR_SHARE * tow.height_m)
    if near.size:
        surface.put(near, _find_surface(tow.take(near), CLOSER_STEPS))
    rows = np.flatnonzero(surface.found)
    if rows.size:
        length = surface.length_m[rows]

        def spare(part: Array, row: Any) -> Array:
            row = row.astype(np.intp)
            return surface.spare(row, *surface.within(part, row))

        root = elementwise.find_root(
            spare,
            (np.zeros(rows.size), length),
            args=(rows.astype(float),),
            tolerances={"xatol": 1e-11, "xrtol": 1e-11, "fatol": 1e-13},
        )
        # A step of no length is a lump that lies in the surface.
        state, arc = surface.within(np.where(length > 0.0, root.x, 0.0), rows)
        left = tow.line_out_m[rows] - arc
        pull = np.sqrt((state[:3] ** 2).sum(axis=0))
        level = np.sqrt(state[0] ** 2 + state[1] ** 2)
        run = np.sqrt(np.maximum(left**2 - tow.height_m[rows] ** 2, 0.0))
        # The lure from the deep end: where its leader begins, and how it trails from there.
        x, y, z = _along(tow.take(rows), np.minimum(tow.from_m[rows], arc)) + tow.trail_m[:, rows]
        z[tow.from_m[rows] > arc] = np.nan
        out["depth_m"][rows] = z - state[5]
        out["lateral_m"][rows] = y - (state[4] + run * state[1] / level)
        out["setback_m"][rows] = x - (state[3] + run * state[0] / level)
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
    march, wetted_m = _March.start(tow), towed.wetted_m
    march.to(tow.from_m, tow.line_out_m)
    start = march.state[3:].copy()
    track = [start + tow.trail_m, start]
    for share in np.linspace(0.0, 1.0, points)[1:]:
        march.to(tow.from_m + share * (wetted_m - tow.from_m), tow.line_out_m)
        track.append(march.state[3:].copy())
    left = tow.line_out_m - wetted_m
    level = np.sqrt(march.state[0] ** 2 + march.state[1] ** 2)
    run = np.sqrt(np.maximum(left**2 - tow.height_m**2, 0.0)) / level
    top = track[-1] + np.stack([run * march.state[0], run * march.state[1], -tow.height_m])
    tip = top - towed.carry_m
    path = np.stack([*track, top, tip])
    path[:, 2] += -track[-1][2]
    path[:, :2] -= tip[:2]
    return np.moveaxis(path, 1, 2)
