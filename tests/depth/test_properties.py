"""Owns what must hold of every line, whatever the numbers."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.depth import Columns, RodLine, believe, line_path, solve
from analysis.depth.kinds import Diver
from analysis.depth.march import Tow
from analysis.depth.model import tow_of
from analysis.depth.towline import tow_lines
from analysis.depth.water import FRESH_WATER, Water
from analysis.units import from_si, to_si

SPEED = st.floats(0.5, 2.0)
LINE_OUT = st.floats(5.0, 120.0)
DIAL = st.floats(0.0, 3.0)


@given(setting=DIAL, line_out_m=LINE_OUT, speed_mps=SPEED)
def test_a_weightless_diver_knows_neither_speed_nor_density(setting, line_out_m, speed_mps):
    gear = Diver(weight_n=0.0)
    place = {"setting": setting, "line_out_m": line_out_m}
    here = solve(gear, **place, speed_mps=speed_mps)
    there = solve(gear, **place, speed_mps=1.0, water=Water(density_kg_m3=1025.0))
    for name in ("depth_m", "lateral_m", "setback_m"):
        assert getattr(here, name) == pytest.approx(getattr(there, name), rel=1e-10)


@pytest.mark.parametrize("name", ["diver", "rigger", "lead core", "copper", "flat line"])
def test_depth_grows_with_line_out_ever_more_slowly_for_a_diver(gears, name):
    line_out = np.linspace(30.0, 120.0, 46)
    depth = solve(gears[name], setting=1.0, line_out_m=line_out, speed_mps=1.1).depth_m
    steps = np.diff(depth)
    assert np.all(steps > 0.0)
    if name == "diver":
        assert np.all(np.diff(steps) < 0.0)


@given(line_out_m=st.floats(10.0, 120.0), speed_mps=SPEED)
def test_a_lower_setting_runs_deeper_and_nearer_the_boat(line_out_m, speed_mps):
    out = solve(Diver(), setting=[0, 1, 2, 3], line_out_m=line_out_m, speed_mps=speed_mps)
    assert np.all(np.diff(out.depth_m) < 0.0)
    assert np.all(np.diff(out.lateral_m) > 0.0)


@settings(max_examples=20)
@given(setting=DIAL, line_out_m=LINE_OUT, speed_mps=SPEED, weight=st.floats(0.0, 0.03))
def test_port_and_starboard_mirror_each_other(setting, line_out_m, speed_mps, weight):
    gear = Diver(line_weight_n_per_m=weight)
    columns = Columns.of(setting=setting, line_out_m=line_out_m, speed_mps=speed_mps)
    tow = tow_of(gear, columns, FRESH_WATER)
    mirror = Tow(**{**vars(tow), "end_n": tow.end_n * np.array([[1.0], [-1.0], [1.0]])})
    one, other = tow_lines(tow), tow_lines(mirror)
    assert one.lateral_m == pytest.approx(-other.lateral_m, rel=1e-12)
    for name in ("depth_m", "setback_m", "pull_n", "wetted_m"):
        assert getattr(one, name) == pytest.approx(getattr(other, name), rel=1e-12)


def test_paths_to_port_and_starboard_mirror_each_other():
    def path(side):
        line = {"line_out_m": 30.0, "speed_mps": 1.1, "setting": 2.0}
        return line_path(RodLine(rod=side, belief=believe(Diver()), side=side, **line)).points_m

    np.testing.assert_allclose(path("port") * [1.0, -1.0, 1.0], path("starboard"), atol=1e-12)


@given(
    st.sampled_from(["ft", "m"]),
    st.sampled_from(["mph", "kn", "km/h", "m/s"]),
    LINE_OUT,
    SPEED,
)
def test_units_of_the_log_never_change_the_answer(length, speed, line_out_m, speed_mps):
    line_out = to_si(from_si(line_out_m, "length", length), "length", length)
    towed = to_si(from_si(speed_mps, "speed", speed), "speed", speed)
    here = solve(Diver(), setting=1.0, line_out_m=line_out, speed_mps=towed).depth_m
    there = solve(Diver(), setting=1.0, line_out_m=line_out_m, speed_mps=speed_mps).depth_m
    assert here == pytest.approx(there, rel=1e-10)


def test_order_repetition_and_company_of_rows_change_nothing(gear):
    """Each row is the same alone, among others, twice over and in any order."""
    rng = np.random.default_rng(8)
    rows = {
        "setting": rng.uniform(0.0, 4.0, 9),
        "line_out_m": rng.uniform(1.0, 120.0, 9),
        "speed_mps": rng.uniform(0.5, 2.0, 9),
    }
    order = rng.integers(0, 9, 40)
    together = solve(gear, **{name: column[order] for name, column in rows.items()})
    for row in range(9):
        alone = solve(gear, **{name: column[row] for name, column in rows.items()})
        for place in np.flatnonzero(order == row):
            assert together.reason[place] == alone.reason
            np.testing.assert_allclose(together.depth_m[place], alone.depth_m, rtol=1e-9)


def test_answers_come_in_the_shape_asked_for():
    out = solve(Diver(), setting=[[0.0], [1.0]], line_out_m=[20.0, 30.0, 40.0], speed_mps=1.1)
    assert out.depth_m.shape == out.reason.shape == (2, 3)
    assert solve(Diver(), setting=0.0, line_out_m=20.0, speed_mps=1.1).depth_m.shape == ()
    none = solve(Diver(), setting=[], line_out_m=[], speed_mps=[])
    assert none.depth_m.shape == (0,)


@settings(max_examples=60)
@given(
    setting=st.floats(-1.0, 5.0) | st.just(np.nan),
    line_out_m=st.floats(-5.0, 150.0) | st.just(np.nan),
    speed_mps=st.floats(-0.5, 12.0) | st.just(np.nan),
    tip_height_m=st.floats(-1.0, 40.0) | st.just(np.nan),
    data=st.data(),
)
def test_never_a_missing_depth_without_a_reason(
    gears, setting, line_out_m, speed_mps, tip_height_m, data
):
    gear = gears[data.draw(st.sampled_from(sorted(gears)))]
    out = solve(
        gear,
        setting=setting,
        line_out_m=line_out_m,
        speed_mps=speed_mps,
        tip_height_m=tip_height_m,
    )
    for name in ("depth_m", "lateral_m", "setback_m", "line_pull_n"):
        assert np.isnan(getattr(out, name)) == bool(out.reason.item())


@pytest.mark.parametrize("speed_mps", [5e-324, 2.9e-282, 1e-7])
def test_a_speed_of_next_to_nothing_is_refused(gears, speed_mps):
    """Its square is no number that a force could follow from."""
    for gear in gears.values():
        out = solve(gear, setting=0.0, line_out_m=20.0, speed_mps=speed_mps)
        assert np.isnan(out.depth_m)
        assert "nothing is towed" in out.reason.item()
