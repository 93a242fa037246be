"""Owns the tests of a log that lost much: it is said first, and nothing is clear."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from scipy.stats import chi2, hypergeom

from analysis.cli import main
from analysis.effort import losses as owner
from analysis.effort.losses import LEVEL, MOST_LOST, SAID
from analysis.report.check import examine
from analysis.season import _log_caps, read_seasons
from data.simulate import SimulatedSeason, simulate_season


def _day_before(time: str) -> str:
    return str(pd.Timestamp(time) - pd.Timedelta(days=1))[:16]


# column -> what is written there; a function takes what stood there
FAULTS: dict[str, dict[str, object]] = {
    "no time": {"time": ""},
    "words for a time": {"time": "about dawn"},
    "another year": {"time": "2019-07-04 08:00"},
    "an unknown trip": {"trip": "T?"},
    "no trip": {"trip": ""},
    "no rod": {"rod": ""},
    "an unknown rod": {"rod": "X9"},
    "the day before": {"time": _day_before},
    "no such day": {"time": lambda time: f"2026-07-32{time[10:]}"},
    "no such hour": {"time": lambda time: f"{time[:11]}3{time[12:]}"},
    "a digit too many": {"time": lambda time: f"{time}0"},
    "a trip misspelt": {"trip": lambda trip: f"{trip}x"},
    "a rod misspelt": {"rod": lambda rod: f"{rod}{rod}"},
    "cells emptied": {"time": "", "rod": "", "trip": ""},
}


@pytest.fixture(scope="module")
def simulated() -> SimulatedSeason:
    return simulate_season("temperature", 3, trips=24, strikes=120)


def spoilt(simulated, folder, rows, fault, table="strikes"):
    """Write the season with one fault in some rows of a table."""
    zone = simulated.boat.time_zone
    frame = simulated.frames[table].copy()
    frame["time"] = frame["time"].dt.tz_convert(zone).dt.strftime("%Y-%m-%d %H:%M")
    for column, value in FAULTS[fault].items():
        frame[column] = frame[column].astype(object)
        cells = frame.loc[frame.index[rows], column]
        frame.loc[frame.index[rows], column] = cells.map(value) if callable(value) else value
    frames = simulated.frames | {table: frame}
    return SimulatedSeason(frames, simulated.truth, simulated.boat).write(folder)


def third(strikes: pd.DataFrame, how: str, seed: int) -> list[int]:
    """Choose a third of the strikes: any, or those of the earliest hours, days or first rods."""
    count = -(-len(strikes) // 3)
    if how == "any":
        return np.random.default_rng(seed).permutation(len(strikes))[:count].tolist()
    key = strikes["time"].astype(str).str[-5:] if how == "hours" else strikes[how].astype(str)
    return np.argsort(key.to_numpy(), kind="stable")[:count].tolist()


@given(
    fault=st.sampled_from(sorted(FAULTS)),
    how=st.sampled_from(["any", "hours", "trip", "rod"]),
    seed=st.integers(0, 99),
)
@settings(max_examples=8, deadline=None, phases=[Phase.explicit, Phase.generate])
def test_a_third_of_the_strikes_lost_is_said_first(simulated, tmp_path_factory, fault, how, seed):
    rows = third(simulated.frames["strikes"], how, seed)
    folder = spoilt(simulated, tmp_path_factory.mktemp("lost"), rows, fault)
    checked = examine(folder)
    first = " ".join(checked.text.splitlines()[:2])
    lost = checked.losses[0]
    assert lost.table == "strikes"
    assert lost.share > MOST_LOST
    assert f"{lost.lost} of {lost.read} strikes were set aside" in first
    assert lost.reason in first
    assert not checked.passes()
    assert checked.passes(accept_loss=True)
    assert _log_caps(read_seasons([folder]))


def test_a_whole_log_loses_nothing(simulated, tmp_path):
    folder = SimulatedSeason(simulated.frames, simulated.truth, simulated.boat).write(tmp_path)
    assert examine(folder).losses == ()
    assert _log_caps(read_seasons([folder])) == ()


def test_check_exits_1_unless_the_loss_is_accepted(simulated, tmp_path, capsys):
    rows = third(simulated.frames["strikes"], "any", 1)
    folder = spoilt(simulated, tmp_path, rows, "no time")
    assert main(["check", str(folder)]) == 1
    assert "were set aside" in capsys.readouterr().out.splitlines()[0]
    assert main(["check", str(folder), "--accept-loss"]) == 0


def test_a_small_loss_is_said_but_stops_nothing_where_it_is_even(simulated, tmp_path):
    count = len(simulated.frames["strikes"])
    rows = np.linspace(0, count - 1, int(0.08 * count)).astype(int).tolist()
    folder = spoilt(simulated, tmp_path, rows, "an unknown trip")
    (lost,) = examine(folder).losses
    assert SAID < lost.share < MOST_LOST
    assert not lost.lopsided
    assert examine(folder).passes()
    assert "were set aside" in examine(folder).text.splitlines()[0]


def test_a_small_loss_of_one_rod_stops(simulated, tmp_path):
    rods = simulated.frames["strikes"]["rod"]
    rows = np.flatnonzero(rods == rods.mode()[0])[: int(0.12 * len(rods))].tolist()
    folder = spoilt(simulated, tmp_path, rows, "an unknown trip")
    (lost,) = examine(folder).losses
    assert lost.share < MOST_LOST
    assert "rod" in lost.lopsided
    assert not examine(folder).passes()


def test_a_loss_that_does_not_tell_its_hours_counts_as_lopsided(simulated, tmp_path):
    count = len(simulated.frames["strikes"])
    rows = np.linspace(0, count - 1, int(0.1 * count)).astype(int).tolist()
    folder = spoilt(simulated, tmp_path, rows, "no time")
    assert "hour" in examine(folder).losses[0].lopsided


def test_rows_written_twice_are_no_loss(simulated, tmp_path):
    strikes = pd.concat([simulated.frames["strikes"]] * 2, ignore_index=True)
    frames = simulated.frames | {"strikes": strikes}
    folder = SimulatedSeason(frames, simulated.truth, simulated.boat).write(tmp_path)
    assert examine(folder).losses == ()


@pytest.mark.parametrize(("lost", "read"), [((9, 1), (20, 20)), ((6, 4), (20, 20))])
def test_the_chance_of_two_parts_is_that_of_fishers_exact_test(lost, read):
    """Hypergeometric distribution, by scipy: both tails of a symmetric table."""
    exact = 2 * hypergeom.sf(max(lost) - 1, sum(read), read[0], sum(lost))
    found = owner._chance(np.array(lost), np.array(read), "rod")
    assert found == pytest.approx(exact, abs=4 * np.sqrt(exact * (1 - exact) / owner._DRAWS) + 3e-4)


def test_the_chance_of_many_rows_is_that_of_the_chi_square():
    """Pearson's chi-square with five degrees of freedom, by scipy."""
    read, lost = np.full(6, 4000), np.array([420, 380, 400, 441, 379, 380])
    expected = lost.sum() * read / read.sum()
    square = ((lost - expected) ** 2 / expected / (1 - lost.sum() / read.sum())).sum()
    exact = chi2.sf(square, 5)
    assert owner._chance(lost, read, "month") == pytest.approx(exact, abs=0.03)


def test_losses_at_random_are_seldom_called_lopsided():
    rng = np.random.default_rng(4)
    called = 0
    for _ in range(200):
        rows = pd.DataFrame(
            {
                "lost": rng.permutation(np.arange(300) < 30),
                "hour": rng.integers(5, 20, 300).astype(float),
                "month": rng.choice(["2026-05", "2026-06", "2026-07"], 300),
                "rod": rng.choice(["P1", "P2", "S1", "S2"], 300),
                "gear": "",
            }
        )
        called += bool(owner._lopsided(rows))
    assert called <= 200 * LEVEL + 3 * np.sqrt(200 * LEVEL)
