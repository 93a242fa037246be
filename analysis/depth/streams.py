"""Owns water that does not stream alike all along a line: of a boat that turns, or sheared.

A boat that turns steadily at omega goes round a centre at the distance R = U / omega, and so does
all that it tows. Seen from the boat, water at the distance r from the centre streams past at

    omega r = U r / R :    U (R + y) / R on the outside of the turn, U (R - y) / R on the inside

for a rod tip y from the boat's middle. A long line does not follow the tip round: its tension
pulls it inward against the water's drag across it, so that its deep end goes round at a smaller
distance r0, and slower. (Without drag across it the line would be a tractrix, r0^2 = R^2 -
length^2.) That lets it sink, but its slip through the water lifts it: which of the two wins
differs from gear to gear. By symmetry about the centre only r0 is unknown: the line is marched up
from an end at r0, in water that streams round the centre at the distance 1 / kappa = r0, and r0 is
changed until the line's upper end lies at R + y or R - y. The line's own inertia counts for
nothing: omega^2 R is 0.02 m/s2 at 1.1 m/s and 60 m.

Shear is a speed past the boat that differs with depth, U (1 + sigma g(z)) with sigma = shear / U
and g of `analysis.depth.march`. It is solved the same way: the depth D of the deep end is changed
until it is what comes out.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from analysis.depth.columns import Columns
from analysis.depth.march import Array, Rows, Tow, sheared_m
from analysis.depth.towline import TOWED, Towed, nowhere, tow_lines

_ROUNDS = 25
_SETTLED = 3e-6  # of the speed at the deep end: about what one march is good for
_STEEPEST = 0.9  # to which the slope of what comes out by what is put in is trusted

Towing = Callable[[Columns, Rows], Tow]
"""How chosen rows are towed, their speeds being those at the deep ends."""


@dataclass(frozen=True, kw_only=True)
class Way:
    """How the boat goes through the water, each (n,).

    `top` is the distance from the turn's centre of what holds the line over that of the boat's
    middle, `radius_m` infinite and `turn` 0 where the boat goes straight.
    """

    speed_mps: Array
    turn: Array
    radius_m: Array
    top: Array
    shear_per_m: Array

    @classmethod
    def of(cls, columns: Columns, straight: Towed, tip_y_m: float) -> Way:
        """Return it for rows that run so straight ahead, `tip_y_m` for those that do not say it."""
        turned = np.nan_to_num(columns.turn_rad_s)
        turn, rate = np.sign(turned), np.where(turned == 0.0, 1.0, np.abs(turned))
        radius = np.where(turn == 0.0, np.inf, columns.speed_mps / rate)
        tip = np.where(np.isnan(columns.tip_y_m), tip_y_m, columns.tip_y_m)
        return cls(
            speed_mps=columns.speed_mps,
            turn=turn,
            radius_m=radius,
            top=1.0 - turn * (tip + straight.carry_m[1]) / radius,
            shear_per_m=columns.shear_per_s / columns.speed_mps,
        )

    def take(self, rows: Rows) -> Way:
        """Return the chosen rows."""
        return Way(**{name: value[rows] for name, value in vars(self).items()})

    def faster(self, deep_m: Array) -> Array:
        """Return by what factor sheared water is faster at depths."""
        return np.asarray(1.0 + self.shear_per_m * sheared_m(deep_m))

    def next(self, curvature: Array, end_m: Array) -> Array:
        """Return r0 / R as it would have to be for the upper end to lie where it does."""
        with np.errstate(divide="ignore", invalid="ignore"):
            reached = np.hypot(curvature * end_m[0], 1.0 + curvature * end_m[1])
            return np.where(self.turn == 0.0, 1.0, self.top / reached)


def tow_unevenly(columns: Columns, way: Way, tow: Towing, straight: Towed) -> Towed:
    """Return where lines run in water that does not stream alike along them.

    Parameters
    ----------
    columns
        Rows that are `Columns.uneven`.
    way
        How the boat goes with them.
    tow
        Their loads by the speed at the deep end.
    straight
        Where they run straight ahead in even water, behind what holds them.

    Returns
    -------
    Towed
        NaN where the turn is too tight for the line to go round in it.
    """
    found = nowhere(columns.size)
    rows = np.flatnonzero(np.isfinite(straight.depth_m) & (way.top > 0.0))
    share, deep = way.top[rows], straight.end_m[2, rows]
    before = np.full((2, rows.size), np.nan)  # what was put in a round ago, and what came out
    for _ in range(_ROUNDS):
        one = way.take(rows)
        there = share * one.faster(deep)
        ends = replace(columns.take(rows), speed_mps=one.speed_mps * there)
        curvature = one.turn / (one.radius_m * share)
        loads = replace(tow(ends, rows), stream=np.stack([curvature, one.shear_per_m, deep]))
        out = tow_lines(loads)
        wanted = one.next(curvature, out.end_m)
        deep = np.where(np.isnan(out.end_m[2]), deep, out.end_m[2])
        comes = wanted * one.faster(deep)
        settled = np.abs(comes / there - 1.0) < _SETTLED
        done = _from_boat(out.take(np.flatnonzero(settled)), curvature[settled])
        for name in TOWED:
            found[name][..., rows[settled]] = getattr(done, name)
        # a secant step where two rounds tell a slope
        with np.errstate(divide="ignore", invalid="ignore"):
            slope = (wanted - before[1]) / (share - before[0])
            slope = np.nan_to_num(np.clip(slope, -5.0, _STEEPEST))
        before = np.stack([share, wanted])
        share = np.where(one.turn == 0.0, 1.0, share + (wanted - share) / (1.0 - slope))
        going = ~settled & (share > 0.0) & np.isfinite(comes)
        rows, share, deep, before = rows[going], share[going], deep[going], before[:, going]
        if not rows.size:
            break
    return Towed(**found)


def _from_boat(out: Towed, curvature: Array) -> Towed:
    """Return places as seen along the boat's heading rather than the stream at the deep end."""
    ahead, across = 1.0 + curvature * out.end_m[1], -curvature * out.end_m[0]
    size = np.hypot(ahead, across)
    ahead, across = ahead / size, across / size

    def turned(astern: Array, side: Array) -> tuple[Array, Array]:
        return ahead * astern + across * side, ahead * side - across * astern

    setback, lateral = turned(out.setback_m, out.lateral_m)
    return replace(
        out,
        setback_m=setback,
        lateral_m=lateral,
        top_n=np.stack([*turned(*out.top_n[:2]), out.top_n[2]]),
        end_m=np.stack([*turned(*out.end_m[:2]), out.end_m[2]]),
    )
