"""Owns the march of a line's tension up from its deep end: its loads, and steps along it.

Frame of the boat: x astern, y to the side, z down; the water streams past with (U, 0, 0).
Arclength s runs from the deep end up, t is the unit tangent toward the boat, Q = T t the
tension. With q = rho U^2 / 2 and the cross-flow principle (normal and tangential loads act
independently; Ablow & Schechter, Ocean Engineering 10(6), 1983, 443-457)

    dQ/ds = -[ q d Cn |e_n| e_n  +  q pi d Ct |e_t| e_t  +  w e_z ],   dr/ds = t,   Q(0) = -F

where e is the stream over U, (1, 0, 0) where it is even, e_t = (e . t) t and e_n = e - e_t. Water
that does not stream alike all along the line (`analysis.depth.streams`) has

    e = (1 - kappa y, kappa x, 0) f(z),   f(z) = [1 + sigma g(D + z)] / [1 + sigma g(D)]

about the deep end at depth D: it turns with curvature kappa and is sheared by sigma, g(z) being
Z tanh(z / Z): the speed grows evenly at first and hardly any more below Z = `SHEARED_M`.

All rows are marched at once, each with its own step, by the fifth-order formula of Cash & Karp
(ACM Trans. Math. Software 16, 1990, 201-222) with the error kept small against each
component's own size, so that a shallow line's depth is as good as its length.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Rows = NDArray[np.intp]
Watch = Callable[[Rows, Array, Array, Array, Array, Array], None]
"""Sees each step: rows, the state before, arclength, load, length of the step, the state after."""

RELATIVE_TOLERANCE = 1e-6
MAX_STEPS = 20_000
SHEARED_M = 15.0
"""Depth below which sheared water's speed hardly changes any more: about a summer's thermocline
(from memory)."""

_NODES = tuple(
    np.array(weights)
    for weights in (
        (1 / 5,),
        (3 / 40, 9 / 40),
        (3 / 10, -9 / 10, 6 / 5),
        (-11 / 54, 5 / 2, -70 / 27, 35 / 27),
        (1631 / 55296, 175 / 512, 575 / 13824, 44275 / 110592, 253 / 4096),
    )
)
_FIFTH = np.array((37 / 378, 0.0, 250 / 621, 125 / 594, 0.0, 512 / 1771))
_ERROR = _FIFTH - (2825 / 27648, 0.0, 18575 / 48384, 13525 / 55296, 277 / 14336, 1 / 4)


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
    stream : (3, n), optional
        Of water that does not stream alike along the line, whose q is that at the deep end:
        kappa, sigma and D; even water unless given.
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
    stream: Array | None = None

    def take(self, rows: Rows) -> Tow:
        """Return the chosen rows."""
        given = {name: value for name, value in vars(self).items() if value is not None}
        return Tow(**{name: value[..., rows] for name, value in given.items()})


def sheared_m(depth_m: Array) -> Array:
    """Return Z tanh(z / Z): how much depth counts for the speed of sheared water."""
    return np.asarray(SHEARED_M * np.tanh(depth_m / SHEARED_M))


def _stream_at(place: Array, stream: Array) -> tuple[Array, Array]:
    """Return the stream astern and sideways over that at the deep end, at places (3, n) from it."""
    x, y, z = place
    curvature, shear, deep = stream
    f = (1.0 + shear * sheared_m(deep + z)) / (1.0 + shear * sheared_m(deep))
    return f * (1.0 - curvature * y), f * curvature * x


def tension(state: Array) -> Array:
    """Return the size of the tension."""
    return np.asarray(np.sqrt(np.einsum("in,in->n", state[:3], state[:3])))


def slope(state: Array, load: Array, out: Array | None = None) -> Array:
    """Return d(Q, r)/ds for the normal, tangential and weight load per metre, and the stream.

    Parameters
    ----------
    state : (6, n)
        Tension and place.
    load : (3 or 6, n)
        As `March.load` returns it: of a line in even water, or in a stream.
    out : (6, n), optional
        Where to write it: the march is as fast as its memory is kept.
    """
    out = np.empty_like(state) if out is None else out
    if len(load) > 3:
        return _slope_in_stream(state, load, out)
    normal, tangential, weight = load
    across = state[1] * state[1]
    across += state[2] * state[2]
    size = state[0] * state[0]
    size += across
    np.sqrt(across, out=across)
    np.sqrt(size, out=size)
    tangent = np.divide(state[:3], size, out=out[3:])
    push = np.divide(np.multiply(normal, across, out=across), size, out=across)
    along = np.abs(tangent[0])
    along *= tangential
    along = np.multiply(np.subtract(push, along, out=along), tangent[0], out=along)
    np.multiply(along, tangent, out=out[:3])
    out[0] -= push
    out[2] -= weight
    return out


def _slope_in_stream(state: Array, load: Array, out: Array) -> Array:
    """Return the slope where the stream differs along the line."""
    normal, tangential, weight = load[:3]
    ex, ey = _stream_at(state[3:], load[3:])
    t = np.divide(state[:3], tension(state), out=out[3:])
    along = ex * t[0] + ey * t[1]
    nx, ny, nz = ex - along * t[0], ey - along * t[1], -along * t[2]
    push = normal * np.sqrt(nx * nx + ny * ny + nz * nz)
    rub = tangential * np.abs(along) * along
    out[0] = -(push * nx + rub * t[0])
    out[1] = -(push * ny + rub * t[1])
    out[2] = -(push * nz + rub * t[2] + weight)
    return out


def step(state: Array, load: Array, length: Array) -> tuple[Array, Array]:
    """Take one Cash-Karp step; return the new state and the estimate of its error."""
    slopes = np.empty((len(_FIFTH), *state.shape))
    flat = slopes.reshape(len(_FIFTH), -1)

    def moved(weights: Array) -> Array:
        change = (weights @ flat[: len(weights)]).reshape(state.shape)
        change *= length
        return change

    slope(state, load, slopes[0])
    for stage, weights in enumerate(_NODES, start=1):
        at = moved(weights)
        at += state
        slope(at, load, slopes[stage])
    return state + moved(_FIFTH), moved(_ERROR)


def _relative_error(before: Array, after: Array, error: Array, arc: Array) -> Array:
    """Return the worst error of a step relative to what it is an error of."""
    size = np.maximum(np.abs(before), np.abs(after))
    size[:3] += 1e-3 * tension(after)
    size[3:] += 1e-3 * arc
    share = np.abs(error)
    share /= size
    return np.asarray(share.max(axis=0))


@dataclass
class March:
    """The state of lines being marched up from the deep end."""

    tow: Tow
    loads: Array  # (3, m, n): of each part
    state: Array  # (6, n): tension and position
    arc_m: Array
    part: Rows
    step_m: Array

    @classmethod
    def start(cls, tow: Tow) -> March:
        """Begin at the deep end."""
        n = tow.line_out_m.size
        state = np.zeros((6, n))
        state[:3] = -tow.end_n
        # A free end without any drag has no direction: a nanonewton gives it one.
        state[0] = np.minimum(state[0], -1e-9)
        load = tow.normal_n_per_m[0] + tow.tangential_n_per_m[0] + np.abs(tow.weight_n_per_m[0])
        with np.errstate(divide="ignore"):
            step = 0.1 * tension(state) / load
        parts = (tow.normal_n_per_m, tow.tangential_n_per_m, tow.weight_n_per_m)
        return cls(tow, np.stack(parts), state, np.zeros(n), np.zeros(n, dtype=np.intp), step)

    def load(self, rows: Rows) -> Array:
        """Return the loads of the parts that rows are on, and the stream where it is uneven."""
        load = self.loads[:, self.part[rows], rows]
        stream = self.tow.stream
        return load if stream is None else np.concatenate([load, stream[:, rows]])

    def to(
        self,
        goal_m: Array,
        longest_m: Array,
        watch: Watch | None = None,
    ) -> None:
        """March every row to its goal, watched if asked."""
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
            load = self.load(rows)
            after, error = step(before, load, length)
            ratio = _relative_error(before, after, error, arc + length) / RELATIVE_TOLERANCE
            kept = ratio <= 1.0
            growth = np.clip(0.9 * np.maximum(ratio, 1e-10) ** -0.2, 0.2, 5.0)
            # A step cut short by the end of a part says nothing against a longer one.
            self.step_m[rows] = np.where(
                kept & closing, np.maximum(wanted, length * growth), length * growth
            )
            done = rows[kept]
            if watch is not None:
                watch(done, before[:, kept], arc[kept], load[:, kept], length[kept], after[:, kept])
            self.state[:, done] = after[:, kept]
            self.arc_m[done] = np.where(closing, end, arc + length)[kept]
            lumps = rows[kept & closing & (self.tow.top_m[part, rows] <= end) & (part < last)]
            if lumps.size:
                self._pass(lumps, watch)
            rows = rows[self.arc_m[rows] < goal_m[rows]]
        message = f"{rows.size} lines were not integrated in {MAX_STEPS} steps"
        raise ArithmeticError(message)

    def _pass(self, rows: Rows, watch: Watch | None) -> None:
        """Go from one part to the next over the lump between them."""
        before = self.state[:, rows]
        lump = self.tow.lump_n[:, self.part[rows], rows]
        if self.tow.stream is not None:
            ex, ey = _stream_at(before[3:], self.tow.stream[:, rows])
            size = lump[0] * np.hypot(ex, ey)
            lump = np.stack([size * ex, size * ey, lump[2]])
        self.state[:3, rows] -= lump
        self.part[rows] += 1
        if watch is not None and np.any(lump):
            none = np.zeros(rows.size)
            watch(rows, before, self.arc_m[rows], self.load(rows), none, self.state[:, rows])


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
    march = March.start(tow)
    march.to(tow.line_out_m, tow.line_out_m)
    return -march.state[:3], -march.state[3:]
