"""Owns the tests of pictures: what stands on the axes, not how it looks."""

from collections.abc import Iterator
from itertools import combinations
from types import ModuleType

import matplotlib as mpl
import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analysis.errors import UsageError
from analysis.show.base import marks, rows
from analysis.show.base.style import SETTINGS, WIDTH_IN
from analysis.show.season import course_figures, figures, gear_figures
from analysis.units import Units

FEET = Units(
    length="ft", depth="ft", speed="mph", temperature="F", fish_length="in", fish_weight="lb"
)
METRES = Units(
    length="m", depth="m", speed="km/h", temperature="C", fish_length="cm", fish_weight="kg"
)


@pytest.fixture
def ax() -> Iterator[Axes]:
    with mpl.rc_context(dict(SETTINGS)):
        yield Figure(layout="constrained").subplots()


@pytest.fixture
def tables(made_up: ModuleType) -> dict[str, pd.DataFrame]:
    made: dict[str, pd.DataFrame] = made_up.season_tables()
    return made


def drawn_texts(ax: Axes) -> list[str]:
    """All texts that drawing the figure shows."""
    fig = ax.get_figure(root=True)
    assert fig is not None
    fig.draw_without_rendering()
    return [
        found.get_text()
        for found in fig.findobj(mpl.text.Text)
        if found.get_visible() and found.get_text()
    ]


def test_bands_read_from_the_surface_down_in_the_boats_unit(
    tables: dict[str, pd.DataFrame], ax: Axes
) -> None:
    figures.rate_by_band(tables["bands"], FEET, period="season", ax=ax)
    assert [tick.get_text() for tick in ax.get_yticklabels()][:2] == ["0–10", "10–20"]
    bottom, top = ax.get_ylim()
    assert bottom > top
    assert ax.get_ylabel() == "depth of the lure, ft"


def test_rate_marks_stand_at_the_rates_and_named_bands_stand_out(
    tables: dict[str, pd.DataFrame], ax: Axes
) -> None:
    bands = rows.of_period(tables["bands"], "2026-07")
    figures.rate_by_band(tables["bands"], FEET, period="2026-07", ax=ax)
    marks = {line.get_ydata()[0]: line for line in ax.lines if line.get_marker() == "o"}
    judged = bands.index[bands["p_best"].notna()]
    assert sorted(marks) == list(judged)
    for at, mark in marks.items():
        assert mark.get_xdata()[0] == pytest.approx(bands.loc[at, "rate"])
    filled = [at for at, mark in marks.items() if mark.get_markerfacecolor() != "white"]
    bold = [at for at, tick in enumerate(ax.get_yticklabels()) if tick.get_fontweight() == "bold"]
    assert sorted(filled) == bold == list(bands.index[bands["named"]])


def test_rod_hours_stand_behind_each_band_also_where_it_cannot_be_judged(
    tables: dict[str, pd.DataFrame], ax: Axes
) -> None:
    bands = rows.of_period(tables["bands"], "season")
    figures.rate_by_band(tables["bands"], FEET, period="season", ax=ax)
    widths = np.array([bar.get_width() for bar in ax.patches])
    np.testing.assert_allclose(widths / widths.max(), bands["rod_hours"] / bands["rod_hours"].max())
    texts = drawn_texts(ax)
    assert texts.count("too little fished to judge") == bands["p_best"].isna().sum()


def test_one_enormous_interval_does_not_flatten_the_others(
    tables: dict[str, pd.DataFrame], ax: Axes
) -> None:
    bands = rows.of_period(tables["bands"], "season")
    bands.loc[0, "rate_high"] = 50.0
    figures.rate_by_band(bands, FEET, period="season", ax=ax)
    assert ax.get_xlim()[1] < 1.0
    assert [line.get_marker() for line in ax.lines].count(">") == 1


def test_period_without_a_judged_band_draws_no_rate(
    tables: dict[str, pd.DataFrame], ax: Axes
) -> None:
    bands = rows.of_period(tables["bands"], "season")
    bands[["rate", "rate_low", "rate_high", "p_best"]] = np.nan
    figures.rate_by_band(bands.assign(named=False), FEET, period="season", ax=ax)
    assert not [line for line in ax.lines if line.get_marker() == "o"]
    texts = drawn_texts(ax)
    assert texts.count("cannot be told") == bands["judged"].sum()
    assert texts.count("too little fished to judge") == (~bands["judged"]).sum()


def test_months_without_a_judged_band_are_no_picture(tables: dict[str, pd.DataFrame]) -> None:
    assert not rows.judged_months(tables["bands"]).empty
    assert rows.judged_months(tables["bands"].assign(p_best=np.nan)).empty


def test_unknown_period_is_an_error_that_lists_the_known(
    tables: dict[str, pd.DataFrame], ax: Axes
) -> None:
    with pytest.raises(UsageError, match=r"no period '2031-01'.*one of season, 2026-05"):
        figures.rate_by_band(tables["bands"], FEET, period="2031-01", ax=ax)


def test_months_frame_the_named_bands(tables: dict[str, pd.DataFrame], ax: Axes) -> None:
    months = rows.months(tables["bands"])
    figures.rate_by_month(months, FEET, ax=ax)
    frames = {round(patch.get_x() + 0.48): round(patch.get_height()) for patch in ax.patches}
    assert frames == {1: 2, 2: 2, 3: 2}  # May is open; two bands each for June, July, August
    assert [tick.get_text() for tick in ax.get_xticklabels()] == ["May", "Jun", "Jul", "Aug"]


def test_four_counts_stand_side_by_side(tables: dict[str, pd.DataFrame], ax: Axes) -> None:
    figures.raw_against_rate(tables["shares"], METRES, period="season", ax=ax)
    texts = drawn_texts(ax)
    assert sum("share of" in text for text in texts) == 2
    assert len(ax.patches) == 4 * 10


