"""Owns the rigger: a ball on a cable, the fishing line clipped along it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, ClassVar, Self

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
    read_reference,
    reference,
)
from analysis.depth.kinds.loads import (
    Leader,
    dynamic_pressure,
    lure_behind,
    tow_along,
    untold_speeds,
)
from analysis.depth.kinds.protocol import NoDial, Parameter, Place, Refusal, Shifts
from analysis.depth.march import Tow
from analysis.depth.own_units import in_si, line_size
from analysis.depth.water import Water
from analysis.errors import GearError, toml_key

GRAVITY_M_S2 = 9.80665  # standard gravity
LEAD_M = 5.0  # of a lure that dives, where none is logged (common practice, no source)
LEAD_MM = 0.35  # of such a lead, where no line lies along the cable
_BALL = "20 %: sphere 0.44-0.48 measured below Re 2e5, fins, clip and lure from memory"
_CABLE = "30 %: as a diver's line, and two lines side by side shade each other"


@dataclass(frozen=True, kw_only=True)
class Rigger(NoDial):
    """A ball on a cable; the fishing line lies along the cable and adds its drag.

    A sphere below Re 2e5 has a drag coefficient of 0.44-0.48 (measured points: 0.4732 at
    Re 58 880, 0.4395 at 1.702e5). `counter_zero` tells where the cable counter reads zero.
    """

    kind: ClassVar[str] = "rigger"
    example: ClassVar[str] = (
        '[gear.rigger]\nkind = "rigger"\nball_mass_kg = 4.536\npulley_height_m = 1.2\n'
    )
    hangs_from: ClassVar[str] = "pulley"
    place: ClassVar[Place] = Place(order=1, tip_y_m=1.2, built_in=True, trail="lead_m")
    name: str = "rigger"
    ball_mass_kg: float = number(0.0, 100.0, "kg", "mass of the ball", 4.536, zero=False)
    ball_density_kg_m3: float = number(
        1000.0, 22_600.0, "kg/m3", "density of the ball", 11340.0, zero=False
    )
    ball_drag: float = number(0.0, 5.0, "-", "drag coefficient of the ball", 0.47)
    lure_drag_area_m2: float = area("drag area of leader and lure", 0.0005)
    cable_diameter_mm: float = diameter("diameter of the cable", 0.9)
    cable_weight_n_per_m: float = number(
        -0.5, 20.0, "N/m", "weight in water of a metre of cable", 0.0257
    )
    normal_drag: float = drag_across()
    tangential_drag: float = drag_along()
    clipped_line_diameter_mm: float = diameter(
        "diameter of the fishing line along the cable, 0 for none", 0.35, zero=True
    )
    clipped_normal_drag: float = number(0.0, 5.0, "-", "drag coefficient across that line", 1.2)
    clipped_tangential_drag: float = drag_along()
    pulley_height_m: float = number(0.0, 10.0, "m", "height of the pulley above the water", 1.2)
    counter_zero: str = described(
        "text", '"pulley" or "surface": where the ball is when the counter reads 0', "pulley"
    )
    clips_m: tuple[float, ...] = described(
        "list of m", "cable from the ball up to where each line on it is clipped", (0.0,)
    )
    fishes_at_m: float = number(
        0.0, 200.0, "m", "which of these lines this gear is; the lowest unless given", 0.0
    )
    line_doubt: float = doubt_of("diameter of cable and line")
    reference: str = reference()

    def __post_init__(self) -> None:
        """Check ranges, the counter's zero and the lines on the cable, naming the key."""
        where = toml_key("gear", self.name)
        check_numbers(where, self)
        check_clips(where, self.clips_m, self.fishes_at_m)
        if self.counter_zero not in ("pulley", "surface"):
            raise GearError(
                problem=f"{self.counter_zero!r} is no place where a counter reads 0",
                key=toml_key("gear", self.name, "counter_zero"),
                remedy='write "pulley" or "surface", where the ball is when the counter reads 0',
            )

    @classmethod
    def from_toml(cls, name: str, given: Mapping[str, Any]) -> Self:
        """Make it from its table; see the protocol."""
        where = toml_key("gear", name)
        keys = dict(given)
        if "ball_weight" in keys:
            keys["ball_mass"] = keys.pop("ball_weight")
        if "clips" in keys:
            keys["clips_m"] = heights(f"{where}.clips", keys.pop("clips"))
        if "line" in keys:
            size = line_size(f"{where}.line", keys.pop("line"))
            keys = {
                "clipped_line_diameter_mm": size.diameter_mm,
                "line_doubt": size.diameter_doubt,
                **keys,
            }
        keys = known(where, keys, cls, hidden="name")
        read_reference(name, keys)
        if isinstance(keys.get("clips_m"), list):
            keys["clips_m"] = tuple(keys["clips_m"])
            if keys["clips_m"]:
                keys.setdefault("fishes_at_m", keys["clips_m"][0])
        return cls(**{**keys, "name": name})

    def relevant(self, columns: Columns) -> Columns:
        """Blank dial, rod tip and leader: it hangs from its pulley; a lead matters to a diver."""
        columns = columns.without("setting", "tip_height_m", "leader_length_m")
        return columns.without("lead_m", where=~columns.described)

    def refusals(self, columns: Columns) -> Iterator[Refusal]:
        """Refuse a line that would be clipped on above the pulley."""
        text = f"a line clipped on {self.fishes_at_m:g} m above the ball is out of the water with "
        text += "{:g} m of cable out"
        yield Refusal(columns.line_out_m <= self.fishes_at_m, text, columns.line_out_m)

    def tow(self, columns: Columns, water: Water, shifts: Shifts) -> Tow:
        """Return the forces of ball and lures, and the loads of the cable and the lines along it.

        The lines are clipped on at `clips_m` above the ball; each adds its drag to the cable above
        its clip, and its lure's drag there.
        """
        q = dynamic_pressure(columns, water.density_kg_m3)
        volume = self.ball_mass_kg / self.ball_density_kg_m3
        ball_area = self.ball_drag * np.pi / 4.0 * (6.0 * volume / np.pi) ** (2.0 / 3.0)
        cable, line = self.cable_diameter_mm / 1000.0, self.clipped_line_diameter_mm / 1000.0
        above = [clip for clip in sorted(self.clips_m) if clip > 0.0]
        along = np.array([sum(clip <= low for clip in self.clips_m) for low in (0.0, *above)])
        along = along[:, None]
        normal = cable * self.normal_drag + along * line * self.clipped_normal_drag
        tangential = cable * self.tangential_drag + along * line * self.clipped_tangential_drag
        more, thicker = np.exp(shifts.get("end_drag", 0.0)), np.exp(shifts.get("line_drag", 0.0))
        lead = Leader(
            length_m=np.where(np.isnan(columns.lead_m), LEAD_M, columns.lead_m),
            diameter_mm=self.clipped_line_diameter_mm or LEAD_MM,
            normal_drag=self.clipped_normal_drag,
            tangential_drag=self.clipped_tangential_drag,
        )
        pull, trail = lure_behind(columns, q, lead)
        plain = np.zeros((3, columns.size))
        plain[0] = q * self.lure_drag_area_m2 * more
        own = np.where(columns.described, pull, plain)
        lures = {clip: own if clip == self.fishes_at_m else plain for clip in self.clips_m}
        astern, side, down = lures.get(0.0, np.zeros((3, columns.size)))
        below_pulley = self.pulley_height_m if self.counter_zero == "surface" else 0.0
        tow = tow_along(
            columns,
            astern=q * ball_area * more + astern,
            side=side,
            down=down + (self.ball_mass_kg - water.density_kg_m3 * volume) * GRAVITY_M_S2,
            normal=q * normal * thicker,
            tangential=q * np.pi * tangential,
            weight=self.cable_weight_n_per_m,
        )
        lumps = [lures[clip] for clip in above]
        top = np.array([*above, np.inf])[:, None] + np.zeros(columns.size)
        lump = np.stack([*lumps, np.zeros((3, columns.size))], axis=1)
        return replace(
            tow,
            top_m=top,
            lump_n=lump,
            line_out_m=columns.line_out_m + below_pulley,
            height_m=np.full(columns.size, self.pulley_height_m),
            from_m=np.full(columns.size, self.fishes_at_m),
            trail_m=trail,
        )

    def longest_m(self, spool_m: float) -> float:
        """Return what the drum holds."""
        return spool_m

    def parameters(self) -> tuple[Parameter, ...]:
        """Return the drag of the ball and of the cable.

        >>> [parameter.label for parameter in Rigger().parameters()]
        ['end drag', 'line drag']
        """
        return (
            Parameter(name="end_drag", sd=0.20, source=_BALL),
            Parameter(name="line_drag", sd=float(np.hypot(0.30, self.line_doubt)), source=_CABLE),
        )

    def untold(self, trials: Columns, uses: Columns) -> list[str]:
        """Say where all trials ran at one speed."""
        return untold_speeds(trials)

    def top_height_m(self, tip_height_m: float) -> float:
        """Return the pulley's."""
        return self.pulley_height_m

    def thicker(self, factor: float) -> Self:
        """Return it on another cable."""
        return replace(self, cable_diameter_mm=factor * self.cable_diameter_mm)

    def with_lure_drag(self, area_m2: float) -> Self:
        """Return it with another lure."""
        return replace(self, lure_drag_area_m2=area_m2)

    def raised(self, height_m: float) -> Self:
        """Return it with its pulley at another height."""
        return replace(self, pulley_height_m=height_m)


