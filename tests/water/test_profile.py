"""Owns the tests of the form of a temperature profile."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import least_squares

from analysis.depth.water import density_kg_m3
from analysis.water.profile import BUMP_AT, DENSEST_C, Profile

DEPTHS = np.linspace(0.0, 40.0, 81)


def profiles(count, seed=0):
    rng = np.random.default_rng(seed)
    return Profile(
        surface_c=rng.uniform(3, 22, count),
        deep_c=rng.uniform(3, 6, count),
        middle_m=rng.uniform(3, 25, count),
        log_thickness=rng.normal(1.0, 0.4, count),
        lean=rng.normal(0, 0.4, count),
        bumps=rng.normal(0, 0.03, (count, len(BUMP_AT))),
    )


def plain(**changes):
    whole = {
        "surface_c": 20.0,
        "deep_c": 4.5,
        "middle_m": 12.0,
        "log_thickness": np.log(2.0),
        "lean": 0.0,
    }
    whole |= changes
    made = {name: np.float64(value) for name, value in whole.items()}
    return Profile(**made, bumps=np.zeros(len(BUMP_AT)))


@pytest.mark.parametrize("by", ["middle_m", "log_thickness", "lean", "surface_c"])
def test_slopes_are_those_of_small_differences(by):
    many = profiles(500)
    depth = np.random.default_rng(1).uniform(0, 40, 500)
    step = 1e-5
    up = replace(many, **{by: getattr(many, by) + step}).temp_c(depth)
    down = replace(many, **{by: getattr(many, by) - step}).temp_c(depth)
    temp, slopes = many.slopes(depth)
    ours = {
        "middle_m": slopes.middle,
        "log_thickness": slopes.thickness,
        "lean": slopes.lean,
        "surface_c": slopes.share,
    }
    np.testing.assert_allclose(ours[by], (up - down) / (2 * step), atol=1e-6)
    np.testing.assert_allclose(temp, many.temp_c(depth))


def test_a_plain_profile_falls_from_surface_to_deep_and_is_half_way_at_its_middle():
    temp = plain().temp_c(DEPTHS)
    assert (np.diff(temp) <= 0).all()
    assert temp[0] == pytest.approx(20.0)
    assert temp[-1] == pytest.approx(4.5, abs=0.01)
    assert plain().temp_c(np.float64(12.0)) == pytest.approx(0.5 * (20 + 4.5), abs=0.05)


def test_at_overturn_one_temperature_all_the_way_down_and_inverse_in_winter():
    np.testing.assert_allclose(plain(surface_c=4.5).temp_c(DEPTHS), 4.5)
    assert (np.diff(plain(surface_c=1.0, deep_c=DENSEST_C).temp_c(DEPTHS)) >= 0).all()


def test_fresh_water_is_densest_where_the_standard_has_it():
    """IAPWS-95 by the package iapws, at one atmosphere."""
    from iapws import IAPWS95

    found = np.arange(3.5, 4.5, 0.01)
    standard = [IAPWS95(T=273.15 + t, P=0.101325).rho for t in found]
    assert found[np.argmax(standard)] == pytest.approx(DENSEST_C, abs=0.02)
    assert found[np.argmax(density_kg_m3(found))] == pytest.approx(DENSEST_C, abs=0.02)


def flake(place, factor):
    """The self-similar profile of the lake model FLake, from 0 at the mixed layer's foot to 1.

    Mironov (2008, COSMO Technical Report 11, eq. 55, from memory); ``factor`` is its shape
    factor, 0.5 to 0.8.
    """
    c = factor
    return (
        (40 / 3 * c - 20 / 3) * place
        + (18 - 30 * c) * place**2
        + (20 * c - 12) * place**3
        + (5 / 3 - 10 / 3 * c) * place**4
    )


@pytest.mark.parametrize("factor", [0.5, 0.65, 0.8])
def test_flake_holds_its_own_conditions(factor):
    """Worked values: 0 and 1 at its ends, level at the foot, and an integral of the factor."""
    place = np.linspace(0, 1, 20_001)
    value = flake(place, factor)
    assert (value[0], value[-1]) == pytest.approx((0, 1))
    assert (value[-1] - value[-2]) / place[1] == pytest.approx(0, abs=1e-3)
    assert np.trapezoid(value, place) == pytest.approx(factor, abs=1e-6)


@pytest.mark.parametrize(("factor", "within"), [(0.5, 0.02), (0.65, 0.02), (0.8, 0.05)])
def test_the_form_comes_near_a_published_lake_models(factor, within):
    """A mixed layer of 8 m over 15 m of FLake's thermocline, in shares of its fall."""
    place = np.clip((DEPTHS - 8.0) / 15.0, 0, 1)
    wanted = 1.0 - flake(place, factor)

    def off(terms):
        made = plain(
            surface_c=1.0, deep_c=0.0, middle_m=terms[0], log_thickness=terms[1], lean=terms[2]
        )
        return made.temp_c(DEPTHS) - wanted

    found = least_squares(off, [12.0, 1.0, 0.1])
    assert np.sqrt(np.mean(found.fun**2)) < within
