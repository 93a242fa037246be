"""Owns the shape of a spread: every line's path through the water, and how near two come."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations

import numpy as np
from scipy.spatial.distance import cdist

from analysis.depth.columns import Columns
from analysis.depth.limits import DEFAULT_TIP_HEIGHT_M
from analysis.depth.march import Array
from analysis.depth.model import run, tow_of
from analysis.depth.priors import shifts_at
from analysis.depth.towline import line_points
from analysis.depth.uncertainty import GearBelief

SIDEWAYS_CLEARANCE_M = 4.572
"""15 ft between divers on one side: common practice, no source."""
NEAR_M = 0.3
"""Lines that are not both divers of a side are near enough to tangle where they come so close
below ``BELOW_M``, or cross there (common practice, no source)."""
BELOW_M = 0.5
"""Distances between lines count from here down: rod tips are always near each other."""
POINTS = 60
_FINE = 400


@dataclass(frozen=True, kw_only=True)
class RodLine:
    """A line in the spread.

    Attributes
    ----------
    rod
        Its name.
    belief
        Its gear.
    setting, line_out_m, speed_mps, leader_length_m
        What it fishes.
    trail_m
        Lead or leader that trails level behind the deep end.
    rig
        What columns say of a lure that dives, its lead or leader among it; nothing for others.
    side
        `port`, `starboard` or `centre`.
    tip_x_m, tip_y_m, tip_height_m
        Where the rod tip (or pulley) is: astern and to starboard of the middle of the
        transom, and above the water; a rigger's height is its pulley's.
    """

    rod: str
    belief: GearBelief
    line_out_m: float
    speed_mps: float
    side: str
    setting: float = np.nan
    leader_length_m: float = np.nan
    trail_m: float = 0.0
    rig: Mapping[str, float] = field(default_factory=dict)
    tip_x_m: float = 0.0
    tip_y_m: float = 0.0
    tip_height_m: float = DEFAULT_TIP_HEIGHT_M

    def columns(self) -> Columns:
        """Return the line as a single row."""
        return Columns.of(
            setting=self.setting,
            line_out_m=self.line_out_m,
            speed_mps=self.speed_mps,
            tip_height_m=self.tip_height_m,
            **{"leader_length_m": self.leader_length_m, **self.rig},
        ).for_gear(self.belief.gear)

    @cached_property
    def depth_sd_m(self) -> float:
        """How well its depth is known: worked out when it is asked for."""
        return float(self.belief.predict_columns(self.columns()).depth_sd_m[0])


@dataclass(frozen=True, kw_only=True)
class LinePath:
    """Where one line runs in the boat's frame.

    Attributes
    ----------
    rod
        Its name.
    points_m : (n, 3)
        From the deep end to the rod tip: astern, to starboard, below the surface (negative
        in the air); empty where there is no solution.
    depth_m, lateral_m, setback_m
        Of the deep end below the surface, and from the rod tip: to the side it fishes, and astern.
    reason
        Why there is no path, else empty.
    side, planes
        Its side, and whether it pulls to the side by a dial.
    """

    rod: str
    points_m: Array
    depth_m: float
    reason: str
    lateral_m: float = np.nan
    setback_m: float = np.nan
    side: str = ""
    planes: bool = False


@dataclass(frozen=True, kw_only=True)
class Clearance:
    """How near two lines come.

    Attributes
    ----------
    rod, other
        The two lines, from port to starboard.
    least_m
        Least distance between them below ``BELOW_M``, leads and leaders among them.
    least_at_depth_m
        Depth of the first line where that is.
    sideways_m
        Distance sideways between their deep ends.
    too_close
        Whether that is less than the clearance asked for.
    crossed
        Whether the lines change their order from port to starboard on their way down.
    fish_passes_behind
        Whether the line farther from the middle runs farther astern, so that a fish on it
        passes behind the other.
    both_plane
        Whether they are divers of one side, which are kept apart sideways.
    """

    rod: str
    other: str
    least_m: float
    least_at_depth_m: float
    sideways_m: float
    too_close: bool
    crossed: bool
    fish_passes_behind: bool
    both_plane: bool

    @property
    def flagged(self) -> bool:
        """Whether the two may tangle."""
        return self.crossed or (self.too_close if self.both_plane else self.least_m < NEAR_M)


def line_path(line: RodLine, points: int = POINTS) -> LinePath:
    """Return where a line runs, to scale.

    Examples
    --------
    >>> from analysis.depth import believe
    >>> from analysis.depth.kinds import Diver
    >>> line = RodLine(rod="P1", belief=believe(Diver()), line_out_m=30.0, speed_mps=1.1,
    ...                side="port", setting=2.0, tip_y_m=-2.0)
    >>> line_path(line).points_m[0].round(1)
    array([ 24. , -12.6,  12.6])
    """
    (path,) = line_paths([line], points)
    return path


def line_paths(lines: Sequence[RodLine], points: int = POINTS) -> tuple[LinePath, ...]:
    """Return where lines run, as `line_path`; those of one gear together, and alike ones once."""
    found: dict[int, LinePath] = {}
    for belief in {id(line.belief): line.belief for line in lines}.values():
        places = [place for place, line in enumerate(lines) if line.belief is belief]
        own = [lines[place] for place in places]
        found |= zip(places, _paths(own, belief, points), strict=True)
    return tuple(found[place] for place in range(len(lines)))


def _paths(lines: Sequence[RodLine], belief: GearBelief, points: int) -> Iterator[LinePath]:
    """Give the paths of lines of one gear."""
    columns = Columns.stacked([line.columns() for line in lines])
    first, place = columns.distinct()
    few = columns.take(first)
    out = belief.solve(few)
    good = np.flatnonzero(out.reason == "")
    tracks: dict[np.intp, Array] = {}
    if good.size:
        ways = few.take(good)
        shifts = shifts_at(belief.gear, ways, belief.mean)
        tow = tow_of(belief.gear, ways, belief.water, shifts)
        towed = run(belief.gear, ways, belief.water, shifts)
        tracks = dict(zip(good, line_points(tow, towed, points).swapaxes(0, 1), strict=True))
    for line, way in zip(lines, place, strict=True):
        path = tracks.get(way, np.empty((0, 3)))
        if len(path):
            path = np.vstack([path[:1] + np.array([line.trail_m, 0.0, 0.0]), path])
            path[:, 1] *= -1.0 if line.side == "port" else 1.0
            path += np.array([line.tip_x_m, line.tip_y_m, 0.0])
        yield LinePath(
            rod=line.rod,
            points_m=path,
            depth_m=float(out.depth_m[way]),
            lateral_m=float(out.lateral_m[way]),
            setback_m=float(out.setback_m[way]),
            reason=str(out.reason[way]),
            side=line.side,
            planes=belief.gear.place.planes,
        )


def _finely(path: Array) -> Array:
    """Return points at even steps along a path."""
    arc = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    even = np.linspace(0.0, arc[-1], _FINE)
    return np.stack([np.interp(even, arc, column) for column in path.T], axis=1)


def _sideways_at(path: Array, depth: Array) -> Array:
    """Return how far to starboard a path is at depths that it passes on its way up."""
    return np.asarray(np.interp(depth, path[::-1, 2], path[::-1, 1]))


def _below(path: Array) -> Array:
    """Return the part of a path below ``BELOW_M``; all of it where that is less than a line."""
    deep = path[path[:, 2] >= BELOW_M]
    return deep if len(deep) > 1 else path


def _apart(first: Array, second: Array) -> bool:
    """Whether two paths lie in boxes too far from each other to touch or to cross."""
    gap = np.maximum(first.min(axis=0) - second.max(axis=0), second.min(axis=0) - first.max(axis=0))
    return bool(np.any(gap[1:] > NEAR_M))


def clearances(
    paths: Sequence[LinePath], clearance_m: float = SIDEWAYS_CLEARANCE_M
) -> tuple[Clearance, ...]:
    """Return how near lines come: all neighbours, and of the other pairs those that may tangle.

    Parameters
    ----------
    paths
        The spread in any order; lines without a path are passed over. Neighbours are next to
        each other from port to starboard at the lure.
    clearance_m
        Distance sideways below which two divers of a side are too close.

    Examples
    --------
    >>> from analysis.depth import believe
    >>> from analysis.depth.kinds import Diver
    >>> spread = [
    ...     line_path(RodLine(rod=rod, belief=believe(Diver()), line_out_m=out, speed_mps=1.1,
    ...                       side="port", setting=setting, tip_y_m=tip))
    ...     for rod, out, setting, tip in (("P1", 24.0, 1.0, -1.5), ("P2", 30.0, 2.0, -2.0))
    ... ]
    >>> pair, = clearances(spread)
    >>> pair.rod, pair.other, round(pair.sideways_m, 1), pair.too_close, pair.fish_passes_behind
    ('P2', 'P1', 6.1, False, True)
    """
    known = [path for path in paths if not path.reason]
    known.sort(key=lambda path: float(path.points_m[0, 1]))
    below = [_below(path.points_m) for path in known]
    out = []
    for one, two in combinations(range(len(known)), 2):
        beside = two == one + 1
        if not beside and _apart(known[one].points_m, known[two].points_m):
            continue
        found = _pair(known[one], known[two], below[one], below[two], clearance_m)
        if beside or found.flagged:
            out.append(found)
    return tuple(out)


def _pair(
    one: LinePath, two: LinePath, upper: Array, other: Array, clearance_m: float
) -> Clearance:
    """Return how near two lines come, the first to port."""
    first, second = _finely(upper), _finely(other)
    apart = cdist(first, second)
    place = np.unravel_index(np.argmin(apart), apart.shape)
    ends = first[0], second[0]
    # Lines may change places in the air already.
    lowest_tip = max(one.points_m[-1, 2], two.points_m[-1, 2])
    shared = np.linspace(lowest_tip, min(ends[0][2], ends[1][2]), _FINE)
    order = _sideways_at(two.points_m, shared) - _sideways_at(one.points_m, shared)
    outer, inner = ends if abs(ends[0][1]) > abs(ends[1][1]) else ends[::-1]
    sideways = float(ends[1][1] - ends[0][1])
    return Clearance(
        rod=one.rod,
        other=two.rod,
        least_m=float(apart[place]),
        least_at_depth_m=float(first[place[0], 2]),
        sideways_m=sideways,
        too_close=sideways < clearance_m,
        crossed=bool(np.any(order < 0.0)),
        fish_passes_behind=bool(outer[0] > inner[0]),
        both_plane=one.planes and two.planes and one.side == two.side,
    )
