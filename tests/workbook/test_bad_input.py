"""Owns the tests of wrong values and poor logs in the workbook: refused or told in its words."""

from pathlib import Path

import pytest

from analysis import alias
from analysis.errors import RodhoursError, UsageError
from analysis.report.depth_study import study_depth
from analysis.report.results import read_results
from analysis.show.base.rows import of_period
from analysis.workbook import Season, example, open_season, season_results
from analysis.workbook.explorer import Explorer
from analysis.workbook.season_week import season_week


@pytest.fixture
def heron(tmp_path: Path) -> Path:
    return example(tmp_path / "heron-2026")


def sample():
    return read_results(season_results.SAMPLE / "tables")


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda log: study_depth(log, gear="riger"), "choose one of diver, rigger"),
        (lambda log: study_depth(log, speed=0), "speed 0: give a number above 0 and up to 22"),
        (lambda log: study_depth(log, speed="fast"), "speed 'fast': give a number above 0"),
        (lambda log: study_depth(log, speed="2,7"), "speed '2,7': give a number above 0"),
        (lambda log: study_depth(log, depth=4500), "depth 4500: give a number above 0 and up to"),
        (lambda _: of_period(sample().bands, "Jly"), "choose one of season, 2026-05"),
        (lambda log: season_results.season_results(log / "trips.csv"), "name the folder that"),
        (lambda _: season_week(None, 28), "28 is no ISO week. Remedy: write year and week"),
        (lambda _: sample().bnads, "did you mean bands"),
        (lambda log: open_season(log).where(month="Jly"), "did you mean 'July'? There is: 'July'"),
    ],
)
def test_a_wrong_value_is_refused_with_what_is_allowed(ask, says: str, heron: Path) -> None:
    """Of our errors a notebook shows the message alone."""
    with pytest.raises(RodhoursError) as refused:
        ask(heron)
    assert says in str(refused.value)
    assert refused.value._render_traceback_() == [str(refused.value)]


@pytest.mark.parametrize("strikes", [0, 1])
def test_a_log_with_hardly_a_strike_is_explored(heron: Path, strikes: int) -> None:
    lines = (heron / "strikes.csv").read_text().splitlines(keepends=True)
    (heron / "strikes.csv").write_text("".join(lines[: 1 + strikes]))
    explorer = Explorer(open_season(heron), pause_s=0.0)
    assert explorer.newest.wait(60)
    assert f"{['0 strikes', '1 strike'][strikes]} in 8 rod-hours" in explorer.looked_at.value
    assert "produced best" not in explorer.verdict.value
    explorer.controls.by_name["gear"].value = "rigger"
    assert explorer.newest.wait(60)
    assert "no strike in it" in explorer.table.value


def test_a_lure_named_as_markup_is_text(heron: Path) -> None:
    hostile = "<img src=x onerror=alert(1)>"
    sets = heron / "sets.csv"
    sets.write_text(sets.read_text().replace("Blue Heel", hostile))
    season = open_season(heron)
    explorer = Explorer(season, pause_s=0.0)
    explorer.controls.by_name["lure"].value = hostile
    explorer.band.index = 1
    assert explorer.newest.wait(60)
    shown = [explorer.looked_at, explorer.table, explorer.verdict, explorer.listed]
    pages = [widget.value for widget in shown] + [season.where(lure=hostile)._repr_html_()]
    assert "&lt;img" in pages[0]
    assert "&lt;img" in pages[3]
    assert all("<img" not in page for page in pages)


def test_a_folder_that_is_renamed_while_open_is_asked_as_it_was_read(heron: Path) -> None:
    season = open_season(heron)
    heron.rename(heron.with_name("elsewhere"))
    assert len(season.bands)
    assert "1 strike" in repr(season)
    with pytest.raises(RodhoursError, match="there is no such folder"):
        open_season(heron)


def test_what_is_asked_after_somebody_typed_on_is_kept_for_the_log_that_was_read(heron) -> None:
    """Else the next opening finds the answer of the old log under the new log's name."""
    season = open_season(heron)
    with (heron / "strikes.csv").open("a") as log:
        log.write("1,08:00,S1,brown trout,lost,,,\n")
    assert struck(season) == 1
    assert struck(open_season(heron)) == 2


def struck(season: Season) -> int:
    return int(season.bands.query("period == 'season'")["strikes"].sum())


def test_two_notebooks_and_a_kernel_begun_anew_share_what_is_kept(heron, store) -> None:
    one, other = open_season(heron), open_season(heron)
    assert one.bands.equals(other.bands)
    assert len(list(store.glob("*.season"))) == 2
    first, second = (season_results.season_results(heron) for _ in range(2))
    assert first.bands.equals(second.bands)


def test_a_mistyped_name_after_a_dot_gives_the_nearest(heron: Path) -> None:
    season = open_season(heron)
    for of, name, like in (
        (season, "bnds", "bands"),
        (season, "wher", "where"),
        (season.plot, "byhour", "by_hour"),
        (season.each("gear"), "tabel", "table"),
    ):
        with pytest.raises(AttributeError, match=f"did you mean '{like}'"):
            getattr(of, name)
    assert not hasattr(season, "_repr_png_")
    with pytest.raises(AttributeError, match="did you mean 'open'"):
        alias.opne  # noqa: B018
    assert [name for name in dir(alias) if name[0] != "_"] == ["Season", "example", "open"]


def test_every_object_that_is_handed_out_is_told_in_few_lines(heron: Path) -> None:
    season = open_season(heron)
    of = (season, season.plot, season.answer, season.plot.by_hour(), season.each("gear"))
    for one in (*of, season.how_fitted, season.last_year(), season.boat_to_ask()):
        assert len(repr(one)) < 1200, type(one)


def test_comparing_with_nothing_is_refused_in_words(heron: Path) -> None:
    season = open_season(heron)
    with pytest.raises(UsageError, match="takes a season"):
        season.compare(3)  # type: ignore[arg-type]
    for wishes in ({}, {"gear": None}):
        with pytest.raises(UsageError, match="compares nothing"):
            season.against_rest(**wishes)
