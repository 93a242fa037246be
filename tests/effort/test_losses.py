"""Owns the tests of a log that lost much: it is said first, and nothing is clear."""

import shutil

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
from analysis.season import _first_lacking, _log_caps, read_seasons
from data.simulate import SimulatedSeason, simulate_season


def _day_before(time: str) -> str:
    return str(pd.Timestamp(time) - pd.Timedelta(days=1))[:16]


# table, and column -> what is written there; a function takes what stood there
FAULTS: dict[str, tuple[str, dict[str, object]]] = {
    "no time": ("strikes", {"time": ""}),
    "words for a time": ("strikes", {"time": "about dawn"}),
    "another year": ("strikes", {"time": "2019-07-04 08:00"}),
    "another month": ("strikes", {"time": lambda time: f"{time[:5]}01{time[7:]}"}),
    "an unknown trip": ("strikes", {"trip": "T?"}),
    "no trip": ("strikes", {"trip": ""}),
    "no rod": ("strikes", {"rod": ""}),
    "an unknown rod": ("strikes", {"rod": "X9"}),
    "the day before": ("strikes", {"time": _day_before}),
    "no such day": ("strikes", {"time": lambda time: f"2026-07-32{time[10:]}"}),
    "no such month": ("strikes", {"time": lambda time: f"{time[:5]}13{time[7:]}"}),
    "no such hour": ("strikes", {"time": lambda time: f"{time[:11]}3{time[12:]}"}),
    "a digit too many": ("strikes", {"time": lambda time: f"{time}0"}),
    "letters for noughts": ("strikes", {"time": lambda time: time.replace("0", "O")}),
    "a trip misspelt": ("strikes", {"trip": lambda trip: f"{trip}x"}),
    "a rod misspelt": ("strikes", {"rod": lambda rod: f"{rod}{rod}"}),
    "cells emptied": ("strikes", {"time": "", "rod": "", "trip": ""}),
    "sets of an unknown gear": ("sets", {"gear": "whatsit"}),
    "sets of an unknown rod": ("sets", {"rod": "X9"}),
    "sets of an unknown trip": ("sets", {"trip": "T?"}),
    "sets without a line": ("sets", {"line_out": ""}),
    "sets with words for a line": ("sets", {"line_out": "lots"}),
    "sets without a begin": ("sets", {"time_in": "dawn"}),
    "trips without an end": ("trips", {"end": "noon"}),
    "trips of another year": ("trips", {"date": lambda date: f"2019{date[4:]}"}),
    "trips without a day": ("trips", {"date": ""}),
}


@pytest.fixture(scope="module")
def simulated() -> SimulatedSeason:
    return simulate_season("temperature", 3, trips=24, strikes=120)


@pytest.fixture(scope="module")
def whole(simulated, tmp_path_factory):
    """The season as it was written, before any fault."""
    return simulated.write(tmp_path_factory.mktemp("whole") / "dunlin-2026")


@pytest.fixture(scope="module")
def held(simulated) -> pd.DataFrame:
    """Each strike with the row of its set, of its trip, its gear and when it was."""
    sets = simulated.frames["sets"].assign(sets=range(len(simulated.frames["sets"])))
    trips = simulated.frames["trips"]["trip"].tolist()
    strikes = simulated.frames["strikes"].assign(strikes=range(len(simulated.frames["strikes"])))
    found = pd.merge_asof(
        strikes.sort_values("time"),
        sets[["trip", "rod", "time_in", "gear", "sets"]].sort_values("time_in"),
        left_on="time",
        right_on="time_in",
        by=["trip", "rod"],
        allow_exact_matches=False,
    ).sort_values("strikes", ignore_index=True)
    local = found["time"].dt.tz_convert(simulated.boat.time_zone)
    return found.assign(
        hour=local.dt.strftime("%H:%M"),
        month=local.dt.strftime("%m"),
        trips=[trips.index(trip) for trip in found["trip"]],
    )


def spoilt(whole, folder, rows, fault):
    """Copy the season, and put one fault into some rows of its table."""
    shutil.copytree(whole, folder, dirs_exist_ok=True)
    table, cells = FAULTS[fault]
    frame = pd.read_csv(folder / f"{table}.csv", dtype=str, keep_default_na=False)
    for column, value in cells.items():
        written = frame.loc[frame.index[rows], column]
        frame.loc[frame.index[rows], column] = written.map(value) if callable(value) else value
    frame.to_csv(folder / f"{table}.csv", index=False)
    return folder


