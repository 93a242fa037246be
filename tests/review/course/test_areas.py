"""Owns the tests of areas at equal conditions: the truth of made-up trips, and thin areas."""

import numpy as np
import pandas as pd
import pytest

from analysis.rates.terms import EFFECT_SCALE
from analysis.review.course.areas import TIED, TOO_THIN, area_ratios, areas_table


def trips_of(rng: np.random.Generator, ratio: float = 1.5, count: int = 60) -> pd.DataFrame:
    """Trips to two areas; a good month that one area was fished in more, and luck of trips."""
    month = rng.choice(["2026-06", "2026-07"], count)
    area = np.where(rng.random(count) < np.where(month == "2026-07", 0.7, 0.3), "Reef", "Bay")
    hours = rng.uniform(10, 40, count)
    rate = 0.1 * np.where(month == "2026-07", 2.0, 1.0) * np.where(area == "Reef", ratio, 1.0)
    return pd.DataFrame(
        {
            "area": area,
            "month": month,
            "boat": "Dunlin",
            "rod_hours": hours,
            "weight": hours,
            "strikes": rng.poisson(hours * rate * rng.gamma(3.0, 1 / 3.0, count)),
        }
    )


def test_intervals_hold_the_true_ratio_as_often_as_they_say() -> None:
    """90 % of 60 seasons, 2.6 standard errors (0.039) allowed: at least 48."""
    inside = 0
    for seed in range(60):
        found = area_ratios(trips_of(np.random.default_rng(seed)))
        truth = 1.5 if found.loc[0, "area"] == "Bay" else 1 / 1.5
        row = found.loc[1]
        inside += row["low"] <= truth <= row["high"]
    assert inside >= 48


def test_areas_that_are_alike_seldom_look_different() -> None:
    """At most 10 % of intervals miss 1 where nothing differs; 2.6 standard errors (0.039) more.

    A pair and its reference: drawn toward 'no difference', as the prior of `EFFECT_SCALE` has it.
    """
    found = [area_ratios(trips_of(np.random.default_rng(seed), ratio=1.0)) for seed in range(60)]
    rows = pd.concat(found).loc[1]
    assert np.mean((rows["low"] > 1) | (rows["high"] < 1)) <= 0.1 + 2.6 * 0.039


def test_areas_drawn_from_the_prior_are_covered() -> None:
    """90 % of 60 seasons whose areas differ by normal effects of sd 0.3, 2.6 standard errors."""
    inside = 0
    for seed in range(60):
        rng = np.random.default_rng([seed, 1])
        truth = float(np.exp(np.sqrt(2) * EFFECT_SCALE * rng.standard_normal()))
        found = area_ratios(trips_of(rng, ratio=truth))
        told = truth if found.loc[0, "area"] == "Bay" else 1 / truth
        row = found.loc[1]
        inside += row["low"] <= told <= row["high"]
    assert inside >= 48


def test_few_trips_are_drawn_toward_no_difference_and_many_are_not() -> None:
    thin, thick = (
        area_ratios(trips_of(np.random.default_rng(7), ratio=3.0, count=count)).loc[1]
        for count in (14, 1500)
    )
    truth = 3.0 if thick["ratio"] > 1 else 1 / 3.0
    assert abs(np.log(thin["ratio"])) < 0.75 * np.log(3.0)
    assert thick["ratio"] == pytest.approx(truth, rel=0.12)


def test_a_good_month_does_not_pass_for_a_good_area() -> None:
    many = trips_of(np.random.default_rng(1), ratio=1.0, count=1500)
    raw = many.groupby("area")[["strikes", "rod_hours"]].sum()
    rate = raw["strikes"] / raw["rod_hours"]
    assert rate["Reef"] / rate["Bay"] > 1.2
    row = area_ratios(many).loc[1]
    assert row["ratio"] == pytest.approx(1.0, abs=0.12)


def test_the_area_fished_most_is_compared_with() -> None:
    found = area_ratios(trips_of(np.random.default_rng(2)))
    assert found["rod_hours"].is_monotonic_decreasing
    assert found.loc[0, ["ratio", "low", "high"]].tolist() == [1.0, 1.0, 1.0]
    assert set(found["reference"]) == {found.loc[0, "area"]}


def test_an_area_of_few_trips_is_too_thin_and_keeps_its_counts() -> None:
    trips = trips_of(np.random.default_rng(3))
    few = trips.head(2).assign(area="Far Bank", strikes=5)
    found = area_ratios(pd.concat([trips, few])).set_index("area")
    assert found.loc["Far Bank", "reason"] == TOO_THIN
    assert np.isnan(found.loc["Far Bank", "ratio"])
    assert found.loc["Far Bank", "strikes"] == 10
    assert found.loc["Reef", "reason"] == ""


def test_areas_fished_in_months_of_their_own_are_not_told_apart() -> None:
    trips = trips_of(np.random.default_rng(4))
    trips["area"] = np.where(trips["month"] == "2026-07", "Reef", "Bay")
    found = area_ratios(trips)
    assert set(found["reason"]) == {TIED}
    assert found["ratio"].isna().all()


def test_a_season_keeps_its_strikes_and_rod_hours_by_area(warm) -> None:
    found = areas_table(warm.answer, warm.seasons, np.random.default_rng(1))
    table = warm.answer.exposure.table
    area = warm.seasons[0].log.trips.set_index("trip")["area"]
    by_area = table.groupby(table["trip"].map(area))[["hours", "strikes"]].sum()
    mine = found.set_index("area")
    assert mine["rod_hours"].to_dict() == pytest.approx(by_area["hours"].to_dict())
    assert mine["strikes"].to_dict() == by_area["strikes"].to_dict()
