"""Owns the tests of the weekly report's sentences: what they say of which figures."""

import json
from collections.abc import Callable
from dataclasses import asdict, replace
from math import nan
from pathlib import Path
from typing import Any

import pytest

from analysis.report.results import plain
from analysis.report.weekly.pages import index_page
from analysis.report.weekly.store import WeeklyError, read_week
from analysis.show.week import parts as week
from analysis.show.week import tables as week_tables
from analysis.show.week import text as week_text
from analysis.show.week import words as week_words
from analysis.weekly.figures import Condition, Counts, Row, Unknown, WeekReport

Change = Callable[..., WeekReport]
CLEAR = {
    "alike": False,
    "caps": (),
    "verdict": "clear",
    "p_near": 0.95,
    "named_low_m": 12.192,
    "named_high_m": 18.288,
}


@pytest.fixture
def told(weekly: Any) -> Change:
    """A function that returns the figures of a week with some of them changed."""
    week = read_week(weekly.out / "2026-W27.json")

    def change(
        *, depth: dict[str, Any] | None = None, counts: dict[str, Any] | None = None, **others: Any
    ) -> WeekReport:
        changes: dict[str, Any] = {
            "depth": replace(week.depth, **CLEAR | (depth or {})),
            "counts": replace(week.counts, **counts or {}),
        }
        return replace(week, **changes | others)

    return change


def test_the_file_holds_the_figures_key_for_key(weekly: Any) -> None:
    for path in weekly.out.glob("*-W*.json"):
        content = json.loads(path.read_text(encoding="utf-8"))
        assert plain(asdict(read_week(path))) == content
        assert list(asdict(read_week(path))) == list(content)


def test_a_file_of_another_version_is_refused_with_its_fault(weekly: Any, tmp_path: Path) -> None:
    content = json.loads((weekly.out / "2026-W27.json").read_text(encoding="utf-8"))
    del content["depth"]["verdict"]
    (tmp_path / "2026-W27.json").write_text(json.dumps(content), encoding="utf-8")
    with pytest.raises(WeeklyError, match=r"2026-W27\.json: .*verdict.* Remedy: make the report"):
        read_week(tmp_path / "2026-W27.json")
    page = index_page({"2026-W27": content}, lambda week: False)
    assert "Made by another version of rodhours." in page


def test_headline_says_the_verdict_in_words(told: Change) -> None:
    cases = {
        "clear": "40–60 ft (12–18 m) produced best.",
        "leaning": "The logs lean to 40–60 ft (12–18 m): likely, but not sure.",
        "open": "The logs cannot tell which depth produced.",
    }
    for verdict, headline in cases.items():
        assert week_words.headline(told(depth={"verdict": verdict})) == headline
    alike = told(depth={"verdict": "open", "alike": True})
    assert week_words.headline(alike).startswith("No depth stood out")


@pytest.mark.parametrize(
    ("strikes", "headline"),
    [
        (0, "No strike was logged, so nothing tells which depth produced."),
        (1, "One strike was logged: too few to tell which depth produced."),
        (2, "2 strikes were logged: too few to tell which depth produced."),
        (3, "The logs cannot tell which depth produced."),
    ],
)
def test_thin_week_reads_honestly(told: Change, strikes: int, headline: str) -> None:
    few = told(depth={"verdict": "open"}, counts={"strikes": strikes})
    assert week_words.headline(few) == headline
    many = "strike," if strikes == 1 else "strikes,"
    assert f"{strikes} {many}" in week_words.tally(few.counts)


def test_week_that_leans_on_the_season_says_so(told: Change) -> None:
    reason = "the week itself has too few strikes to show that fish did as in other weeks"
    thin = told(depth={"verdict": "leaning", "caps": (reason,)})
    lines = week_words.answer_lines(thin)
    assert f"No higher verdict, because {reason}." in lines
    assert week_words.BORROWED in lines
    assert reason in week_text.text(thin)
    assert "No higher verdict" not in " ".join(week_words.answer_lines(told()))


