"""Owns the test that a gear far from its book runs, to the fit, where its whole model has it run.

The gear is solved again with its parameters moved: no slope is taken from what is tested.
"""

from dataclasses import replace

import made_exposure as made
import numpy as np
import pytest
from scipy.sparse import csr_array

from analysis.depth.columns import Columns
from analysis.depth.kinds import Diver, Rigger
from analysis.depth.model import solve_columns
from analysis.depth.priors import prior_covariance, shifts_at
from analysis.depth.uncertainty import believe
from analysis.rates.exposure import SharedErrors
from analysis.rates.fit import fit_rate
from analysis.rates.model_selection import candidates
from analysis.rates.shared_shifts import SharedShifts


@pytest.mark.parametrize("gear", [Diver(), Rigger()])
def test_a_gear_two_standard_deviations_off_runs_where_its_model_says(gear):
    belief = believe(gear)
    columns = Columns.of(setting=[1.0, 2.0, 3.0], line_out_m=30.0, speed_mps=1.1)
    columns = columns.for_gear(gear)
    found = belief.loadings(columns)
    count = found.shared.shape[1]
    shifts = SharedShifts(loadings=found.shared, bends=found.bend, turn=np.eye(count))
    book = np.log(
        solve_columns(gear, columns, belief.water, shifts_at(gear, columns, belief.mean)).depth_m
    )
    values, vectors = np.linalg.eigh(prior_covariance(belief.parameters))
    errs, straight = [], []
    for error in np.vstack([2.0 * np.eye(count), -2.0 * np.eye(count)]):
        moved = shifts_at(gear, columns, vectors @ (np.sqrt(values) * error))
        true = np.log(solve_columns(gear, columns, belief.water, moved).depth_m) - book
        errs.append(shifts.log_shift(error) - true)
        straight.append(found.shared @ error - true)
    assert np.abs(errs).max() < 0.06
    assert np.abs(errs).max() < 0.5 * np.abs(straight).max()


def test_slopes_are_those_of_the_shift(rng):
    turn = np.linalg.qr(rng.normal(size=(4, 2)))[0].T
    shifts = SharedShifts(
        loadings=rng.normal(size=(5, 2)), bends=rng.normal(size=(5, 4)), turn=turn
    )
    error, step = rng.normal(size=2), 1e-6
    for place, slope in enumerate(shifts.slopes(error).T):
        away = step * np.eye(2)[place]
        change = shifts.log_shift(error + away) - shifts.log_shift(error - away)
        assert slope == pytest.approx(change / (2 * step), rel=1e-6)


def test_slopes_of_sums_are_the_sums_of_slopes(rng):
    turn = np.linalg.qr(rng.normal(size=(4, 2)))[0].T
    shifts = SharedShifts(
        loadings=rng.normal(size=(5, 2)), bends=rng.normal(size=(5, 4)), turn=turn
    )
    sums, error = csr_array(rng.normal(size=(3, 5))), rng.normal(size=2)
    found = shifts.slopes_of_sums(sums, error)
    np.testing.assert_allclose(found, sums @ shifts.slopes(error), rtol=1e-10)


def test_what_the_modes_leave_open_is_averaged_over(rng):
    """Against the mean over draws of the own errors that no mode holds."""
    turn = np.array([[0.6, 0.8, 0.0]])
    bends = np.array([[-0.1, 0.3, -0.1]])  # whose sum is not nothing
    slope = np.array([0.2, -0.1, 0.05])
    shifts = SharedShifts(loadings=slope @ turn.T * np.ones((1, 1)), bends=bends, turn=turn)
    own = SharedErrors(first=0, turn=turn).own(np.full((200_000, 1), -1.5), rng)
    drawn = own @ slope + 0.5 * own**2 @ bends[0]
    assert shifts.log_shift(np.array([-1.5]))[0] == pytest.approx(drawn.mean(), abs=0.002)


def test_a_fit_lays_strikes_to_where_a_bent_gear_ran():
    """Divers two and a half standard deviations off, far past where their slope puts them."""
    whole = made.exposure(3, trips=60, fish=made.Fish(rate=0.3))
    off, slope, bend = -2.5, 0.16, -0.06
    diver = (whole.table["gear"] == "diver").to_numpy()
    shift = np.where(diver, slope * off + 0.5 * bend * off**2, 0.0)
    bent = replace(
        made.with_table(whole, depth_m=whole.depth_m * np.exp(-shift)),
        loadings=slope * diver[:, None].astype(float),
        bends=bend * diver[:, None].astype(float),
        shared={(0, "diver"): SharedErrors(first=0, turn=np.ones((1, 1)))},
    )
    model = candidates(bent)["depth alone"]
    fit = fit_rate(bent, model, np.random.default_rng(0))
    assert fit.error_draws.mean() == pytest.approx(off, abs=0.5)
    found = bent.shifts.take(np.flatnonzero(diver)[:1])
    drawn = [found.log_shift(error)[0] for error in fit.error_draws]
    assert np.quantile(drawn, 0.05) < shift[diver][0] < np.quantile(drawn, 0.95)
