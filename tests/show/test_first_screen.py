"""Owns the tests of the first screen and of what folds: all there, and the answer in front."""

from types import ModuleType

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from analysis.show.base.folds import beside, folded, together
from analysis.show.base.html import Fragment, paragraph
from analysis.show.base.tables import from_rows
from analysis.show.season import first_screen, step_tables, words


def seen(fragment: Fragment) -> BeautifulSoup:
    return BeautifulSoup(fragment.html, "html.parser")


def test_a_fold_is_closed_and_holds_everything_escaped() -> None:
    page = seen(folded("What <i> is inside", paragraph("a < b"), Fragment(), paragraph("c")))
    (fold,) = page.find_all("details")
    assert not fold.has_attr("open")
    assert fold.summary.get_text() == "What <i> is inside"
    assert [each.get_text() for each in fold.find_all("p")] == ["a < b", "c"]


def test_an_empty_fold_is_left_out() -> None:
    assert folded("nothing", Fragment(), Fragment()).html == ""


def test_pieces_keep_their_order() -> None:
    pieces = [paragraph(text) for text in "abc"]
    for joined in (together(*pieces), beside(*pieces)):
        assert [each.get_text() for each in seen(joined).find_all("p")] == ["a", "b", "c"]


def test_the_answer_is_two_sentences_and_the_rest_follows() -> None:
    summary = {"first_lines": ["First.", "Second.", "Third <b>.", "Fourth."]}
    assert seen(words.answer(summary)).get_text() == "First.Second."
    assert seen(words.further(summary)).get_text().split("\n") == ["Third <b>.", "Fourth."]


def test_what_to_set_names_each_gear_with_its_line_outs(made_up: ModuleType) -> None:
    plan = made_up.season_tables()["plan"]
    told = seen(first_screen.what_to_set(plan)).get_text()
    for row in plan[plan["purpose"] == "best band"].itertuples():
        outs = plan[(plan["gear"] == row.gear) & (plan["purpose"] == "best band")]["line_out"]
        assert f"{outs.min():g}" in told or f"{row.line_out:g}" in told
        assert row.gear in told
        assert f"\u00a0{row.unit}" in told  # no line ends between a number and its unit
    assert "no depth to aim at" in seen(first_screen.what_to_set(plan.head(0))).get_text()


def test_how_sure_tells_each_period_once() -> None:
    verdicts = {"season": "clear", "2026-05": "clear", "2026-06": "open", "2026-07": "leaning"}
    best = [
        {"period": name, "verdict": verdict, "an_average": False}
        for name, verdict in verdicts.items()
    ]
    lines = [each.get_text() for each in seen(first_screen.how_sure({"best": best})).find_all("li")]
    assert lines == [
        "The log leaves little doubt: the season and May.",
        "Likely, but not sure: July.",
        "The log cannot tell: June.",
    ]
    assert first_screen.how_sure({"best": []}).html == ""


def test_a_season_without_one_depth_is_not_called_sure_of_it() -> None:
    best = [
        {"period": "season", "verdict": "clear", "an_average": True},
        {"period": "2026-05", "verdict": "clear", "an_average": False},
    ]
    lines = [each.get_text() for each in seen(first_screen.how_sure({"best": best})).find_all("li")]
    assert lines == [
        "The log leaves little doubt: May.",
        "No one depth is the season's: go by the month.",
    ]


@pytest.fixture
def effects(made_up: ModuleType) -> pd.DataFrame:
    return made_up.season_tables()["effects"]


def test_a_curve_that_says_nothing_is_told_and_not_drawn(effects: pd.DataFrame) -> None:
    quiet = effects["term"] == "leader_length_m"
    wide = effects.assign(
        low=effects["low"].where(~quiet, 0.5), high=effects["high"].where(~quiet, 2.0)
    )
    sure = wide["term"] == "depth_m"
    wide.loc[sure & (wide.index == wide.index[sure][0]), ["low", "high"]] = [1.2, 1.6]
    drawn = set(step_tables.telling(wide)["term"])
    assert "depth_m" in drawn
    assert "leader_length_m" not in drawn
    told = seen(step_tables.silent(wide)).get_text()
    assert "eader length" in told
    assert "mattered the log cannot tell" in told
    assert "depth" not in told.lower()


def test_table_cells_carry_their_heading_for_a_phone() -> None:
    table = from_rows("Effort", ("Band", "Rod-hours", "Rate"), [("30–40 ft", "62", "0.1")])
    page = BeautifulSoup(table.html, "html.parser")
    assert [cell["data-label"] for cell in page.find_all("td")] == ["Rod-hours", "Rate"]
