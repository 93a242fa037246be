"""Owns what a line is made of: parts from the deep end up, and weights clipped onto it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from analysis.depth.columns import Columns
from analysis.depth.fields import (
    area,
    check_numbers,
    described,
    diameter,
    doubt_of,
    drag_across,
    drag_along,
    known,
    number,
    table,
)
from analysis.depth.kinds.protocol import Refusal
from analysis.depth.march import Array
from analysis.depth.own_units import line_size
from analysis.errors import GearError

LEADER = "leader"  # the part whose length a log may replace


@dataclass(frozen=True, kw_only=True)
class Part:
    """One stretch of a line; the gear that holds it checks it and can name it.

    Only the last part, at the rod, may leave its length open. A lump sits at the part's upper
    end. A drag coefficient left out is the gear's.
    """

    name: str = described(
        "text", "name of the part; the length of a `leader` is replaced by the log's"
    )
    length_m: float | None = number(0.0, 10_000.0, "m", "length of the part", None, zero=False)
    diameter_mm: float = diameter("diameter of the part")
    weight_n_per_m: float = number(-0.5, 20.0, "N/m", "weight in water of a metre of line", 0.0)
    normal_drag: float | None = drag_across(None)
    tangential_drag: float | None = drag_along(None)
    lump_weight_n: float = number(-5.0, 200.0, "N", "weight in water of the lump", 0.0)
    lump_drag_area_m2: float = area("drag area (Cd times frontal area) of the lump", 0.0)
    diameter_doubt: float = doubt_of("diameter")
    weight_doubt: float = doubt_of("weight of the line")


@dataclass(frozen=True, kw_only=True)
class Clip:
    """A weight clipped onto a line."""

    at_m: float = number(
        0.0, 500.0, "m", "line from the deep end (lure or disc) up to the weight", zero=False
    )
    weight_n: float = number(-5.0, 200.0, "N", "weight in water")
    drag_area_m2: float = area("drag area (Cd times frontal area)", 0.0)


@dataclass(frozen=True, kw_only=True)
class LineLoads:
    """Loads of a line in stretches, as `Tow` takes them: (m, n), the lumps (3, m, n)."""

    normal_n_per_m: Array
    tangential_n_per_m: Array
    weight_n_per_m: Array
    top_m: Array
    lump_n: Array


def parts_from_toml(where: str, value: object) -> tuple[Part, ...]:
    """Read the list of parts; raise GearError naming the part and the remedy."""
    if not isinstance(value, (list, tuple)):
        problem = f"{value!r} is no list"
        raise GearError(problem, key=where, remedy="write a list of parts")
    return tuple(_part(where, place, part) for place, part in enumerate(value))


def clips_from_toml(where: str, value: object) -> tuple[Clip, ...]:
    """Read the list of weights clipped on; raise GearError naming the weight and the remedy."""
    example = 'write a list such as clipped = [{ at = "50 ft", weight = "8 oz" }]'
    if not isinstance(value, (list, tuple)):
        raise GearError(problem=f"{value!r} is no list", key=where, remedy=example)
    clips = []
    for place, given in enumerate(value):
        key = f"{where}[{place}]"
        keys = known(key, table(key, given), Clip)
        for name in ("at_m", "weight_n"):
            if name not in keys:
                raise GearError(problem=f"{name} is missing", key=key, remedy=example)
        clips.append(Clip(**keys))
    return tuple(clips)


def check_line(where: str, parts: Sequence[Part], clips: Sequence[Clip]) -> None:
    """Check each part and weight, naming the key."""
    for place, part in enumerate(parts):
        check_numbers(f"{where}.parts.{part.name}", part)
        if part.length_m is None and place < len(parts) - 1:
            raise GearError(
                problem="the length is missing",
                key=f"{where}.parts.{part.name}.length_m",
                remedy="give its length in metres; only the last part may leave it open",
            )
    names = [part.name for part in parts]
    if len(set(names)) < len(names):
        raise GearError(
            problem=f"two parts share a name ({', '.join(names)})",
            key=f"{where}.parts",
            remedy="give each part a name of its own",
        )
    for place, clip in enumerate(clips):
        check_numbers(f"{where}.clipped[{place}]", clip)
    if len({clip.at_m for clip in clips}) < len(clips):
        raise GearError(
            problem="two weights are clipped on at one place",
            key=f"{where}.clipped",
            remedy="write their weights as one",
        )


def part_lengths(parts: Sequence[Part], columns: Columns) -> Array:
    """Return (m, n): the length of each part, a logged leader replacing the gear's."""
    rows = []
    for part in parts:
        row = np.full(columns.size, np.inf if part.length_m is None else part.length_m)
        if part.name == LEADER:
            row = np.where(np.isnan(columns.leader_length_m), row, columns.leader_length_m)
        rows.append(row)
    return np.array(rows)


