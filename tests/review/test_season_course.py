"""Owns the tests of trips, weeks and the water's profile."""

import numpy as np
import pandas as pd
import pytest

from analysis.review.course.best_water import week_draws
from analysis.review.season_course import (
    FROM_RODS,
    FROM_SETS,
    profile_table,
    thermoclines,
    trips_table,
    week_of,
    weeks_table,
)
from analysis.review.strikes import all_strikes
from analysis.season import read_seasons
from analysis.show.sentences.season import season_sentences


def test_trips_without_sets_get_their_hours_from_the_rods_and_say_so(season_files, tmp_path):
    trips = season_files.add("trips", "T3,2026-07-12,2026-07-12 06:00,10:00,north arm,3,")
    strikes = season_files.add("strikes", "T3,07:00,P1,pike,landed,20,,")
    folder = season_files.write(tmp_path / "dunlin-2026", trips=trips, strikes=strikes)
    table = trips_table(read_seasons([folder])).set_index("trip")
    assert table.loc["T3", "rod_hours"] == pytest.approx(4 * 3)
    assert list(table["hours_from"]) == [FROM_SETS, FROM_SETS, FROM_RODS]
    assert table.loc["T1", "rod_hours"] == pytest.approx(2 + 3 + 50 / 60 + 6)
    assert list(table["strikes"]) == [2, 1, 1]
    assert list(table["landed"]) == [1, 0, 1]
    assert table.loc["T2", "speed_mps"] == pytest.approx(2.0 * 0.44704)


def drawn(season, trips):
    return week_draws(season.answer, trips, week_of(trips["date"]))


def step(depth_m: np.ndarray, at_m: float) -> np.ndarray:
    return 6.0 + 12.0 / (1.0 + np.exp((depth_m - at_m) / 1.5))


def test_the_thermocline_is_where_temperature_falls_fastest():
    depth = np.arange(0.0, 41.0)
    profile = pd.concat(
        pd.DataFrame({"week": week, "depth_m": depth, "temp_c": temp})
        for week, temp in (
            ("2026-W28", step(depth, 12.0)),
            ("2026-W33", step(depth, 20.5)),
            ("2026-W44", np.full(41, 8.0) - 0.01 * depth),
        )
    )
    found = thermoclines(profile)
    assert set(found) == {"2026-W28", "2026-W33"}  # mixed water has none
    assert found["2026-W28"] == pytest.approx(12.0, abs=0.5)
    assert found["2026-W33"] == pytest.approx(20.5, abs=0.5)


def test_weeks_add_up_and_their_best_band_goes_with_the_thermocline(warm):
    trips = trips_table(warm.seasons)
    profile = profile_table(warm.seasons, trips, warm.temperature_at)
    weeks = weeks_table(warm.answer, trips, profile, drawn(warm, trips))
    assert weeks["trips"].sum() == len(trips)
    assert weeks["rod_hours"].sum() == pytest.approx(trips["rod_hours"].sum())
    assert weeks["strikes"].sum() == trips["strikes"].sum()
    told = weeks.dropna(subset=["thermocline_m", "best_low_m"])
    assert len(told) > 10
    middle = (told["best_low_m"] + told["best_high_m"]) / 2
    # the fish keep to a temperature, so their depth and the thermocline move together
    assert np.corrcoef(middle, told["thermocline_m"])[0, 1] > 0.8


def test_the_profile_is_the_lake_as_simulated(warm):
    trips = trips_table(warm.seasons)
    profile = profile_table(warm.seasons, trips, warm.temperature_at)
    truth = warm.simulated.truth
    week = pd.Series(trips["date"]).dt.strftime("%G-W%V")
    rows = profile.loc[profile["depth_m"].isin([6.0, 12.0, 18.0])]
    true = [
        np.mean(
            [
                truth.lake.temp_c(np.array([trip]), np.array([120.0]), np.array([depth]))[0]
                for trip in np.flatnonzero(week == name)
            ]
        )
        for name, depth in zip(rows["week"], rows["depth_m"], strict=True)
    ]
    assert np.abs(rows["temp_c"] - true).mean() < 0.8


def test_without_casts_there_is_no_profile_and_no_thermocline(known):
    season = known("no_casts", 1)
    trips = trips_table(season.seasons)
    profile = profile_table(season.seasons, trips, season.temperature_at)
    assert profile.empty
    weeks = weeks_table(season.answer, trips, profile, drawn(season, trips))
    assert weeks["thermocline_m"].isna().all()
    assert "clear" not in set(weeks["verdict"])


def test_the_season_is_told_in_sentences(warm):
    trips = trips_table(warm.seasons)
    told = season_sentences(trips, all_strikes(warm.seasons), warm.units)
    assert told[0].startswith(f"{len(trips)} trips on")
    busiest = trips.groupby("date")["strikes"].sum().max()
    assert told[0].endswith(f": {busiest}.")
    assert f"{trips['speed_mps'].median() / 0.44704:.1f} mph" in told[1]
    assert "°F in May" in told[2]
    longest = warm.seasons[0].effort.strikes["length_m"].max() / 0.0254
    assert f"{longest:.1f} in" in told[3]
    bare = trips.assign(speed_mps=np.nan, surface_temp_c=np.nan)
    nothing = all_strikes(warm.seasons).head(0)
    assert len(season_sentences(bare, nothing, warm.units)) == 1
