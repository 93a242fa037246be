"""Waters made with profiles of several forms, none the model's, and thermometers in them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import erf

from analysis.water.measured import DAY_US, KINDS, Measured

START = 20_575.0
"""1 May 2026 in days since 1970."""


def tanh_form(x):
    return 0.5 * (1 - np.tanh(x))


def erf_form(x):
    return 0.5 * (1 - erf(x))


def exponential_form(x):
    """Mixed to one depth, an exponential fall below; half-way at 0."""
    return np.exp(-np.maximum(x + 1.0, 0.0) * np.log(2))


def kinked_form(x):
    """Two straight layers: a steep fall, then a long gentle one."""
    return np.interp(x, [-1.0, 0.5, 4.0], [1.0, 0.35, 0.0])


FORMS = {
    "tanh": tanh_form,
    "erf": erf_form,
    "exponential": exponential_form,
    "kinked": kinked_form,
}


@dataclass(frozen=True)
class MadeWater:
    """One season's true water: temperature by day since 1970 and depth."""

    form: str
    days: np.ndarray
    surface: np.ndarray
    middle: np.ndarray
    thickness: np.ndarray
    deep: float
    swing: np.ndarray

    def temp(self, day, depth):
        part = lambda values: np.interp(day, self.days, values)  # noqa: E731
        middle = part(self.middle) + part(self.swing) * np.sin(2 * np.pi * day / 0.51)
        place = lambda z: (z - middle) / part(self.thickness)  # noqa: E731
        form = FORMS[self.form]
        share = form(place(depth)) / form(place(0.0))
        return self.deep + (part(self.surface) - self.deep) * share


def made_water(form, seed, *, start=START):
    """A deep northern lake from May to October."""
    rng = np.random.default_rng(seed)
    days = np.arange(190.0)
    warmth = np.sin(np.pi * np.clip((days + 8) / 215, 0, 1)) ** 1.2
    surface = 6.5 + rng.normal(14, 1.0) * warmth + walk(rng, len(days), 0.75, 0.8)
    deepening = rng.normal(0.09, 0.02)
    middle = rng.normal(7.5, 1.5) + deepening * days + walk(rng, len(days), 0.7, 1.8)
    middle += rng.normal(0, 1.0) * np.cos(days / 190 * np.pi)
    thickness = rng.uniform(2.5, 5.0) * (1 + 0.002 * days) * np.exp(rng.normal(0, 0.1, len(days)))
    return MadeWater(
        form,
        start + days,
        np.maximum(surface, 5.0),
        np.maximum(middle, 3.0),
        thickness,
        rng.normal(4.8, 0.4),
        np.abs(rng.normal(0, 0.8, len(days))),
    )


def walk(rng, count, keep, sd):
    out = np.empty(count)
    out[0] = rng.normal(0, sd)
    for i in range(1, count):
        out[i] = keep * out[i - 1] + rng.normal(0, sd * np.sqrt(1 - keep**2))
    return out


def trip_days(seed, count=70, *, start=START):
    rng = np.random.default_rng(seed + 77)
    return start + np.sort(rng.choice(np.arange(5, 180), count, replace=False)) + 0.3


def rows(kind, boat, group, day, depth, temp):
    depth = np.atleast_1d(np.asarray(depth, float))
    day = np.broadcast_to(np.asarray(day, float), depth.shape)
    return {
        "time": np.round(day * DAY_US).astype(np.int64),
        "depth_m": depth,
        "temp_c": np.broadcast_to(np.asarray(temp, float), depth.shape),
        "kind": np.full(depth.shape, KINDS.index(kind)),
        "boat": np.full(depth.shape, boat),
        "group": np.full(depth.shape, group),
        "line": np.zeros(depth.shape, dtype=np.int64),
    }


def together(parts):
    """Put rows under each other, as `Measured`; groups are numbered anew."""
    whole = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
    _, whole["group"] = np.unique(whole["group"], return_inverse=True)
    return Measured(**whole)


def thermometers(water, days, seed, **which):
    """What a boat measured on some days, as `parts_of`."""
    return together(parts_of(water, days, seed, **which))


def parts_of(
    water, days, seed, *, casts=(), probe=False, surface=True, cast_to=36.0, back_days=0.0
):
    """6 hours of surface readings, a probe, casts of some trips; dated back by some days."""
    rng = np.random.default_rng(seed + 5)
    parts = []
    for trip, day in enumerate(days):
        hours = day + (np.arange(2) * 3 + 1) / 24
        if surface:
            temp = water.temp(hours, 0.0) + rng.normal(0, 0.15, len(hours))
            parts.append(rows("surface", 0, 3 * trip, hours, np.zeros(len(hours)), temp))
        if probe:
            # the ball is towed where the fish are, about the thermocline; or, "anywhere", is not
            usual = np.convolve(np.pad(water.middle, 10, "edge"), np.full(21, 1 / 21), "valid")
            aim = np.interp(day, water.days, usual) + rng.normal(0, 3)
            aim = rng.uniform(6, 25) if probe == "anywhere" else max(aim, 4.0)
            depth = aim + rng.uniform(-2, 2, len(hours))
            temp = water.temp(hours, depth * 1.02) + 0.1 + rng.normal(0, 0.15, len(hours))
            parts.append(rows("probe", 0, 3 * trip + 1, hours, depth, temp))
        if trip in casts:
            depth = np.arange(0, cast_to + 1, 3.0)
            at = day + 0.5 / 24
            temp = water.temp(at, depth) + rng.normal(0, 0.2, len(depth))
            parts.append(rows("cast", 0, 3 * trip + 2, at, depth, temp))
    for part in parts:
        part["time"] = part["time"] - np.int64(back_days * DAY_US)
    return parts


def lures(days, seed, each=20):
    """Times and depths of lures through the trips."""
    rng = np.random.default_rng(seed + 9)
    day = np.repeat(days, each) + rng.uniform(0, 6, len(days) * each) / 24
    return np.round(day * DAY_US).astype(np.int64), rng.uniform(2, 32, len(day))
