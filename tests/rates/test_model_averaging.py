"""Checks that a mixture of models has each model's draws in the share of its weight."""

import made_exposure as made
import numpy as np
import pytest

from analysis.rates.model_averaging import FEWEST_REFITS, Member, fit_average
from analysis.rates.model_selection import candidates

REFITS, EACH = 16, 100


@pytest.fixture(scope="module")
def season():
    return made.exposure(31, trips=20, fish=made.Fish(rate=0.1))


def averaged(season, weights):
    models = candidates(season)
    members = {name: Member(model=models[name], weight=weight) for name, weight in weights.items()}
    full = models["depth and temperature"]
    rng = np.random.default_rng(1)
    return fit_average(season, full, members, rng, refits=REFITS, each=EACH)


def has(fit, name):
    return fit.draws[:, fit.model.columns_of(name)].any(axis=1)


@pytest.mark.parametrize("light", [0.028, 0.032, 0.2])
def test_a_light_model_has_the_draws_of_its_weight(season, light):
    """Of 16 refits 0.028 is less than half a one, 0.032 more: it counts for no more and no less."""
    fit = averaged(
        season,
        {"depth and temperature": 0.0, "temperature alone": light, "depth alone": 1.0 - light},
    )
    mine = has(fit, "lure_temp_c") & ~has(fit, "depth_m")
    assert mine.mean() == pytest.approx(light, abs=0.003)
    assert len(np.unique(fit.refit[mine])) >= FEWEST_REFITS
    assert len(fit.draws) == pytest.approx(REFITS * EACH, rel=0.01)


def test_a_model_without_weight_has_next_to_no_draws(season):
    """The fullest gets a refit for the checks to look at, whatever its weight."""
    fit = averaged(season, {"depth and temperature": 0.0, "depth alone": 1.0})
    assert has(fit, "lure_temp_c").mean() < 0.002
    assert fit.smoothing is not None
    assert len(fit.smoothing.log_sd) == len(fit.model.blocks)
