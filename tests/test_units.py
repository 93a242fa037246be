"""Owns the tests of unit conversion, against an independent library."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from analysis.units import QUANTITIES, UNITS, UnitError, Units, from_si, to_si

# An independent library: the factors of scipy.constants.
INDEPENDENT = [
    ("length", "ft", constants.foot),
    ("depth", "ft", constants.foot),
    ("speed", "mph", constants.mph),
    ("speed", "kn", constants.knot),
    ("speed", "km/h", constants.kmh),
    ("fish_length", "in", constants.inch),
    ("fish_length", "cm", constants.centi),
    ("fish_weight", "lb", constants.pound),
]


@pytest.mark.parametrize(("quantity", "unit", "factor"), INDEPENDENT)
def test_factor_is_that_of_an_independent_library(quantity, unit, factor):
    assert to_si(3.0, quantity, unit) == pytest.approx(3.0 * factor, rel=1e-14)


def test_fahrenheit_is_that_of_an_independent_library():
    values = np.array([-40.0, 32.0, 50.0, 212.0])
    expected = constants.convert_temperature(values, "Fahrenheit", "Celsius")
    np.testing.assert_allclose(to_si(values, "temperature", "F"), expected, atol=1e-12)


@given(
    pair=st.sampled_from([(q, u) for q in QUANTITIES for u in UNITS[q]]),
    values=st.lists(st.floats(-1e4, 1e4), max_size=5),
)
def test_there_and_back_changes_nothing(pair, values):
    back = from_si(to_si(values, *pair), *pair)
    np.testing.assert_allclose(back, values, rtol=1e-12, atol=1e-9)


def test_missing_values_stay_missing():
    assert np.isnan(to_si([np.nan], "temperature", "F")).all()


@pytest.mark.parametrize("quantity", QUANTITIES)
def test_si_unit_is_among_the_units_unless_fish_are_measured_in_cm(quantity):
    factor_one = [u for u in UNITS[quantity] if to_si(1.0, quantity, u) == 1.0]
    assert factor_one == ([] if quantity == "fish_length" else [QUANTITIES[quantity]])


def test_unknown_unit_lists_the_allowed_ones():
    with pytest.raises(UnitError, match="'knots' is not a unit of speed; write one of mph, kn"):
        to_si(1.0, "speed", "knots")


def test_unknown_quantity_lists_the_known_ones():
    with pytest.raises(UnitError, match="'mass' is not a quantity of the log; there are length"):
        from_si(1.0, "mass", "kg")


def test_units_are_checked_on_creation():
    good = {q: UNITS[q][0] for q in QUANTITIES}
    assert Units(**good).of("speed") == "mph"
    with pytest.raises(UnitError, match="'K' is not a unit of temperature; write one of F, C"):
        Units(**(good | {"temperature": "K"}))
