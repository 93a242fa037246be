"""Owns the tests of a season that is asked: its parts, their counts, what they may tell."""

import numpy as np
import pandas as pd
import pytest

from analysis.errors import RodhoursError, UsageError
from analysis.workbook import Season, example, open_season
from analysis.workbook.judged import PICKED


def test_slices_cut_by_the_hour_keep_all_rod_hours_and_strikes(asked: Season, warm) -> None:
    uncut, cut = warm.answer.exposure.table, asked.table
    assert len(cut) > len(uncut)
    for name in ("hours", "strikes", "landed"):
        assert cut[name].sum() == pytest.approx(uncut[name].sum())
        by_trip = [frame.groupby("trip")[name].sum() for frame in (uncut, cut)]
        pd.testing.assert_series_equal(*by_trip, check_dtype=False)
    local = cut["start"].dt.tz_convert("Europe/Oslo")
    assert (local.dt.hour == cut["hour"]).all()
    length = (cut["end"] - cut["start"]).dt.total_seconds() / 3600
    np.testing.assert_allclose(length, cut["hours"], atol=1e-6)
    assert (local.dt.floor("h") + pd.Timedelta(hours=1) >= cut["end"]).all()


def test_a_part_counts_what_a_plain_count_of_the_log_does(asked: Season, warm) -> None:
    """Counted anew from the log's own strikes and sets, not from the season's slices."""
    morning = asked.where(hours=(4, 10), gear="diver")
    strikes = warm.seasons[0].effort.strikes
    sets = warm.seasons[0].effort.sets
    placed = strikes[strikes["placed"]]
    divers = sets[sets["gear"] == "diver"]
    # A strike on the full hour belongs to the hour that ends then.
    local = (placed["time"] - pd.Timedelta(microseconds=1)).dt.tz_convert("Europe/Oslo")
    early = placed[local.dt.hour.between(4, 9).to_numpy()]
    rod = early.merge(divers, on=["trip", "rod"], suffixes=("", "_set"))
    inside = rod[(rod["time_in"] < rod["time"]) & (rod["time"] <= rod["time_out"])]
    assert len(morning.strikes) == len(inside) > 0
    expected = 0.0
    for row in divers.itertuples():
        day = row.time_in.tz_convert("Europe/Oslo").normalize()
        first, last = day + pd.Timedelta(hours=4), day + pd.Timedelta(hours=10)
        expected += max((min(row.time_out, last) - max(row.time_in, first)).total_seconds(), 0)
    assert morning.table["hours"].sum() == pytest.approx(expected / 3600)


def test_parts_of_parts_are_what_both_ask(asked: Season) -> None:
    one = asked.where(gear="diver").where(hours=(4, 10))
    other = asked.where(hours=(4, 10), gear="diver")
    pd.testing.assert_frame_equal(one.table, other.table)
    assert one.looked_at == other.looked_at == "from 04:00 to 10:00, diver"


def test_hours_over_midnight_and_by_day_make_the_whole(asked: Season) -> None:
    night, day = asked.where(hours=(20, 6)), asked.where(hours=(6, 20))
    assert night.table["hours"].sum() + day.table["hours"].sum() == pytest.approx(
        asked.table["hours"].sum()
    )


@pytest.mark.parametrize(
    ("wishes", "says"),
    [
        ({"gear": "divr"}, "did you mean 'diver'"),
        ({"gaer": "diver"}, "did you mean 'gear'"),
        ({"hours": (4, 25)}, "two whole hours"),
        ({"hours": 4}, "such as"),
        ({"depth": (70, 60, "ft")}, "shallower end first"),
        ({"depth": (60, 70, "fathoms")}, "'ft' and 'm'"),
        ({"depth": "deep"}, "two depths"),
        ({"setting": "9"}, "this season has no setting '9'"),
        ({"month": "Jly"}, "did you mean 'July'"),
        ({"week": 70}, "no ISO week"),
        ({"trips": [True, False]}, "2 flags for"),
        ({"trips": "nowhere"}, "this season has no trip"),
    ],
)
def test_a_wish_that_cannot_be_granted_says_what_can(asked: Season, wishes, says: str) -> None:
    with pytest.raises(UsageError, match=says):
        asked.where(**wishes)


def test_names_are_taken_in_any_capitals(asked: Season) -> None:
    assert asked.where(gear="  DIVER").looked_at == "diver"


