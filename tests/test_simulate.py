"""Checks the season generator against what it promises: rates, switches, files."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analysis.depth import solve
from analysis.depth.kinds import gear_from_toml
from analysis.depth.water import Water
from analysis.log import read_log
from data.boat import METRES, Boat
from data.captain import Habits
from data.scenario import SCENARIOS, Scenario
from data.simulate import SimulatedSeason, simulate_season
from data.tackle import GEARS, TIP_HEIGHT_M

EDGES_M = np.arange(0.0, 61.0, 3.0)


@pytest.fixture(scope="module")
def troubled() -> SimulatedSeason:
    return simulate_season("all_troubles", 3)


@pytest.fixture(scope="module")
def benign() -> SimulatedSeason:
    return simulate_season("benign", 3)


def test_equal_seeds_give_equal_seasons_and_others_do_not(benign: SimulatedSeason) -> None:
    again = simulate_season("benign", 3)
    for name, frame in benign.frames.items():
        pd.testing.assert_frame_equal(frame, again.frames[name])
    assert len(simulate_season("benign", 4).frames["sets"]) != len(benign.frames["sets"])


@pytest.mark.parametrize("scenario", ["chasing_confounded", "all_troubles"])
def test_strikes_follow_the_true_rate_in_every_band(scenario: str) -> None:
    """Strikes less rod-hours times rate, over its root, is a standard normal in each band."""
    seasons = [simulate_season(scenario, seed, strikes=600) for seed in (11, 12)]
    depths = np.concatenate([s.truth.sets["depth_m"] for s in seasons])
    expected = np.concatenate([s.truth.sets["expected"] for s in seasons])
    struck = np.concatenate([s.truth.strikes["depth_m"] for s in seasons])
    edges = np.array([0.0, 9.0, 12.0, 16.0, 20.0, 70.0])
    # depth of a set is its mean, of a strike that moment's: near enough for wide bands
    e = np.histogram(depths, edges, weights=expected)[0]
    n = np.histogram(struck, edges)[0]
    assert e.min() > 15
    assert np.abs((n - e) / np.sqrt(e)).max() < 4.0
    assert abs(n.sum() - e.sum()) < 3.5 * np.sqrt(e.sum())


def test_rod_hours_add_up(troubled: SimulatedSeason) -> None:
    truth = troubled.truth
    sets = troubled.frames["sets"]
    logged = (sets["time_out"] - sets["time_in"]).dt.total_seconds().to_numpy() / 3600
    assert truth.sets["hours"].to_numpy() == pytest.approx(logged, abs=1e-9)
    assert truth.rod_steps["hours"].sum() == pytest.approx(logged.sum(), rel=1e-9)
    bands = truth.band_rates(EDGES_M)
    season = bands[bands["period"] == "season"]
    assert season["rod_hours"].sum() == pytest.approx(logged.sum(), rel=1e-9)
    assert season["strikes"].sum() == len(troubled.frames["strikes"])


def test_no_rod_fishes_twice_at_once_nor_outside_its_trip(troubled: SimulatedSeason) -> None:
    sets = troubled.frames["sets"].merge(troubled.frames["trips"], on="trip")
    assert (sets["time_out"] > sets["time_in"]).all()
    assert (sets["time_in"] >= sets["start"]).all()
    assert (sets["time_out"] <= sets["end"]).all()
    before = sets.groupby(["trip", "rod"])["time_out"].shift()
    assert (sets["time_in"] > before)[before.notna()].all()


def test_each_strike_ends_a_set_of_its_rod(troubled: SimulatedSeason) -> None:
    sets, strikes = troubled.frames["sets"], troubled.frames["strikes"]
    ends = sets.loc[sets["ended_by"] == "strike", ["trip", "rod", "time_out"]]
    both = strikes.merge(
        ends, left_on=["trip", "rod", "time"], right_on=["trip", "rod", "time_out"], validate="1:1"
    )
    assert len(both) == len(strikes) == len(ends)


def test_band_rates_against_a_plain_loop(troubled: SimulatedSeason) -> None:
    """A band's rate is the mean over boat hours and depths, here summed trip by trip."""
    truth = troubled.truth
    period = truth.periods[3]
    bands = truth.band_rates(EDGES_M)
    bands = bands[bands["period"] == period].set_index("band_low_m")
    lake, fish, response = truth.lake, truth.response.fish[0], truth.response
    for low in (9.0, 18.0):
        depth = low + 3.0 * (np.arange(48) + 0.5) / 48
        total, count = 0.0, 0
        for trip, steps in truth.steps[truth.steps["period"] == period].groupby("trip"):
            for minute, speed in zip(steps["minute"], steps["speed_mps"], strict=True):
                temp = lake.temp_c(np.full(48, trip), np.full(48, minute + 2.5), depth)
                at_depth = np.exp(fish.log_preference(depth, temp)).mean()
                log = response.log_base + response.log_speed(speed)
                log += response.day_effect[trip] + response.window_effect[trip, minute // 60]
                total += at_depth * np.exp(log) * truth.mix
                count += 1
        # six depths a band and the water of each half hour: within 1 %
        assert bands.loc[low, "rate"] == pytest.approx(total / count, rel=0.01)


def test_ratios_are_one_at_the_reference_and_peak_where_the_truth_does(
    troubled: SimulatedSeason,
) -> None:
    truth = troubled.truth
    best = truth.response.best_speed_mps
    at = np.array([best - 0.3, best, best + 0.3])
    speed = truth.ratio("speed_mps", at, best)
    assert speed[1] == pytest.approx(1.0)
    assert speed[0] == pytest.approx(np.exp(-0.5 * (0.3 / truth.response.speed_width_mps) ** 2))
    fish = truth.response.fish[0]
    warm = truth.ratio("lure_temp_c", np.array([fish.best_temp_c, 4.0]), fish.best_temp_c)
    assert warm[0] == pytest.approx(1.0)
    assert warm[1] < 0.2
    with pytest.raises(ValueError, match="no true ratio for 'moon'"):
        truth.ratio("moon", at, 1.0)


def test_fixed_depth_ignores_temperature(benign: SimulatedSeason) -> None:
    assert benign.truth.ratio("lure_temp_c", np.array([6.0, 14.0]), 10.0) == pytest.approx(1.0)


def test_true_depth_is_that_of_the_depth_room(benign: SimulatedSeason) -> None:
    """Without depth error a set's depth is solved from what the log says, water speed known."""
    sets = benign.frames["sets"].assign(depth_m=benign.truth.sets["depth_m"])
    readings = benign.frames["readings"]
    short = (sets["time_out"] - sets["time_in"]) < pd.Timedelta(minutes=10)
    sets = sets[short].sort_values("time_in")
    now = pd.merge_asof(
        sets, readings.sort_values("time"), left_on="time_in", right_on="time", by="trip"
    )
    for gear, rows in now.groupby("gear"):
        solution = solve(
            gear_from_toml(str(gear), GEARS[str(gear)]),
            setting=rows["setting"].to_numpy(),
            line_out_m=rows["line_out_m"].to_numpy(),
            speed_mps=rows["speed_mps"].to_numpy(),
            tip_height_m=TIP_HEIGHT_M,
            leader_length_m=rows["leader_length_m"].to_numpy(),
            water=Water(),
        )
        away = np.abs(solution.depth_m - rows["depth_m"].to_numpy())
        # a set may last into the next reading, whose speed is another; most do not
        assert np.median(away) < 0.05, gear


def test_depth_error_is_shared_by_setting_and_has_the_stated_size() -> None:
    shared, own = [], []
    for seed in range(8):
        season = simulate_season("depth_error", seed, trips=15)
        s = season.truth.sets.assign(
            gear=season.frames["sets"]["gear"], setting=season.frames["sets"]["setting"]
        )
        s["off"] = np.log(s["depth_m"] / s["model_depth_m"])
        part = s[s["gear"] == "diver"].groupby("setting")["off"]
        shared.extend(part.mean())
        own.extend(part.std())
    assert np.std(shared) == pytest.approx(0.10, rel=0.5)
    assert np.mean(own) == pytest.approx(0.05, rel=0.15)


def test_scenarios_switch_what_they_name() -> None:
    assert set(SCENARIOS) >= {"benign", "few_strikes", "no_casts", "sparse_casts", "all_troubles"}
    bare = simulate_season("no_casts", 1, trips=20)
    assert "casts" not in bare.frames
    casts = {
        often: simulate_season(Scenario(casts=often), 1, trips=80).frames["casts"]
        for often in ("trip", "week", "sparse")
    }
    count = {often: c[["trip", "time"]].drop_duplicates().shape[0] for often, c in casts.items()}
    assert count["trip"] > 80 > count["week"] > 35 > 20 > count["sparse"] > 10
    ground = simulate_season("ground_speed", 1, trips=20)
    water = simulate_season("chasing_confounded", 1, trips=20)
    assert set(ground.frames["readings"]["speed_kind"]) == {"ground"}
    assert set(water.frames["readings"]["speed_kind"]) == {"water"}
    apart = ground.frames["readings"]["speed_mps"] - water.frames["readings"]["speed_mps"]
    assert 0.06 < apart.std() < 0.20
    assert apart.abs().max() < 0.35
    few = [len(simulate_season("few_strikes", seed).frames["strikes"]) for seed in (1, 2)]
    assert 30 < np.mean(few) < 75


def test_captains_chase_and_confound_only_where_told() -> None:
    """Other rods draw near a strike; good days are fished at other depths and longer."""
    near, deeper, longer = {}, {}, {}
    for name in ("benign", "chasing_confounded"):
        gaps, slope, hours = [], [], []
        for seed in (21, 22):
            season = simulate_season(name, seed)
            gaps.append(_distance_to_last_strike(season))
            good = season.truth.response.day_effect
            sets = season.truth.sets
            depth = sets["model_depth_m"].groupby(sets["trip"]).mean().to_numpy()
            trips = season.frames["trips"]
            length = (trips["end"] - trips["start"]).dt.total_seconds()
            slope.append(abs(np.corrcoef(good, depth)[0, 1]))
            hours.append(np.corrcoef(good, length)[0, 1])
        near[name], deeper[name], longer[name] = np.mean(gaps), np.mean(slope), np.mean(hours)
    assert near["chasing_confounded"] < 0.8 * near["benign"]
    assert deeper["chasing_confounded"] > 0.3 > deeper["benign"]
    assert longer["chasing_confounded"] > 0.5 > 0.3 > abs(longer["benign"])


def _distance_to_last_strike(season: SimulatedSeason) -> float:
    """Return the mean distance of sets begun 5 to 30 min after another rod's strike to it."""
    sets = season.frames["sets"][["trip", "rod", "time_in"]].copy()
    sets["depth_m"] = season.truth.sets["model_depth_m"]
    strikes = season.frames["strikes"][["trip", "rod", "time"]].copy()
    strikes["depth_m"] = season.truth.strikes["model_depth_m"]
    both = sets.merge(strikes, on="trip", suffixes=("", "_strike"))
    after = both["time_in"] - both["time"]
    both = both[after.between(pd.Timedelta(minutes=5), pd.Timedelta(minutes=30))]
    both = both[both["rod"] != both["rod_strike"]]
    return float((both["depth_m"] - both["depth_m_strike"]).abs().mean())


def test_the_thermocline_sinks_and_water_cools_with_depth(benign: SimulatedSeason) -> None:
    lake = benign.truth.lake
    trip = np.arange(len(benign.truth.trips))[:, None]
    temp = lake.temp_c(trip, np.full((len(trip), 1), 60.0), np.arange(0.0, 50.0)[None, :])
    assert (np.diff(temp, axis=1) < 0).all()
    month = benign.frames["trips"]["date"].dt.month.to_numpy()
    middle = [lake.thermocline_m[month == m].mean() for m in (6, 8, 10)]
    assert middle == sorted(middle)
    assert middle[2] - middle[0] > 8.0


@pytest.mark.parametrize("units", ["feet", "metres"])
def test_a_written_season_reads_back_as_it_was(units: str, tmp_path: Path) -> None:
    boat = Boat(units=METRES) if units == "metres" else Boat(counter_scale={"P2": 1.04})
    season = simulate_season("all_troubles", 5, trips=12, boat=boat)
    log = read_log(season.write(tmp_path))
    assert len(log.set_aside) == 0
    for name, frame in season.frames.items():
        read = getattr(log, name).sort_values("line", ignore_index=True)
        assert len(read) == len(frame)
        for column in frame.columns:
            was, now = frame[column], read[column]
            if pd.api.types.is_numeric_dtype(was):
                # crews round: a tenth of a foot or metre, of a degree, of a pound
                np.testing.assert_allclose(now, was, atol=0.06, rtol=0, equal_nan=True)
            elif isinstance(was.dtype, pd.DatetimeTZDtype):
                assert (was == now).all(), column
            else:
                assert was.astype(str).tolist() == now.astype(str).tolist(), column


def test_boats_of_one_lake_share_its_water_and_good_days() -> None:
    one = simulate_season("temperature", 1, trips=60, lake_seed=9)
    other = simulate_season("temperature", 2, trips=60, lake_seed=9)
    days = np.intersect1d(one.frames["trips"]["date"], other.frames["trips"]["date"])
    assert len(days) > 10
    for values in ("thermocline_m", "day_effect"):
        a, b = (
            pd.Series(
                getattr(s.truth.lake if values == "thermocline_m" else s.truth.response, values),
                index=s.frames["trips"]["date"],
            )
            for s in (one, other)
        )
        assert (a.loc[days] == b.loc[days]).all()


def test_nights_and_habits_are_taken_as_given() -> None:
    habits = Habits(centre_m=8.0, sinking_m_per_day=0.0, spread_m=1.0, shift_m=0.0)
    season = simulate_season(
        "benign", 1, trips=10, nights=(("2026-07-03T22:00", 240),), habits=habits
    )
    trips = season.frames["trips"]
    night = trips["start"] == pd.Timestamp("2026-07-03 20:00", tz="UTC")
    assert night.sum() == 1
    assert (trips["end"] - trips["start"])[night].item() == pd.Timedelta(hours=4)
    diver = season.frames["sets"]["gear"] == "diver"
    assert season.truth.sets["model_depth_m"][diver].mean() == pytest.approx(8.0, abs=1.5)
