"""Owns the tests of steps: what one step more does is what the curve of the same table says."""

from types import ModuleType, SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from analysis.rates.effects import effect_table
from analysis.rates.terms import RateModel
from analysis.show.season.step_tables import steps
from analysis.stats.pspline import Smooth
from analysis.units import Units, to_si

FEET = Units(
    length="ft", depth="ft", speed="mph", temperature="F", fish_length="in", fish_weight="lb"
)
METRES = Units(
    length="m", depth="m", speed="km/h", temperature="C", fish_length="cm", fish_weight="kg"
)
STEPS = {  # 5 ft, 0.1 mph, 1 C, 1 ft: what the season review promises
    "depth_m": to_si(5.0, "depth", "ft"),
    "speed_mps": to_si(0.1, "speed", "mph"),
    "lure_temp_c": 1.0,
    "surface_temp_c": 1.0,
    "leader_length_m": to_si(1.0, "length", "ft"),
}


def fitted(term: str, draws: np.ndarray) -> pd.DataFrame:
    """The effects of one parabola in a term fished evenly from 1 to 3."""
    smooth = Smooth(name=term, low=1.0, high=3.0, wiggles=0)
    values = np.linspace(1.0, 3.0, 201)
    exposure = SimpleNamespace(
        table=pd.DataFrame({term: values, "hours": 1.0}),
        complete=lambda _model: np.ones(len(values), dtype=bool),
        values=lambda _model, row: {term: values[row]},
    )
    model = RateModel(terms=(smooth,))
    nothing = np.zeros(len(draws))
    fit = SimpleNamespace(model=model, draws=draws, smoothing="chosen", background=nothing)
    return effect_table(exposure, fit)


@pytest.mark.parametrize("term", STEPS)
def test_step_is_the_difference_of_the_curve_at_its_two_ends(term: str) -> None:
    curve = fitted(term, np.array([[0.4, -0.7]]))
    own = np.polynomial.Polynomial.fit(curve["at"], np.log(curve["ratio"]), 2)
    more = np.exp(own(curve["at"] + STEPS[term]) - own(curve["at"]))
    assert curve["step_ratio"].to_numpy() == pytest.approx(more)
    assert curve["step_ratio"].to_numpy() == pytest.approx(curve["step_low"].to_numpy())


def test_bounds_of_a_step_hold_nine_draws_of_ten() -> None:
    slopes = np.linspace(-1.0, 1.0, 101)  # straight lines, one unit of the design a metre
    hardly = np.full_like(slopes, 1e-12)  # a draw of zeros would be a model without the term
    curve = fitted("depth_m", np.column_stack([slopes, hardly]))
    assert curve["step_ratio"].to_numpy() == pytest.approx(1.0)
    assert curve["step_low"].to_numpy() == pytest.approx(np.exp(-0.9 * 1.524))
    assert curve["step_high"].to_numpy() == pytest.approx(np.exp(0.9 * 1.524))


@pytest.mark.parametrize(
    ("units", "told"),
    [
        (FEET, {"5 ft deeper", "0.1 mph faster", "1.8 °F warmer at the lure", "1 ft more leader"}),
        (
            METRES,
            {"1.5 m deeper", "0.16 km/h faster", "1 °C warmer at the lure", "0.3 m more leader"},
        ),
    ],
)
def test_steps_are_told_in_the_boats_own_units(
    units: Units, told: set[str], made_up: ModuleType
) -> None:
    assert set(steps(made_up.effects(), units).columns["One step more"]) == told


def test_row_has_the_place_the_ratio_and_its_interval(made_up: ModuleType) -> None:
    effects = made_up.effects()  # depths from 2 to 30 m, one a metre: 9, 16 and 23 m are told
    depth = effects[effects["term"] == "depth_m"].set_index("at")
    rows = [row for row in steps(effects, FEET).rows if "deeper" in row[0]]
    assert [row[1] for row in rows] == ["30 ft", "52 ft, the reference", "75 ft"]
    last = depth.loc[23.0]
    assert rows[2][2] == f"{last['step_ratio']:.2f} times"
    assert rows[2][3] == f"{last['step_low']:.2f} to {last['step_high']:.2f}"


def test_no_effects_no_steps() -> None:
    assert steps(pd.DataFrame(), FEET).text() == "This log tells the effect of none of them."
