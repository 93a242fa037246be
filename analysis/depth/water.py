"""Owns properties of fresh water and the Reynolds number of what is towed through it.

They set the default density and say in which range the constant drag coefficients hold: a
0.30 mm line at 1.1 m/s is at Re 250, a 4.5 kg ball at Re 77 000 (10 C), below the drop of the
sphere's drag near Re 2e5.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from analysis.depth.fields import check_numbers, known, number, table
from analysis.depth.march import Array

_COLDEST_C, _WARMEST_C = 0.0, 40.0


@dataclass(frozen=True, kw_only=True)
class Water:
    """The water the gear is towed through.

    Density of fresh water is 999.8, 999.7, 998.2, 995.7 kg/m3 at 0, 10, 20, 30 C (the tests
    check the default against the IAPWS standard); sea water reaches 1030.

    >>> Water().density_kg_m3
    999.7
    """

    density_kg_m3: float = number(900.0, 1100.0, "kg/m3", "density of the water", 999.7)

    def __post_init__(self) -> None:
        """Check the range, naming the key."""
        check_numbers("water", self)


FRESH_WATER = Water()


def water_from_toml(mapping: Mapping[str, Any]) -> Water:
    """Make the water from the `[water]` table of boat.toml.

    Raises
    ------
    GearError
        For an unknown key or an absurd density.

    Examples
    --------
    >>> water_from_toml({"density_kg_m3": 1026}).density_kg_m3
    1026
    """
    return Water(**known("water", table("water", mapping), Water))


def _within(temp_c: ArrayLike) -> Array:
    temp = np.asarray(temp_c, dtype=float)
    return np.where((temp >= _COLDEST_C) & (temp <= _WARMEST_C), temp, np.nan)


def density_kg_m3(temp_c: ArrayLike) -> Array:
    """Return the density of air-free fresh water at the surface.

    Range of validity: 0-40 C; NaN outside. Formula: G. S. Kell, J. Chem. Eng. Data 20(1),
    1975, 97-105 (coefficients from memory; the tests hold them to 0.02 kg/m3 of IAPWS).

    >>> density_kg_m3(10.0).round(1).item()
    999.7
    """
    t = _within(temp_c)
    top = 999.83952 + t * (
        16.945176
        + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12)))
    )
    return np.asarray(top / (1.0 + 16.879850e-3 * t))


def kinematic_viscosity_m2_s(temp_c: ArrayLike) -> Array:
    """Return the kinematic viscosity of fresh water.

    Range of validity: 0-40 C; NaN outside. Formula of the dynamic viscosity: J. Kestin,
    H. E. Khalifa & R. J. Correia, J. Phys. Chem. Ref. Data 10(1), 1981, 71-87, without salt,
    1.002 mPa s at 20 C (coefficients from memory; the tests hold it to 0.2 % of IAPWS).

    >>> float(1e6 * kinematic_viscosity_m2_s(20.0).round(9))
    1.004
    """
    t = _within(temp_c)
    cold = 20.0 - t
    power = cold / (t + 96.0) * (1.2378 + cold * (-1.303e-3 + cold * (3.06e-6 + cold * 2.55e-8)))
    return np.asarray(1.002e-3 * 10.0**power / density_kg_m3(t))


def reynolds(speed_mps: ArrayLike, size_m: ArrayLike, temp_c: ArrayLike = 10.0) -> Array:
    """Return the Reynolds number U d / nu.

    >>> reynolds(1.1, 0.0003).round(-1).item()
    250.0
    """
    return np.asarray(np.asarray(speed_mps) * np.asarray(size_m) / kinematic_viscosity_m2_s(temp_c))
