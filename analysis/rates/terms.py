"""What a catch-rate model is made of: the curves and effects, and their design matrix."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.stats.marginal_likelihood import Block
from analysis.stats.pspline import Smooth

Array = NDArray[np.float64]

CURVE_SCALE = 1.0
WATER_SCALE = 3.0
"""Scales of slope and bend of a curve, in log rate: of tackle or of a drift with the season, and of
depth or temperature. A bell whose standard deviation is four tenths of half the range bends by 3;
with a scale of 1 the curves of few strikes were too flat (tests/benchmarks/coverage_study.md)."""
DEVIATION_SCALE = 0.3
EFFECT_SCALE = 0.3
UNTOLD_SD = 0.5
"""Of slope and bend of a curve of tackle or speed that no strike tells, in log rate: from the
middle of its range to an end the rate then changes by less than a factor of three nine times in
ten (assumed, no source)."""
MOST_OF_WATER = 6.0
MOST_OF_DEVIATION = 1.8
MOST_OF_TACKLE = 3.0
"""Largest standard deviations that strikes may choose: of slope and bend in depth or temperature,
of the deviation from them, and of tackle in those of its prior. A depth may be empty of fish, but
no tackle is so bad (assumed, no source). Few strikes leave more open."""
WARMTH = "lure_temp_c"
WATER = ("depth_m", WARMTH, "drift")
"""Terms that say where the lure was; the others say what was towed and how."""


@dataclass(frozen=True, kw_only=True)
class Effects:
    """One shrunk effect for each level of a label, such as gear and setting.

    Shrinkage matters: each gear fishes its own depths, so gear and depth are confounded and an
    unshrunk gear effect would swallow the depth curve.
    """

    name: str
    levels: tuple[str, ...]

    @property
    def blocks(self) -> tuple[int, ...]:
        """One block with a column a level."""
        return (len(self.levels),)

    def design(self, values: NDArray[np.integer]) -> Array:
        """Build indicator columns (values, levels) from level numbers; zeros for a number of -1."""
        columns = np.zeros((len(values), len(self.levels)))
        known = np.flatnonzero(values >= 0)
        columns[known, values[known]] = 1.0
        return columns

    def log_rate(self, values: NDArray[np.integer], coef: Array) -> Array:
        """Return the coefficient of each level; 0 for a number of -1."""
        return np.asarray(np.append(coef, 0.0)[values])


@dataclass(frozen=True, kw_only=True)
class Drift:
    """A depth curve that moves through the season: its parabola times the time of season."""

    smooth: Smooth
    middle: float
    half: float
    name: str = "drift"

    @property
    def blocks(self) -> tuple[int, ...]:
        """One block: slope and curvature, each changing linearly with time."""
        return (2,)

    def design(self, values: Array) -> Array:
        """Columns at ``values``, an array (rows, 2) of depth and time of season in days."""
        return self._parabola.design(values[:, 0]) * self._time(values)[:, None]

    def log_rate(self, values: Array, coef: Array) -> Array:
        """Return ``design(values) @ coef``."""
        return self._parabola.log_rate(values[:, 0], coef) * self._time(values)

    @property
    def _parabola(self) -> Smooth:
        return replace(self.smooth, wiggles=0)

    def _time(self, values: Array) -> Array:
        return np.asarray((values[:, 1] - self.middle) / self.half)


Term = Smooth | Effects | Drift


@dataclass(frozen=True, kw_only=True)
class RateModel:
    """Log strikes per rod-hour as a sum of terms; what a stratum shares is not in it.

    Attributes
    ----------
    terms : tuple of Term
    untold : frozenset of str
        Names of terms in which rods fished together did not differ, so that no strike tells their
        effect: it stays at a prior of known size. See `analysis.rates.contrast`.
    """

    terms: tuple[Term, ...]
    untold: frozenset[str] = frozenset()

    @property
    def warm(self) -> bool:
        """Whether the temperature at the lure is one of its terms."""
        return WARMTH in self.names

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the terms."""
        return tuple(term.name for term in self.terms)

    @property
    def blocks(self) -> tuple[Block, ...]:
        """Blocks of coefficients with the scale of their prior."""
        found: list[Block] = []
        first = 0
        for term in self.terms:
            for part, size in enumerate(term.blocks):
                if isinstance(term, Effects):
                    kind, scale = "levels", EFFECT_SCALE
                elif part == 0:
                    wide = isinstance(term, Smooth) and term.name in WATER
                    kind, scale = "parabola", WATER_SCALE if wide else CURVE_SCALE
                else:
                    kind, scale = "deviation", DEVIATION_SCALE
                known = min(scale, CURVE_SCALE if term.name in WATER else UNTOLD_SD)
                least, most = 0.01, MOST_OF_TACKLE * known
                if term.name in WATER:
                    most = MOST_OF_WATER if part == 0 else MOST_OF_DEVIATION
                if term.name in self.untold:
                    scale = least = most = known
                found.append(
                    Block(
                        name=f"{term.name}: {kind}",
                        columns=slice(first, first + size),
                        scale=scale,
                        least=least,
                        most=most,
                    )
                )
                first += size
        return tuple(found)

    @property
    def size(self) -> int:
        """Number of columns of the design."""
        return sum(sum(term.blocks) for term in self.terms)

    def columns_of(self, name: str) -> slice:
        """Columns of the term called ``name``; an empty slice where the model has none."""
        first = 0
        for term in self.terms:
            size = sum(term.blocks)
            if term.name == name:
                return slice(first, first + size)
            first += size
        return slice(first, first)

    @property
    def of_water(self) -> NDArray[np.bool_]:
        """Columns of the terms that say where the lure was."""
        found = np.zeros(self.size, dtype=bool)
        for name in WATER:
            found[self.columns_of(name)] = True
        return found

    @property
    def water(self) -> RateModel:
        """The terms that say where the lure was, alone."""
        return RateModel(terms=tuple(term for term in self.terms if term.name in WATER))

    @property
    def tackle(self) -> RateModel:
        """The terms that say what was towed and how, alone."""
        return RateModel(terms=tuple(term for term in self.terms if term.name not in WATER))

    def term(self, name: str) -> Term | None:
        """Return the term called ``name``, or None."""
        return next((term for term in self.terms if term.name == name), None)

    def design(self, values: dict[str, NDArray[np.generic]], rows: int) -> Array:
        """Design matrix (rows, size) from one array of values a term.

        A term that ``values`` does not name is left at its reference: zeros.
        """
        matrix = np.zeros((rows, self.size))
        for term in self.terms:
            if term.name in values:
                matrix[:, self.columns_of(term.name)] = term.design(values[term.name])  # type: ignore[arg-type]
        return matrix

    def log_rate(self, values: dict[str, NDArray[np.generic]], coef: Array, rows: int) -> Array:
        """Return ``design(values, rows) @ coef``, faster; ``values`` must name every term."""
        total = np.zeros(rows)
        for term in self.terms:
            total += term.log_rate(values[term.name], coef[self.columns_of(term.name)])  # type: ignore[arg-type]
        return total

    @property
    def formula(self) -> str:
        """The model in words of a formula."""
        parts = []
        for term in self.terms:
            if isinstance(term, Effects):
                parts.append(f"shrunk({term.name})")
            elif isinstance(term, Drift):
                parts.append("s(depth_m) x time of season")
            else:
                parts.append(_in_formula(term))
        return "log(strikes per rod-hour) = " + " + ".join(parts)


def _in_formula(term: Smooth) -> str:
    """``s(x)`` for a penalised smooth, ``peak(x)`` for a parabola alone, ``x`` for a line."""
    name = f"log {term.name}" if term.logarithmic else term.name
    if term.wiggles:
        return f"s({name})"
    return f"peak({name})" if term.order > 1 else name