def third(held: pd.DataFrame, how: str, seed: int) -> pd.DataFrame:
    """Choose a third of the strikes: any, or those of the first hours, months, trips and so on."""
    if how == "any":
        return held.sample(frac=1, random_state=seed).head(-(-len(held) // 3))
    return held.sort_values(how, kind="stable").head(-(-len(held) // 3))


@given(
    fault=st.sampled_from(sorted(FAULTS)),
    how=st.sampled_from(["any", "hour", "month", "trip", "rod", "gear"]),
    seed=st.integers(0, 99),
)
@settings(max_examples=6, phases=[Phase.explicit, Phase.generate])
def test_a_third_of_the_strikes_lost_is_said_first(whole, held, tmp_path_factory, fault, how, seed):
    table = FAULTS[fault][0]
    # a trip has many strikes: those of any third would be all trips
    chosen = third(held, "trip" if table == "trips" else how, seed)
    folder = spoilt(whole, tmp_path_factory.mktemp("lost"), chosen[table].unique(), fault)
    checked = examine(folder)
    losses = {loss.table: loss for loss in reversed(checked.losses)}
    lost = losses["strikes"]
    repeats = len(held) - lost.read  # two emptied rows may be one written twice
    assert lost.lost + repeats >= len(chosen)
    assert lost.share > MOST_LOST
    seasons = read_seasons([folder])
    for lines in (checked.text.splitlines(), _first_lacking(seasons[0])):
        first = " ".join(lines[:2])
        assert f"{lost.lost} of {lost.read} strikes were set aside" in first
        assert lost.reason in first
    assert not checked.passes()
    assert checked.passes(accept_loss=True)
    assert _log_caps(seasons)  # whatever there is to say, no verdict is clear


@pytest.mark.parametrize("how", ["any", "hour", "month", "trip", "rod", "gear"])
@pytest.mark.parametrize("hours", [-1, 1])
def test_a_third_of_the_strikes_an_hour_off_is_in_doubt(whole, held, tmp_path, how, hours):
    """One person's clock, or one that kept the old time: what it says is told, none is clear."""
    folder = shutil.copytree(whole, tmp_path / "dunlin-2026")
    rows = third(held, how, 1)["strikes"].to_numpy()
    frame = pd.read_csv(folder / "strikes.csv", dtype=str, keep_default_na=False)
    late = pd.to_datetime(frame.loc[rows, "time"]) + pd.Timedelta(hours=hours)
    frame.loc[rows, "time"] = late.dt.strftime("%Y-%m-%d %H:%M")
    frame.to_csv(folder / "strikes.csv", index=False)
    checked = examine(folder)
    doubted = checked.doubted.loc[checked.doubted["reason"].str.contains(" if they are an hour ")]
    told, off = set(doubted["row"]), set(rows + 2)
    lost = set(checked.set_aside.loc[checked.set_aside["table"] == "strikes", "row"])
    assert len((told | lost) & off) >= 0.8 * len(off)
    assert len(told - off) <= 0.05 * len(held)
    assert set(doubted["reason"].str.extract(r"(earlier|later)$")[0]) == {
        "earlier" if hours > 0 else "later"
    }
    assert "in doubt" in " ".join(checked.text.splitlines()[:2])
    assert _log_caps(read_seasons([folder]))


def test_no_strike_of_a_sound_log_is_an_hour_off(whole):
    assert not examine(whole).doubted["reason"].str.contains("an hour").any()


def test_what_is_not_known_of_a_strike_loses_no_strike(whole, held, tmp_path):
    """A species of ? and an outcome in words of no list stay with strikes that count."""
    folder = shutil.copytree(whole, tmp_path / "dunlin-2026")
    file = folder / "strikes.csv"
    frame = pd.read_csv(file, dtype=str, keep_default_na=False)
    frame.loc[third(held, "any", 1).index, ["species", "outcome"]] = ["?", "who knows"]
    frame.to_csv(file, index=False)
    checked = examine(folder)
    assert checked.losses == ()
    assert f"{len(held)} strikes" in checked.text.splitlines()[0]
    unread = [one for one in checked.findings if one.column == "outcome"]
    assert sum(one.count for one in unread) == -(-len(held) // 3)


def test_a_whole_log_loses_nothing(whole):
    assert examine(whole).losses == ()
    assert _log_caps(read_seasons([whole])) == ()


def test_check_exits_1_unless_the_loss_is_accepted(whole, held, tmp_path, capsys):
    rows = third(held, "any", 1).index
    folder = spoilt(whole, tmp_path, rows, "no time")
    assert main(["check", str(folder)]) == 1
    assert "were set aside" in capsys.readouterr().out.splitlines()[0]
    assert main(["check", str(folder), "--accept-loss"]) == 0


def test_a_small_loss_is_said_but_stops_nothing_where_it_is_even(whole, held, tmp_path):
    count = len(held)
    rows = np.linspace(0, count - 1, int(0.08 * count)).astype(int).tolist()
    folder = spoilt(whole, tmp_path, rows, "an unknown trip")
    (lost,) = examine(folder).losses
    assert SAID < lost.share < MOST_LOST
    assert not lost.lopsided
    assert examine(folder).passes()
    assert "were set aside" in examine(folder).text.splitlines()[0]


def test_a_small_loss_of_one_rod_stops(whole, held, tmp_path):
    rods = held["rod"]
    rows = np.flatnonzero(rods == rods.mode()[0])[: int(0.12 * len(rods))].tolist()
    folder = spoilt(whole, tmp_path, rows, "an unknown trip")
    (lost,) = examine(folder).losses
    assert lost.share < MOST_LOST
    assert "rod" in lost.lopsided
    assert not examine(folder).passes()


def test_a_loss_that_does_not_tell_its_hours_counts_as_lopsided(whole, held, tmp_path):
    count = len(held)
    rows = np.linspace(0, count - 1, int(0.1 * count)).astype(int).tolist()
    folder = spoilt(whole, tmp_path, rows, "no time")
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