def test_effects_are_drawn_in_the_boats_units(tables: dict[str, pd.DataFrame], ax: Axes) -> None:
    figures.effects_grid(tables["effects"], METRES, ax=ax)
    texts = drawn_texts(ax)
    assert {"depth, m", "speed, km/h", "temperature at the lure, °C", "leader length, m"} <= set(
        texts
    )


def test_panels_need_axes_that_can_be_divided() -> None:
    ax = Figure().add_axes((0, 0, 1, 1))
    with pytest.raises(ValueError, match="only axes made by subplots"):
        marks.divide(ax, rows=1, columns=2)


def test_calendar_shows_each_day_once(tables: dict[str, pd.DataFrame], ax: Axes) -> None:
    twice = pd.concat([tables["trips"], tables["trips"].head(3)], ignore_index=True)
    course_figures.trip_calendar(twice, ax=ax)
    assert len(ax.collections[0].get_offsets()) == 60


def test_weeks_show_band_thermocline_and_temperatures(
    tables: dict[str, pd.DataFrame], ax: Axes
) -> None:
    course_figures.best_band_by_week(tables["weeks"], tables["profile"], FEET, ax=ax)
    assert len(ax.patches) == 16  # one of 17 weeks has no band
    texts = drawn_texts(ax)
    assert "thermocline" in texts
    assert "W18\n27 Apr" in texts  # a week by its number, and the day it begins on
    assert sum("°F" in text for text in texts) >= 3


def test_weeks_without_casts_show_bands_alone(tables: dict[str, pd.DataFrame], ax: Axes) -> None:
    weeks = tables["weeks"].assign(thermocline_m=np.nan)
    course_figures.best_band_by_week(weeks, pd.DataFrame(), FEET, ax=ax)
    assert "thermocline" not in drawn_texts(ax)
    assert len(ax.patches) == 16


def test_lost_and_released_differ_by_more_than_colour(
    tables: dict[str, pd.DataFrame], ax: Axes
) -> None:
    course_figures.species_outcomes(tables["species"], ax=ax)
    hatches = {bars.get_label(): bars[0].get_hatch() for bars in ax.containers}
    assert hatches["lost"]
    assert hatches["lost"] != hatches["released"]


def test_long_and_hostile_names_are_cut(tables: dict[str, pd.DataFrame], ax: Axes) -> None:
    course_figures.species_outcomes(tables["species"], ax=ax)
    names = [tick.get_text() for tick in ax.get_yticklabels()]
    assert names[0] == "lake trout"
    assert names[-1].endswith("…")
    assert max(map(len, names)) <= 24


def test_landing_rates_stand_under_their_terms(tables: dict[str, pd.DataFrame], ax: Axes) -> None:
    gear_figures.landing(tables["outcomes"], ax=ax)
    names = [tick.get_text().strip() for tick in ax.get_yticklabels()]
    assert names[:3] == ["leader length", "under 6 ft", "6–9 ft"]
    marks = [line for line in ax.lines if line.get_marker() == "o"]
    assert [mark.get_xdata()[0] for mark in marks] == list(tables["outcomes"]["boated_rate"])


def test_spread_puts_port_to_the_left_and_joins_flagged_pairs(
    tables: dict[str, pd.DataFrame], ax: Axes
) -> None:
    gear_figures.planned_spread(tables["plan"], tables["clearance"], METRES, ax=ax)
    fig = ax.get_figure(root=True)
    assert fig is not None
    behind = next(panel for panel in fig.axes if panel.get_title(loc="left") == "from behind")
    at = {text.get_text(): text.xy[0] for text in behind.texts}
    assert at["P2"] == pytest.approx(-17.0)  # 14 m out from a tip 3 m to port
    assert at["S2"] == pytest.approx(17.8)
    dashed = [line for line in behind.lines if line.get_linestyle() == "--"]
    assert len(dashed) == 1
    assert behind.get_aspect() == 1.0


def test_names_of_rods_near_each_other_do_not_overlap(
    tables: dict[str, pd.DataFrame],
) -> None:
    fig = Figure(figsize=(WIDTH_IN, 5.2), layout="constrained")
    plan = pd.concat(
        [
            tables["plan"].iloc[[0]].assign(rod=f"Port {at}", tip_y_m=y, setback_m=20.0 + 8.0 * at)
            for at, y in enumerate((-3.0, -2.5, -1.0, 0.0, 1.5, 1.6, 6.0))
        ]
    )
    gear_figures.planned_spread(plan, tables["clearance"].iloc[:0], METRES, ax=fig.subplots())
    fig.draw_without_rendering()
    for panel in (axes for axes in fig.axes if axes.texts):
        boxes = [text.get_window_extent() for text in panel.texts]
        assert sum(text.get_text().count("Port") for text in panel.texts) == len(plan)
        assert not any(a.overlaps(b) for a, b in combinations(boxes, 2))


def test_gear_is_filled_only_if_told_apart(tables: dict[str, pd.DataFrame], ax: Axes) -> None:
    gear_figures.gear_at_equal_depth(tables["gear_effects"], ax=ax)
    marks = [line for line in ax.lines if line.get_marker() == "o"]
    assert [mark.get_markerfacecolor() != "white" for mark in marks] == [False, True, False, False]


def test_troubles_name_gear_setting_and_line_out(tables: dict[str, pd.DataFrame], ax: Axes) -> None:
    gear_figures.troubles(tables["troubles"], FEET, ax=ax)
    assert "diver, setting 3\n79–131 ft out" in [tick.get_text() for tick in ax.get_yticklabels()]
