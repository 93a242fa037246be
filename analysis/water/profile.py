"""Owns the form of a temperature profile: a mixed layer over a thermocline over deep water."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

DENSEST_C = 3.98
"""Temperature of greatest density of fresh water (IAPWS; the tests hold it to the standard)."""

BUMP_AT = np.linspace(-5.0, 5.0, 9)
"""Places at which casts may correct the form, in thicknesses from the middle of the fall."""
BUMP_WIDTH = 1.25
SKIN_M = 1.5
"""The correction fades toward the surface, whose temperature is measured, over this depth."""
LEAST_MIDDLE_M = 1.0
MOST_STEEP = 40.0


@dataclass(frozen=True)
class Slopes:
    """Derivatives of profiles' temperatures by what makes the profile; the share of the fall.

    ``share`` is the derivative by the surface temperature, and 1 less that by the deep one.
    """

    middle: Array
    thickness: Array
    lean: Array
    depth: Array
    share: Array
    bumps: Array


@dataclass(frozen=True)
class _Shared:
    """What the derivatives of a profile share; those of places by depth, and at the surface."""

    temp_c: Array
    share: Array
    contrast: Array
    by_place: Array
    by_top: Array
    here: tuple[Array, ...]
    there: tuple[Array, ...]

    def slope(self, of: int) -> Array:
        """Bring a derivative of the place to one of the temperature."""
        moved = self.by_place * self.here[of] + self.by_top * self.there[of]
        return np.asarray(self.contrast * moved)


@dataclass(frozen=True)
class Profile:
    """Profiles of one form, one for each entry; all shapes broadcast.

    The temperature is self-similar, as lake models take it since Kitaigorodskii & Miropolsky
    (1970, *Izv. Akad. Nauk SSSR, Fiz. Atm. Okeana* 6, 97-102; Mironov 2008, FLake, *COSMO
    Technical Report* 11; both from memory)::

        T(z) = deep + (surface - deep) s((z - middle) / thickness)

    with ``s`` a logistic fall whose upper and lower half differ in thickness by the factor
    ``exp(2 lean)``: a sharp edge of the mixed layer over a long tail where ``lean`` is positive.
    It is 1 at the surface. Where the surface is as warm as the deep water it is the same all the
    way down, and where it is colder the profile stands on its head.

    Attributes
    ----------
    surface_c, deep_c : array
    middle_m : array
        Depth at which the temperature has fallen half-way; soft below `LEAST_MIDDLE_M`.
    log_thickness : array
        Log of the thickness in metres: a quarter of the layer in which nearly all of it falls.
    lean : array
    bumps : (..., places) array
        Corrections of the form at `BUMP_AT`, in shares of surface less deep.
    """

    surface_c: Array
    deep_c: Array
    middle_m: Array
    log_thickness: Array
    lean: Array
    bumps: Array

    def temp_c(self, depth_m: Array) -> Array:
        """Temperature at some depths."""
        place, top = self._place(depth_m), self._place(np.zeros(()))
        share = _fall(place) / _fall(top) + np.sum(_bumps(place, depth_m) * self.bumps, axis=-1)
        return np.asarray(self.deep_c + (self.surface_c - self.deep_c) * share)

    def by_middle(self, depth_m: Array) -> tuple[Array, Array]:
        """Temperature at some depths, and its derivative by the middle alone."""
        _, shared = self._shared(depth_m)
        return shared.temp_c, shared.slope(0)

    def slopes(self, depth_m: Array) -> tuple[Array, Slopes]:
        """Temperature at some depths, and its derivatives."""
        bumps, shared = self._shared(depth_m)
        return shared.temp_c, Slopes(
            middle=shared.slope(0),
            thickness=shared.slope(1),
            lean=shared.slope(2),
            # of the skin, nothing: the surface is measured
            depth=shared.contrast * shared.by_place * shared.here[3],
            share=shared.share,
            bumps=shared.contrast[..., None] * bumps,
        )

    def _shared(self, depth_m: Array) -> tuple[Array, _Shared]:
        """Work out what all derivatives share, and the corrections (..., places)."""
        place, here = self._placed(depth_m)
        top, there = self._placed(np.zeros(()))
        fall, whole = _fall(place), _fall(top)
        bumps = _bumps(place, depth_m)
        corrected = bumps * self.bumps
        corrections = np.sum(corrected, axis=-1)
        steep = (place * corrections - corrected @ BUMP_AT) / BUMP_WIDTH**2
        share = fall / whole + corrections
        contrast = np.asarray(self.surface_c - self.deep_c)
        return bumps, _Shared(
            temp_c=np.asarray(self.deep_c + contrast * share),
            share=share,
            contrast=contrast,
            by_place=-fall * (1.0 - fall) / whole - steep,
            by_top=fall / whole * (1.0 - whole),
            here=here,
            there=there,
        )

    def _scaled(self, depth_m: Array) -> tuple[Array, Array]:
        """Distance below the middle in thicknesses, and how far it counts as the lower half."""
        middle = LEAST_MIDDLE_M + np.logaddexp(0.0, self.middle_m - LEAST_MIDDLE_M)
        scaled = (depth_m - middle) * np.exp(-self.log_thickness)
        return scaled, 1.0 - _fall(2.0 * scaled)

    def _place(self, depth_m: Array) -> Array:
        """Place within the fall: thicknesses below the middle, of the half it is in."""
        scaled, lower = self._scaled(depth_m)
        stretch = (1.0 - lower) * np.exp(self.lean) + lower * np.exp(-self.lean)
        return np.asarray(np.clip(scaled * stretch, -MOST_STEEP, MOST_STEEP))

    def _placed(self, depth_m: Array) -> tuple[Array, tuple[Array, ...]]:
        """Return the place, and its derivatives by middle, log thickness, lean and depth."""
        scaled, lower = self._scaled(depth_m)
        up, down = np.exp(self.lean), np.exp(-self.lean)
        stretch = (1.0 - lower) * up + lower * down
        by_scaled = stretch + 2.0 * scaled * lower * (1.0 - lower) * (down - up)
        by_depth = by_scaled * np.exp(-self.log_thickness)
        soft = 1.0 - _fall(self.middle_m - LEAST_MIDDLE_M)
        return np.asarray(np.clip(scaled * stretch, -MOST_STEEP, MOST_STEEP)), (
            -by_depth * soft,
            -scaled * by_scaled,
            scaled * ((1.0 - lower) * up - lower * down),
            by_depth,
        )


def _fall(place: Array) -> Array:
    """Fall from 1 to 0."""
    return np.asarray(1.0 / (1.0 + np.exp(np.clip(place, -MOST_STEEP, MOST_STEEP))))


def _bumps(place: Array, depth_m: Array) -> Array:
    """Change of the share for each correction (..., places)."""
    away = (place[..., None] - BUMP_AT) / BUMP_WIDTH
    below = 1.0 - np.exp(-np.asarray(depth_m) / SKIN_M)
    return np.asarray(np.exp(-0.5 * away**2) * below[..., None])