def heights(where: str, value: object) -> list[float]:
    """Read heights above the ball, each with its unit."""
    if not isinstance(value, list):
        remedy = 'write a list such as clips = ["0 ft", "20 ft"]'
        raise GearError(problem=f"{value!r} is no list", key=where, remedy=remedy)
    return [in_si(where, {"at": height}, ["at_m"])["at_m"] for height in value]


def check_clips(where: str, clips_m: tuple[float, ...], fishes_at_m: float) -> None:
    """Check where lines are clipped to a cable, naming the key."""
    for height in clips_m:
        if isinstance(height, bool) or not isinstance(height, (int, float)) or not height >= 0.0:
            raise GearError(
                problem=f"{height!r} is no height above the ball",
                key=f"{where}.clips_m",
                remedy="give metres of cable from the ball up, such as clips_m = [0.0, 6.0]",
            )
    if len(set(clips_m)) < len(clips_m):
        raise GearError(
            problem=f"two lines are clipped on at one height ({', '.join(map(str, clips_m))} m)",
            key=f"{where}.clips_m",
            remedy="they would tangle: give each its own height",
        )
    if fishes_at_m not in clips_m:
        raise GearError(
            problem=f"no line is clipped on {fishes_at_m:g} m above the ball",
            key=f"{where}.fishes_at_m",
            remedy=f"write one of the heights in clips_m: {', '.join(map(str, clips_m))}",
        )
