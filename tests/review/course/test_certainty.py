"""Owns the tests of how doubt splits between fish and water: none of a water that is known."""

from dataclasses import replace

import numpy as np
import pytest

from analysis.review.course.certainty import certainty_table


def test_months_are_split_and_the_parts_are_of_the_whole(warm) -> None:
    found = certainty_table(warm.answer)
    judged = [period.name for period in warm.answer.periods[1:] if period.judged.sum() > 1]
    assert set(found["period"]) == set(judged)
    assert found["water_share"].dropna().between(0, 1).all()
    known = found["depth_sd_m"] * np.sqrt(1 - found["water_share"])
    assert found["water_known_m"].to_numpy() == pytest.approx(known.to_numpy(), nan_ok=True)


def test_a_water_that_is_known_has_no_share_of_the_doubt(warm) -> None:
    """All refits in one water: what differs between columns is nothing."""
    fit = warm.answer.fit
    still = replace(fit, waters=np.zeros_like(fit.waters), layers=np.zeros_like(fit.layers))
    found = certainty_table(replace(warm.answer, fit=still))
    assert found["water_share"].dropna().to_numpy() == pytest.approx(0.0, abs=1e-12)


def test_a_water_in_doubt_has_a_larger_share(warm) -> None:
    fit, answer = warm.answer.fit, warm.answer
    rough = replace(answer, fit=replace(fit, layers=4.0 * fit.layers))
    assert (
        certainty_table(rough)["water_share"].mean() > certainty_table(answer)["water_share"].mean()
    )


def test_too_few_strikes_tell_no_split(warm) -> None:
    few = replace(warm.answer, fit=replace(warm.answer.fit, strikes=3))
    assert certainty_table(few).empty
