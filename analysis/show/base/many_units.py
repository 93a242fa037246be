"""Owns amounts for readers of several boats: in the unit of each, the commonest first."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from analysis import labels
from analysis.units import QUANTITIES, UNITS, Units, from_si, to_si

_DIGITS = {"speed": 1}
"""Decimals of a quantity in running text; none for the others."""


@dataclass(frozen=True, kw_only=True)
class ManyUnits:
    """The units that a report's readers use.

    Parameters
    ----------
    choices : Mapping
        Quantity of `analysis.units.QUANTITIES` to its units, the one shown first in front.

    Examples
    --------
    >>> feet = Units(length="ft", depth="ft", speed="mph", temperature="F", fish_length="in",
    ...              fish_weight="lb")
    >>> metres = Units(length="m", depth="m", speed="km/h", temperature="C", fish_length="cm",
    ...                fish_weight="kg")
    >>> both = ManyUnits.of([feet, metres, feet])
    >>> both.amount(15.24, "depth"), both.between(0.9, 1.1, "speed")
    ('50 ft (15 m)', '2.0–2.5 mph (3.2–4.0 km/h)')
    """

    choices: Mapping[str, Sequence[str]]

    @classmethod
    def of(cls, boats: Iterable[Units]) -> "ManyUnits":
        """Gather the boats' own units; of two equally common ones the first of the contract."""
        counts = {quantity: Counter[str]() for quantity in QUANTITIES}
        for units in boats:
            for quantity in QUANTITIES:
                counts[quantity][units.of(quantity)] += 1
        return cls(
            choices={
                quantity: tuple(
                    sorted(counted, key=lambda unit: (-counted[unit], UNITS[quantity].index(unit)))
                )
                for quantity, counted in counts.items()
            }
        )

    def chosen(self, units: Sequence[str]) -> "ManyUnits":
        """Return the same with only the given units, for the quantities that have one of them."""
        kept = {
            quantity: tuple(unit for unit in units if unit in UNITS[quantity]) or has
            for quantity, has in self.choices.items()
        }
        return ManyUnits(choices=kept)

    @property
    def first(self) -> Units:
        """The unit of each quantity that is shown first."""
        return Units(**{quantity: units[0] for quantity, units in self.choices.items()})

    def others(self, quantity: str) -> tuple[Units, ...]:
        """Return further units for one quantity, each as a full set."""
        return tuple(replace(self.first, **{quantity: u}) for u in self.choices[quantity][1:])

    def amount(self, value: float, quantity: str) -> str:
        """Write an SI value in every unit."""
        digits = _DIGITS.get(quantity, 0)
        texts = [
            labels.amount(value, quantity, units, digits)
            for units in (self.first, *self.others(quantity))
        ]
        return _listed(texts)

    def line_outs(self, low_m: float, high_m: float) -> str:
        """Write line-outs as `labels.line_outs` does, in every unit."""
        everyone = (self.first, *self.others("length"))
        return _listed([labels.line_outs(low_m, high_m, units) for units in everyone])

    def rounded(self, value: float, quantity: str) -> float:
        """Round an SI value to what the first unit shows of it, so that a file tells no more.

        Examples
        --------
        >>> feet = Units(length="ft", depth="ft", speed="mph", temperature="F", fish_length="in",
        ...              fish_weight="lb")
        >>> ManyUnits.of([feet]).rounded(15.3, "depth")
        15.24
        """
        unit = self.first.of(quantity)
        shown = np.round(from_si(value, quantity, unit), _DIGITS.get(quantity, 0))
        return round(float(to_si(shown, quantity, unit)), 4)

    def between(self, low: float, high: float, quantity: str) -> str:
        """Write a range of SI values in every unit."""
        digits = _DIGITS.get(quantity, 0)
        everyone = (self.first, *self.others(quantity))
        return _listed([labels.between(low, high, quantity, units, digits) for units in everyone])


def _listed(texts: Sequence[str]) -> str:
    """Put all but the first in brackets."""
    return texts[0] if len(texts) == 1 else f"{texts[0]} ({', '.join(texts[1:])})"