def test_a_part_is_judged_and_never_called_clear(asked: Season) -> None:
    part = asked.where(gear="diver")
    assert part.answer.season.strikes.sum() == len(part.strikes)
    assert part.answer.caps[0] == PICKED
    assert set(part.bands["verdict"]) <= {"leaning", "open"}
    assert part.bands["rod_hours"].sum() == pytest.approx(part.table["hours"].sum())
    assert part.looked_at in repr(part)


def test_the_same_part_gives_the_same_answer_twice(asked: Season) -> None:
    one, other = (asked.where(hours=(4, 12)).bands for _ in range(2))
    pd.testing.assert_frame_equal(one, other)


def test_the_whole_season_is_the_answer_of_the_review(asked: Season, warm) -> None:
    pd.testing.assert_frame_equal(asked.bands, warm.answer.table.reset_index(drop=True))


def test_a_part_without_strikes_or_hours_says_that_it_cannot_tell(asked: Season) -> None:
    empty = asked.where(hours=(1, 2))
    assert len(empty.table) == len(empty.bands) == len(empty.checks) == 0
    assert "No rod-hours" in repr(empty)
    assert "the log cannot tell" in repr(empty)
    assert "nothing to draw" in empty.plot.by_hour().html
    struck = asked.strikes["trip"].unique()
    idle = asked.where(trips=~asked.trips["trip"].isin(struck))
    assert "cannot tell one depth from another" in repr(idle)


def test_every_strike_has_its_place_in_the_log(tmp_path) -> None:
    season = open_season(example(tmp_path / "heron"))
    strike = season.strikes.iloc[0]
    assert (strike["file"], strike["line"]) == ("heron/strikes.csv", 2)
    assert (strike["area"], strike["hour"], strike["lure"]) == ("North Basin", 6, "Blue Heel")
    assert strike["depth_m"] == season.table.query("strikes > 0")["depth_m"].iloc[0]


def test_a_lure_named_as_markup_is_shown_and_not_obeyed(tmp_path) -> None:
    folder = example(tmp_path / "heron")
    for name in ("sets.csv",):
        text = (folder / name).read_text().replace("Blue Heel", "<img src=x onerror=alert(1)>")
        (folder / name).write_text(text)
    part = open_season(folder).where(lure="<img src=x onerror=alert(1)>")
    assert "<img src=x" not in part._repr_html_()
    assert "&lt;img src=x" in part._repr_html_()


def test_the_year_before_must_be_opened_too(asked: Season) -> None:
    with pytest.raises(RodhoursError, match=r"no log of \d+ was opened"):
        _ = asked.before


def test_cards_are_short(asked: Season) -> None:
    for thing in (asked, asked.where(gear="diver")):
        assert len(repr(thing).splitlines()) <= 12
        assert max(map(len, repr(thing).splitlines())) <= 90


def test_a_table_of_ones_own_is_joined_by_day(asked: Season) -> None:
    days = asked.trips["date"]
    own = pd.DataFrame({"date": days.unique()[::2], "wind": 7.5})
    joined = asked.join(own)
    assert joined.trips["wind"].notna().equals(days.isin(own["date"]))
    windy = joined.where(trips=joined.trips["wind"] > 5)
    assert set(windy.table["trip"]) <= set(joined.trips.query("wind > 5")["trip"])


@pytest.mark.parametrize(
    ("own", "on", "says"),
    [
        (pd.DataFrame({"day": ["2026-07-04"]}), "date", "there is no column 'date'"),
        (pd.DataFrame({"date": ["soon"]}), "date", "row 1: date 'soon' is no day"),
        (pd.DataFrame({"trip": ["x", "x"]}), "trip", "has several rows"),
        (pd.DataFrame({"trip": ["x"]}), "trip", "no row of it, of 1,"),
        (pd.DataFrame({"trip": ["x"]}), "boat", "by 'trip' or by 'date'"),
        ("nowhere.csv", "trip", "no CSV that can be read"),
    ],
)
def test_a_table_that_does_not_fit_says_why(asked: Season, own, on: str, says: str) -> None:
    with pytest.raises(UsageError, match=says):
        asked.join(own, on=on)


def test_a_trip_is_drawn_with_its_strikes(asked: Season) -> None:
    trip = asked.strikes["trip"].iloc[0]
    strikes = (asked.strikes["trip"] == trip).sum()
    assert f"{strikes} strike" in asked.plot.trip(trip).html
    assert f"{len(asked.strikes.dropna(subset='depth_m'))} strikes at" in asked.plot.section().html
    with pytest.raises(UsageError, match="it has no rod-hours here"):
        asked.plot.trip("nowhere")