def test_no_certainty_is_claimed_that_draws_cannot_show(told: Change) -> None:
    assert "over 99 % sure" in week_words.certainty(told(depth={"p_near": 1.0}))
    assert "95 % sure" in week_words.certainty(told())
    unnamed = {"named_low_m": nan, "rate": nan, "p_near": nan, "verdict": "open"}
    assert week_words.certainty(told(depth=unnamed)) == ""


def test_what_to_try_follows_from_the_figures(told: Change) -> None:
    lines = week_words.try_next(told(conditions=()))
    assert lines[0] == "Start most rods at 40–60 ft (12–18 m)."
    unsure = week_words.try_next(told(depth={"verdict": "open"}, conditions=()))
    assert unsure[0].startswith("Keep rods spread over the depths; 40–60 ft")
    band = replace(told().depth.bands[0], low_m=6.096, high_m=9.144, rod_hours=21.4)
    explore = told(depth={"explore": replace(band, deeper=False)}, conditions=())
    assert (
        "Give one rod to 20–30 ft (6–9 m): 21 rod-hours there cannot rule out that it is as good."
        in week_words.try_next(explore)
    )


def test_water_to_look_for_is_where_it_lay(told: Change) -> None:
    water = replace(told().water, best_low_c=9.0, best_high_c=11.0)
    found = told(water=replace(water, best_low_m=12.2, best_high_m=15.2), conditions=())
    assert any(
        "water of 48–52 °F (9–11 °C)" in line and "it lay at 40–50 ft (12–15 m)" in line
        for line in week_words.try_next(found)
    )
    lost = told(water=replace(water, best_low_m=nan, best_high_m=nan), conditions=())
    assert any("no cast found it this week" in line for line in week_words.try_next(lost))


def test_speed_off_the_best_is_told_only_where_it_matters(told: Change) -> None:
    condition = Condition(
        term="speed_mps",
        low=1.3,
        middle=1.4,
        high=1.5,
        best_low=0.9,
        best_high=1.1,
        from_end=False,
        to_end=False,
        matters=True,
    )
    lines = week_words.try_next(told(conditions=(condition,)))
    assert lines[-1].startswith(
        "Try a speed of 2.0–2.5 mph (3.2–4.0 km/h), the best of this season"
    )
    for change in ({"matters": False}, {"middle": 1.0}):
        lines = week_words.try_next(told(conditions=(replace(condition, **change),)))
        assert not any("Try a speed" in line for line in lines)
    units = week_words.units_of(told())
    assert (
        week_words.best_of(replace(condition, from_end=True), units) == "2.5 mph (4.0 km/h) or less"
    )
    assert (
        week_words.best_of(replace(condition, to_end=True), units) == "2.0 mph (3.2 km/h) or more"
    )


def test_what_is_not_known_is_named_with_its_share_in_words(told: Change) -> None:
    unknown = (
        Unknown(what="depth_m", share="some"),
        Unknown(what="lure_temp_c", share="most"),
        Unknown(what="no sets", share="little"),
        Unknown(what="casts"),
    )
    lines = week_words.not_known(
        told(unknown=unknown, last_year_status="no log", last_week_status="too few boats")
    )
    assert lines[0] == "How deep the lure ran, for some of the rod-hours."
    assert "for most of the rod-hours" in lines[1]
    assert "a few of the trips" in lines[2]
    assert "no cast was made" in lines[3]
    assert "with last week: fewer than three boats logged trips then" in lines[4]
    assert "with the same week last year: these logs do not hold it" in lines[5]
    assert lines[-1] == "Where fish were that no rod fished for."
    assert not any(char.isdigit() for char in " ".join(lines))


@pytest.mark.parametrize(("rod_hours", "told_hours"), [(None, ""), (17.0, " (17 rod-hours by")])
def test_rows_set_aside_are_mentioned(
    told: Change, rod_hours: float | None, told_hours: str
) -> None:
    entry = Unknown(what="set aside", share="little", rod_hours=rod_hours)
    line = week_words.not_known(told(unknown=(entry,)))[0]
    assert line.startswith("What a few of the sets fished: their rows cannot be used" + told_hours)
    assert "`rodhours check` names them" in line


