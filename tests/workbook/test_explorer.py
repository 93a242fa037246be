"""Owns the tests of the explorer without a browser: what its controls ask, what it shows."""

import threading
import time

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from analysis.stats.stopping import go_on
from analysis.workbook import Season
from analysis.workbook.background import Newest
from analysis.workbook.explorer import Explorer, explore, listed


@pytest.fixture
def explorer(asked: Season) -> Explorer:
    return Explorer(asked, pause_s=0.0)


def rows(explorer: Explorer) -> list[list[str]]:
    page = BeautifulSoup(explorer.table.value, "html.parser")
    return [
        [cell.text.strip() for cell in row.find_all(["th", "td"])] for row in page.find_all("tr")
    ]


def test_counts_are_shown_at_once_and_the_answer_when_it_is_there(explorer, asked) -> None:
    assert explorer.newest.wait(60)
    bands = asked.bands.query("period == 'season'")
    shown = rows(explorer)[1:]
    assert [int(row[1]) for row in shown] == bands["strikes"].tolist()
    assert [row[0].endswith("◀") for row in shown] == bands["named"].tolist()
    assert f"{len(asked.table.query('strikes > 0'))}" in explorer.looked_at.value


def test_a_control_narrows_what_is_counted_and_says_so(explorer, asked) -> None:
    explorer.controls.by_name["gear"].value = "rigger"
    explorer.controls.by_name["hours"].value = (5, 10)
    assert explorer.newest.wait_shown(60)
    part = asked.where(gear="rigger", hours=(5, 10))
    assert "From 05:00 to 10:00, rigger" in explorer.looked_at.value
    assert sum(int(row[1]) for row in rows(explorer)[1:]) == part.table["strikes"].sum()
    explorer.controls.set_back()
    assert explorer.newest.wait_shown(60)
    assert "The whole season" in explorer.looked_at.value
    assert explorer.controls.wishes == dict.fromkeys(explorer.controls.wishes)


def test_a_part_with_nothing_says_so_and_fits_nothing(explorer) -> None:
    explorer.controls.by_name["setting"].value = explorer.controls.by_name["setting"].options[1][1]
    explorer.controls.by_name["gear"].value = "rigger"
    assert explorer.newest.wait_shown(60)
    assert "No rod fished so" in explorer.table.value
    assert explorer.newest.wait(60)
    assert "No rod fished so" in explorer.table.value


def test_a_chosen_band_lists_its_sets_and_strikes_with_file_and_line(explorer, asked) -> None:
    explorer.band.index = 3
    assert "strikes.csv, line" in explorer.listed.value
    low, high = explorer._counts.query("rod_hours > 0")[["band_low_m", "band_high_m"]].iloc[2]
    strikes, sets = listed(asked._source.counted, asked._part, low, high)
    inside = asked.table.query("@low <= depth_m < @high")
    assert len(strikes) == inside["strikes"].sum()
    assert sets["hours"].sum() == pytest.approx(inside["hours"].sum())
    assert isinstance(sets, pd.DataFrame)


def test_a_choice_made_while_an_older_wish_is_drawn_is_of_the_band_that_was_chosen(
    explorer, monkeypatch
) -> None:
    """Whoever chooses is not kept waiting, and a slow picture takes nothing back afterwards."""
    drawn, in_time = threading.Event(), []

    def slow(part: object) -> pd.DataFrame:
        in_time.append(drawn.wait(10))
        return pd.DataFrame()

    monkeypatch.setattr("analysis.workbook.explorer.hour_counts", lambda _, part: slow(part))
    explorer.controls.by_name["gear"].value = "rigger"
    explorer.band.index = 3
    chosen = explorer.band.value
    explorer.controls.by_name["hours"].value = (5, 10)
    drawn.set()
    assert explorer.newest.wait_shown(60)
    assert all(in_time)
    assert explorer.band.value == chosen
    assert "From 05:00 to 10:00, rigger" in explorer.looked_at.value
    explorer.controls.band.index += 1  # the water listed stays, in the band that now holds it
    low, high = explorer.band.value
    assert low <= sum(chosen) / 2 < high
    assert high - low > chosen[1] - chosen[0]


def test_only_a_season_is_explored() -> None:
    with pytest.raises(Exception, match="takes a season"):
        explore("dunlin")  # type: ignore[arg-type]


def test_work_that_was_overtaken_is_given_up_and_never_shown() -> None:
    newest, shown, began = Newest(pause_s=0.0), [], threading.Event()
    ended: list[str] = []

    def long() -> str:
        began.set()
        try:
            while True:
                go_on()
                time.sleep(0.005)
        finally:
            ended.append("long")

    newest.do(bool, shown.append, (long, shown.append))
    assert began.wait(10)
    newest.do(bool, shown.append, (lambda: "short", shown.append))
    assert newest.wait(10)
    assert (shown, ended) == (["short"], ["long"])


def test_work_that_fails_says_why() -> None:
    newest, told = Newest(pause_s=0.0), []
    newest.do(lambda: 1 / 0, told.append)
    assert newest.wait(10)
    assert told == ["ZeroDivisionError: division by zero"]