def refuse_line(
    parts: Sequence[Part], clips: Sequence[Clip], columns: Columns
) -> Iterator[Refusal]:
    """Refuse more line than there is, and a weight clipped on above the rod tip."""
    length = columns.line_out_m
    if parts and parts[-1].length_m is not None:
        text = "a line-out of {:g} m is more than all parts of the line together"
        yield Refusal(length > part_lengths(parts, columns).sum(axis=0), text, length)
    for clip in clips:
        text = (
            f"a weight clipped on at {clip.at_m:g} m would be above the rod tip with {{:g}} m out"
        )
        yield Refusal(length <= clip.at_m, text, length)


def line_loads(
    parts: Sequence[Part],
    clips: Sequence[Clip],
    lengths_m: Array,
    q: Array,
    *,
    normal_drag: float,
    tangential_drag: float,
    drags_more: Array | float = 1.0,
    heavier: Array | float = 1.0,
) -> LineLoads:
    """Return the loads of a line, cut at the ends of its parts and at the weights clipped on.

    Parameters
    ----------
    parts, clips
        What it is made of.
    lengths_m : (m, n)
        Length of each part on each row.
    q : (n,)
        Dynamic pressure, Pa.
    normal_drag, tangential_drag
        Coefficients of parts that have none of their own.
    drags_more, heavier
        Factors of drag across the line, and of the weights of line and lumps.
    """

    def of_parts(values: list[float]) -> Array:
        return np.array(values)[:, None] + np.zeros(q.size)

    across = [normal_drag if p.normal_drag is None else p.normal_drag for p in parts]
    along = [tangential_drag if p.tangential_drag is None else p.tangential_drag for p in parts]
    line_m = of_parts([p.diameter_mm / 1000.0 for p in parts])
    normal = q * line_m * of_parts(across) * drags_more
    tangential = q * np.pi * line_m * of_parts(along)
    weight = of_parts([p.weight_n_per_m for p in parts]) * heavier
    top = np.cumsum(lengths_m, axis=0)
    lump = np.zeros((3, len(parts) + len(clips), q.size))
    lump[0, : len(parts)] = q * of_parts([p.lump_drag_area_m2 for p in parts])
    lump[2, : len(parts)] = of_parts([p.lump_weight_n for p in parts]) * heavier
    if not clips:
        return LineLoads(
            normal_n_per_m=normal,
            tangential_n_per_m=tangential,
            weight_n_per_m=weight,
            top_m=top,
            lump_n=lump,
        )
    lump[0, len(parts) :] = q * of_parts([clip.drag_area_m2 for clip in clips])
    lump[2, len(parts) :] = of_parts([clip.weight_n for clip in clips]) * heavier
    cuts = np.concatenate([top, of_parts([clip.at_m for clip in clips])])
    order = np.argsort(cuts, axis=0, kind="stable")
    cuts = np.take_along_axis(cuts, order, axis=0)
    start = np.concatenate([np.zeros((1, q.size)), cuts[:-1]])
    part = np.minimum(np.sum(top <= start[:, None], axis=1), len(parts) - 1)
    return LineLoads(
        normal_n_per_m=np.take_along_axis(normal, part, axis=0),
        tangential_n_per_m=np.take_along_axis(tangential, part, axis=0),
        weight_n_per_m=np.take_along_axis(weight, part, axis=0),
        top_m=cuts,
        lump_n=np.take_along_axis(lump, order[None], axis=1),
    )


def _part(where: str, number: int, value: object) -> Part:
    given = dict(table(f"{where}[{number}]", value))
    name = given.get("name")
    if not isinstance(name, str) or not name:
        raise GearError(
            problem="the part has no name",
            key=f"{where}[{number}].name",
            remedy='name the part, such as name = "leader"',
        )
    if "line" in given:
        size = line_size(f"{where}.{name}.line", given.pop("line"))
        given = {**vars(size), **given}
    given = known(f"{where}.{name}", given, Part)
    if "diameter_mm" not in given:
        raise GearError(
            problem="the diameter is missing",
            key=f"{where}.{name}.diameter_mm",
            remedy='give it in millimetres, or name the line, such as line = "27 lb lead core"',
        )
    return Part(**given)