def test_figures_of_too_few_boats_are_dashes_and_words(told: Change) -> None:
    hidden = {"trips": None, "strikes": None, "landed": None, "released": None, "species": ()}
    few = told(depth={"verdict": "open"}, counts=hidden | {"boats": 3, "rod_hours": 70.0})
    assert week_words.tally(few.counts) == (
        "3 boats, 70 rod-hours; the strikes are of too few boats to be told."
    )
    assert week_words.headline(few) == "The logs cannot tell which depth produced."
    assert week_words.headline(replace(few, depth=None)).startswith("Too few boats had strikes to")
    table = week_tables.figures(replace(few, last_week=None, last_year=None))
    assert {row[0]: row[1] for row in table.rows} == {
        "Boats": "3",
        "Trips": "–",
        "Rod-hours": "70",
        "Strikes": "–",
        "Landed": "–",
        "Let go": "–",
    }
    assert "None" not in week_text.text(few)


def test_a_first_band_that_one_boat_fished_higher_is_open_above(told: Change) -> None:
    units = week_words.units_of(told())
    band = replace(told().depth.bands[0], low_m=6.096, high_m=9.144, shallower=True, deeper=False)
    assert week_words.band_of(band, units) == "30 ft (9 m) and shallower"
    assert week_words.band_of(replace(band, deeper=True), units) == (
        "20–30 ft (6–9 m), shallower and deeper"
    )


def test_species_are_summed_up_where_any_is_told_apart(told: Change) -> None:
    row = Row(names=("char",), strikes=4, landed=2, released=0)
    unseen = replace(row, names=("",), strikes=2)
    others = replace(row, names=("pike", "perch"), strikes=3)
    counts = Counts(boats=3, strikes=9, species=(row, unseen, others))
    assert week_words.species(counts) == "Strikes: char 4, fish not seen 2, others 3."
    assert week_words.species(Counts(boats=3, strikes=3, species=(others,))) == ""


def test_parts_without_content_are_not_on_the_page(told: Change) -> None:
    nothing: dict[str, Any] = {"line_outs": (), "conditions": (), "water": None}
    bare = replace(told(status="no trips", **nothing), depth=None, counts=None)
    for part in ("figures", "depth", "tackle", "ahead", "protection"):
        assert getattr(week, part)(bare).html == ""


@pytest.mark.parametrize(
    ("strikes", "rod_hours", "words"),
    [
        (1, 300.0, "Last week 1 strike in 300 rod-hours."),
        (None, 300.0, "Last week 300 rod-hours (strikes not told)."),
        (12, None, "Last week 12 strikes (rod-hours not told)."),
        (None, None, "Last week (strikes and rod-hours not told)."),
    ],
)
def test_the_week_before_in_the_message_says_what_may_not_be_told(
    told: Change, strikes: int | None, rod_hours: float | None, words: str
) -> None:
    before = Counts(boats=3, strikes=strikes, rod_hours=rod_hours)
    assert words in week_text.text(told(last_week=before, last_year=None))


def test_line_outs_stand_with_the_range_that_does_as_well(told: Change) -> None:
    line = replace(
        told().line_outs[0],
        gear="diver",
        setting=1.0,
        line_out_m=30.48,
        line_out_sd_m=1.524,
        line_out_low_m=27.432,
        line_out_high_m=33.528,
    )
    alone = replace(line, gear="rigger", setting=None, line_out_low_m=30.48, line_out_high_m=30.48)
    found = told(line_outs=(line, alone), target_why="band")
    assert week_tables.line_outs(found).rows == [
        ("diver", "1", "100 ft (30 m)", "90–110 ft (27–34 m)"),
        ("rigger", "–", "100 ft (30 m)", "100 ft (30 m)"),
    ]
    said = week_text.text(found)
    assert "ft (in brackets, these do as well): diver set 1 100 (90–110), rigger 100." in said
    assert "brackets" not in week_text.text(told(line_outs=(alone,), target_why="band"))
    doubtful = replace(line, line_out_low_m=nan, line_out_high_m=nan)
    # 1.645 x 1.524 m = 8.2 ft: the 90 % interval of a normal, in steps of 5 ft and of 1 m.
    table = week_tables.line_outs(told(line_outs=(doubtful,), target_why="water"))
    assert table.columns["Nine times in ten"] == ["90–110 ft (28–33 m)"]
