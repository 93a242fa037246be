"""Owns the tests of parts by day and of contrasts, and of the notebooks that ask them."""

import ast
from pathlib import Path
from typing import Any

import nbformat
import numpy as np
import pandas as pd
import pytest
import rodhours

from analysis.errors import UsageError
from analysis.places import NOTEBOOKS
from analysis.workbook import Season, example, open_season


def run_cells(path: Path, **given: object) -> list[Any]:
    """Run a notebook's cells here, parameters put in; what each cell shows."""
    notebook = nbformat.read(path, as_version=4)
    space: dict[str, Any] = {}
    shown = []
    for cell in (cell for cell in notebook.cells if cell.cell_type == "code"):
        tree = ast.parse(cell.source)
        last = tree.body.pop() if isinstance(tree.body[-1], ast.Expr) else None
        exec(compile(tree, path.name, "exec"), space)
        if last is not None:
            shown.append(eval(ast.unparse(last), space))
        if "parameters" in cell.metadata.get("tags", []):
            assert set(given) <= set(space)
            space.update(given)
    return shown


def test_parts_by_day_are_those_of_the_calendar(asked: Season) -> None:
    dates = pd.to_datetime(asked.trips["date"])
    for wish, chosen in (
        ({"weekday": "saturday"}, dates.dt.day_of_week == 5),
        ({"days": ("07-01", "07-31")}, dates.dt.month == 7),
        ({"days": (None, f"{asked.year}-06-30")}, dates.dt.month <= 6),
    ):
        expected = asked.trips.loc[chosen, "rod_hours"].sum()
        assert asked.where(**wish).table["hours"].sum() == pytest.approx(expected)
        assert expected > 0


def test_every_trip_has_one_weekday_and_one_moon(asked: Season) -> None:
    for kind in ("weekday", "moon", "area", "lure", "gear"):
        table = asked.each(kind).table
        assert table["rod_hours"].sum() == pytest.approx(asked.table["hours"].sum())
        assert table["strikes"].sum() == asked.table["strikes"].sum()
        assert table["p_most"].sum() == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("wishes", "says"),
    [
        ({"days": "07-01"}, "the first and the last day"),
        ({"days": ("07-31", "07-01")}, "the first day is after the last"),
        ({"days": ("soon", None)}, "write it as year-month-day"),
        ({"weekday": "Satday"}, "did you mean 'Saturday'"),
        ({"moon": "blue"}, "'dark', 'half' and 'full'"),
        ({"note": ""}, "a word that stands in the notes"),
    ],
)
def test_a_day_that_cannot_be_told_says_what_can(asked: Season, wishes, says: str) -> None:
    with pytest.raises(UsageError, match=says):
        asked.where(**wishes)


def test_notes_choose_trips_by_their_words(tmp_path: Path) -> None:
    folder = example(tmp_path / "heron")
    trips = (folder / "trips.csv").read_text()
    (folder / "trips.csv").write_text(trips.replace("Basin,2,", "Basin,2,Wind and chop"))
    season = open_season(folder)
    assert len(season.where(note="wind").strikes) == 1
    assert len(season.where(note=["calm", "flat"]).strikes) == 0


def test_a_part_and_the_rest_are_the_whole(asked: Season) -> None:
    for wishes in ({"hours": (4, 10)}, {"gear": "diver"}, {"weekday": "Monday"}):
        told = asked.against_rest(**wishes)
        assert sum(rate.hours for rate in told.rates) == pytest.approx(asked.table["hours"].sum())
        assert sum(rate.strikes for rate in told.rates) == asked.table["strikes"].sum()


def test_of_a_species_on_one_gear_the_rest_is_that_species_on_the_others(asked: Season) -> None:
    fish = asked.names("species")[0]
    told = asked.against_rest(species=fish, gear="diver")
    of_fish = asked.where(species=fish).table
    assert sum(rate.strikes for rate in told.rates) == of_fish["strikes"].sum()
    alone = asked.against_rest(species=fish)
    assert sum(rate.strikes for rate in alone.rates) == asked.table["strikes"].sum()
    assert alone.rates[0].hours == alone.rates[1].hours


def test_two_names_are_compared_as_two_parts_are(asked: Season) -> None:
    one, other = asked.names("lure")[:2]
    told = asked.versus("lure", one, other)
    assert told.ratio == asked.where(lure=one).compare(asked.where(lure=other)).ratio
    assert asked.versus("lure").names == (one, other)


def test_what_cannot_be_compared_says_so_on_a_card(asked: Season) -> None:
    assert "no rod fished in this part" in repr(asked.against_rest(days=("01-01", "01-02")))
    assert "not two of them" in repr(asked.where(gear="rigger").versus("gear"))
    assert "name its folder too" in repr(asked.last_year())
    with pytest.raises(UsageError, match="did you mean 'lure'"):
        asked.each("lures")


def test_which_has_most_is_told_only_where_it_is_sure() -> None:
    """Where the log is one morning of one strike, no name has most."""
    season = rodhours.open(rodhours.example())
    told = season.each("area")
    assert "the log cannot tell" in repr(told)
    assert np.isnan(told.p_most[0])


def test_a_strikes_only_log_is_asked_and_says_that_it_cannot_tell(tmp_path: Path) -> None:
    folder = example(tmp_path / "heron")
    (folder / "sets.csv").unlink()
    shown = run_cells(NOTEBOOKS / "ask.ipynb", season=folder)
    assert len(shown) > 8
    told = [repr(one).casefold() for one in shown[1:]]
    assert all("log cannot tell" in one for one in told), told


def test_questions_are_answered_with_rod_hours_and_interval(
    asked: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("rodhours.open", lambda _: asked, raising=False)
    shown = run_cells(NOTEBOOKS / "ask.ipynb")
    for one in shown:
        text = repr(one)
        assert ("rod-hours: " in text and "90 % interval" in text) or "cannot tell" in text
        assert len(text.splitlines()) < 30


def test_the_models_are_argued_on_a_season_and_on_a_log_without_sets(
    asked: Season, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = example(tmp_path / "heron")
    (folder / "sets.csv").unlink()
    run_cells(NOTEBOOKS / "catch_rate.ipynb", season=folder)
    # Strata have tests of their own; fitting them here would take half of this file's time.
    monkeypatch.setattr("analysis.diagnostics.sensitivity.compare_strata", lambda *_: None)
    monkeypatch.setattr("rodhours.open", lambda _: asked, raising=False)
    shown = run_cells(NOTEBOOKS / "catch_rate.ipynb")
    told = " ".join(str(getattr(one, "html", one)) for one in shown)
    for word in (
        "It rests on",
        "Checks of the model",
        "negative binomial GLM",
        "down at the same time",
    ):
        assert word in told
