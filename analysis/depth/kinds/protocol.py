"""Owns what every kind of gear must tell: a kind is one file that fills this protocol.

Nothing outside a kind's own file asks which kind a gear is. What a kind does not say here no room
can know of it, and mypy refuses a kind that leaves something out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar, NamedTuple, Protocol, Self

import numpy as np
from numpy import bool_
from numpy.typing import NDArray

from analysis.depth.columns import Columns
from analysis.depth.march import Array, Tow
from analysis.depth.towline import Towed
from analysis.depth.water import Water

Shifts = Mapping[str, Array]
"""Departures of a gear's parameters from its values, arrays of one value a row, by the key of
the `Parameter`: radians for angles, else natural logarithms of a factor."""
NO_SHIFTS: Shifts = {}


@dataclass(frozen=True, kw_only=True)
class Parameter:
    """One departure from a gear's values: normal about 0 with this sd before any trial.

    Attributes
    ----------
    name
        As the kind's `tow` knows it; a roll also names its dial setting.
    sd
        In radians for angles, else of the natural logarithm of a factor.
    source
        Where the sd comes from.
    setting
        The dial setting that it belongs to; None for one of the whole gear. Parameters of one
        name lean on their neighbours on the dial (`analysis.depth.priors`).
    is_angle
        Whether it is in radians (else a logarithm of a factor).
    """

    name: str
    sd: float
    source: str
    setting: float | None = None
    is_angle: bool = False

    @property
    def key(self) -> str:
        """Its name among `Shifts`, different for each setting.

        >>> Parameter(name="roll", sd=0.17, source="", setting=1.0).key
        'roll_1'
        """
        return self.name if self.setting is None else f"{self.name}_{self.setting:g}"

    @property
    def label(self) -> str:
        """Name for people.

        >>> Parameter(name="roll", sd=0.17, source="", setting=1.0).label
        'roll at setting 1'
        """
        words = self.name.replace("_", " ")
        return words if self.setting is None else f"{words} at setting {self.setting:g}"


class Refusal(NamedTuple):
    """Rows that a kind cannot solve as written; `text` has a place for the row's value."""

    where: NDArray[bool_]
    text: str
    values: Array | None = None


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where a kind stands on the boat (common practice, no source).

    Attributes
    ----------
    order
        From the middle of the boat outward.
    tip_y_m
        How far from the middle the innermost rod tip of the kind is.
    planes
        Whether it pulls to the side by its dial: such lines are kept apart sideways, and settings
        rise outward.
    built_in
        Whether it belongs to the boat: none is added that the log does not know.
    trail
        Column of the line that trails level behind the deep end, to the lure; empty for none.
    """

    order: int
    tip_y_m: float
    planes: bool = False
    built_in: bool = False
    trail: str = ""


class OnBoat:
    """What a kind tells whose lines go straight to the boat."""

    why_lost: ClassVar[str] = ""

    def held(self, towed: Towed, columns: Columns, water: Water, shifts: Shifts) -> Towed:
        """Return it as it is."""
        return towed


class NoDial(OnBoat):
    """What a kind without a dial tells of it, and that only integration serves it."""

    @property
    def dial(self) -> tuple[float, ...]:
        """No dial."""
        return ()

    @property
    def closed(self) -> bool:
        """It is integrated."""
        return False

    def roll_rad(self, setting: Array) -> Array:
        """Return 0: it pulls straight."""
        return np.zeros(setting.size)


class Gear(Protocol):
    """A gear of boat.toml: frozen, checked when made; its numbers are its keys."""

    __dataclass_fields__: ClassVar[dict[str, Any]]
    kind: ClassVar[str]
    """The word behind `kind =`."""
    example: ClassVar[str]
    """A table of boat.toml, for messages and the page of keys."""
    hangs_from: ClassVar[str]
    """What holds its line, in words; depths, sides and lengths astern are from there."""
    place: ClassVar[Place]

    @property
    def name(self) -> str:
        """Its name in the log."""

    @property
    def dial(self) -> tuple[float, ...]:
        """The settings that are marked on the dial, from the lowest; none without a dial."""

    @property
    def lure_drag_area_m2(self) -> float:
        """Drag area of what fishes at its deep end."""

    @property
    def closed(self) -> bool:
        """Whether `closed` serves it: solving a row costs less than telling rows apart."""

    @classmethod
    def from_toml(cls, name: str, given: Mapping[str, Any]) -> Self:
        """Make it from its table without `kind`; raise GearError naming key and remedy."""

    def relevant(self, columns: Columns) -> Columns:
        """Blank what does not matter to it, so that rows equal in the rest are equal."""

    def refusals(self, columns: Columns) -> Iterator[Refusal]:
        """Tell which rows it cannot solve as written, the gravest first."""

    def tow(self, columns: Columns, water: Water, shifts: Shifts) -> Tow:
        """Return the loads on each row's line."""

    why_lost: ClassVar[str]
    """Why `held` has no answer where the line itself has one; empty where it always has."""

    def held(self, towed: Towed, columns: Columns, water: Water, shifts: Shifts) -> Towed:
        """Return lines as they run behind what holds their upper end, where that is not the rod."""

    def longest_m(self, spool_m: float) -> float:
        """Return the most line there is, by the spool or by the gear itself."""

    def parameters(self) -> tuple[Parameter, ...]:
        """Return what is uncertain of it with its priors.

        A parameter that depth cannot tell from another is one parameter.
        """

    def roll_rad(self, setting: Array) -> Array:
        """Return the tilt of its pull at dial settings, NaN off the dial; 0 without a dial."""

    def untold(self, trials: Columns, uses: Columns) -> list[str]:
        """Say what trials cannot tell of it, over the uses in which its depth is to be known."""

    def top_height_m(self, tip_height_m: float) -> float:
        """Return the height of what holds its line, for a rod tip of this height."""

    def thicker(self, factor: float) -> Self:
        """Return it on line of another diameter (without changing its weight)."""

    def with_lure_drag(self, area_m2: float) -> Self:
        """Return it with a lure of another drag area."""

    def raised(self, height_m: float) -> Self:
        """Return it with what holds its line at another height, where that is its own."""
