"""Owns the tests of the water's picture: what stands on the axes against the tables."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from types import ModuleType

import matplotlib as mpl
import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from analysis.show.base.style import INK, SETTINGS
from analysis.show.course import pictured, water_figures, water_words
from analysis.units import Units

FEET = Units(
    length="ft", depth="ft", speed="mph", temperature="F", fish_length="in", fish_weight="lb"
)
METRES = replace(FEET, depth="m", temperature="C")
DAYS = pd.date_range("2026-06-01", "2026-08-30", freq="7D")


@pytest.fixture
def ax() -> Iterator[Axes]:
    with mpl.rc_context(dict(SETTINGS)):
        yield Figure(layout="constrained").subplots()


def frames(sd_c: float = 0.4) -> list[pd.DataFrame]:
    """A lake of 8 C under a surface of 18 C, rods at 5 to 20 m, a strike a week at 12.5 m."""
    depth = np.arange(0.0, 31.0)
    fished = pd.DataFrame(
        [("Lake", day, metre, 1.0) for day in DAYS for metre in np.arange(5.0, 20.0)],
        columns=["water", "date", "depth_m", "rod_hours"],
    )
    strikes = pd.DataFrame(
        {"water": "Lake", "date": DAYS, "rod": "P1", "outcome": "landed", "depth_m": 12.5}
    )
    strikes.loc[0, "depth_m"] = np.nan
    water = pd.DataFrame(
        [
            ("Lake", f"{day:%Y-%m-%d}", z, 8 + 10 / (1 + np.exp((z - 12) / 2)), sd_c)
            for day in DAYS
            for z in depth
        ],
        columns=["water", "day", "depth_m", "temp_c", "temp_sd_c"],
    )
    thermometers = pd.DataFrame(
        {
            "water": "Lake",
            "day": ["2026-06-08", "2026-06-15"],
            "source": ["cast", "probe"],
            "shallowest_m": [0.0, 10.0],
            "deepest_m": [30.0, 14.0],
            "count": [20, 5],
        }
    )
    return [fished, strikes, water, thermometers, best_water()]


def best_water() -> pd.DataFrame:
    """Best water at 10, 12 and 18 m; the last may be deeper, a week between cannot be told."""
    return pd.DataFrame(
        {
            "week": ["2026-W23", "2026-W24", "2026-W25", "2026-W26"],
            "day": ["2026-06-02", "2026-06-09", "2026-06-16", "2026-06-23"],
            "depth_m": [10.0, 12.0, 6.0, 18.0],
            "depth_low_m": [8.0, 11.0, 1.0, 15.0],
            "depth_high_m": [11.0, 14.0, 19.0, np.nan],
            "temp_c": 12.0,
            "told": [True, True, False, True],
        }
    )


def dots(ax: Axes) -> np.ndarray:
    (line,) = [line for line in ax.get_lines() if line.get_label() == "strike"]
    return np.column_stack([line.get_xdata(), line.get_ydata()])


def test_every_strike_with_a_depth_is_a_dot_on_its_day_in_the_boats_unit(ax: Axes) -> None:
    water_figures.section(*frames(), METRES, ax=ax)
    found = dots(ax)
    assert len(found) == len(DAYS) - 1
    assert found[:, 1] == pytest.approx(12.5)
    assert found[0, 0] == (DAYS[1] - pd.Timestamp("1970-01-01")).days
    bottom, top = ax.get_ylim()
    assert top == 0 < 20 < bottom
    ax.figure.draw_without_rendering()
    named = [text.get_window_extent() for text in ax.texts if text.get_text().endswith("°C")]
    assert len(named) > 1
    assert not any(one.overlaps(other) for one, other in combinations(named, 2))
    assert not any(box.contains(*dot) for box in named for dot in ax.transData.transform(found))


def test_lines_hold_nine_in_ten_rod_hours(ax: Axes) -> None:
    """Fifteen metres of one rod-hour each from 5 to 20 m: 5 % of them are 0.75 m."""
    water_figures.section(*frames(), METRES, ax=ax)
    ends = np.unique(
        np.concatenate(
            [
                path[:, 1]
                for lines in ax.collections
                if isinstance(lines, mpl.collections.LineCollection)
                for path in lines.get_segments()
                if path[0, 1] == path[1, 1]  # lines along, not the upright ones of the best water
            ]
        )
    )
    assert ends == pytest.approx([5.75, 19.25])


@pytest.mark.parametrize(("sd_c", "hatched"), [(1.9, False), (2.1, True)])
def test_water_in_doubt_is_hatched_and_said(sd_c: float, hatched: bool, ax: Axes) -> None:
    water_figures.section(*frames(sd_c), FEET, ax=ax)
    legend = ax.get_legend()
    assert legend is not None
    texts = [text.get_text() for text in legend.get_texts()]
    assert ("in doubt by more than 4 °F" in texts) is hatched
    assert {"cast", "probe", "strike"} <= set(texts)


def test_without_temperatures_strikes_and_rods_are_still_drawn(ax: Axes) -> None:
    fished, strikes, *others = frames()
    without = [fished, strikes, *(frame.head(0) for frame in others)]
    water_figures.section(*without, FEET, ax=ax)
    assert len(dots(ax)) == len(DAYS) - 1
    told = water_words.section(*without, FEET)
    assert "no thermometer below the surface" in told.alt
    assert "where the best water lay, the log cannot tell" in told.alt
    assert "not known" in told.caption


def test_only_the_water_fished_most_is_drawn(ax: Axes) -> None:
    *of_water, best = frames()
    both = [
        pd.concat([frame, frame.head(1).assign(water="Pond")], ignore_index=True)
        for frame in of_water
    ] + [best]
    water_figures.section(*both, METRES, ax=ax)
    assert len(dots(ax)) == len(DAYS) - 1
    assert water_words.section(*both, METRES).caption.startswith("Lake:")


def test_best_water_is_drawn_where_told_with_its_interval_and_an_arrow_where_open(
    ax: Axes,
) -> None:
    water_figures.section(*frames(), METRES, ax=ax)
    (line,) = [line for line in ax.get_lines() if line.get_label() == "best water, 90 % interval"]
    assert np.asarray(line.get_ydata()) == pytest.approx([10.0, 12.0, np.nan, 18.0], nan_ok=True)
    upright = [
        path[:, 1].tolist()
        for lines in ax.collections
        if isinstance(lines, mpl.collections.LineCollection) and lines.get_linewidth()[0] == 3.5
        for path in lines.get_segments()
    ]
    assert upright == [[8.0, 11.0], [11.0, 14.0], [15.0, 18.0]]
    arrows = [line for line in ax.get_lines() if line.get_marker() == "v" and line.get_ydata()[0]]
    assert [float(line.get_ydata()[0]) for line in arrows] == [18.0]


def test_words_say_span_and_thermometers() -> None:
    told = water_words.section(*frames(), METRES)
    assert told.alt == (
        "The water by day and depth from 1 June 2026 to 24 August 2026: 12 strikes at 12 m, "
        "195 rod-hours; water of 8–18 °C; casts on 1 day and probes on 1 day; the best water lay "
        "at 10 m (90 % interval 8–11 m) in the week of 2 June and at 18 m (90 % interval 15 m or "
        "deeper) in the week of 23 June."
    )


def test_words_say_what_each_thermometer_would_leave_of_the_worst_months_doubt(
    made_up: ModuleType,
) -> None:
    assert water_words.worth(made_up.worth(), METRES) == (
        "In July, the least known month, the thermometers leave the depth of the thermocline in "
        "doubt by 2.0 m (one standard deviation); a cast a fortnight would leave 1.1 m (about "
        "half of it), a probe at the ball on each trip would leave 1.5 m, a logger on one line on "
        "each trip would leave 0.9 m (about half of it) and a cast on each trip would leave 0.5 m "
        "(less than a third of it)."
    )
    well_known = made_up.worth().assign(each_trip_m=[0.9, 1.8])
    assert "more of them would buy little" in water_words.worth(well_known, METRES)
    assert "No thermometer tells" in water_words.worth(pd.DataFrame(), METRES)


def test_words_split_the_doubt_between_fish_and_water(made_up: ModuleType) -> None:
    told = water_words.certainty(made_up.certainty(), METRES)
    assert "the water's makes 10 % in June to 51 % in July" in told
    assert "July's best depth would be in doubt by 1.4 m instead of 2.0 m" in told
    assert told.endswith(
        "In August strikes tell fish and water only together: how they split, the log cannot tell."
    )
    assert "the log cannot tell" in water_words.certainty(pd.DataFrame(), METRES)


def test_nothing_fished_is_said_not_drawn() -> None:
    nothing = pd.DataFrame()
    found = pictured.section(nothing, nothing, nothing, nothing, nothing, FEET)
    assert "there is no section to draw" in found.html


def test_text_reads_on_every_shade_of_the_water() -> None:
    """At least 4.5:1, the criterion 1.4.3 of WCAG 2.2; luminance by its definition."""

    def luminance(colour: str) -> float:
        channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        red, green, blue = (
            value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
            for value in channels
        )
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    for share in np.linspace(0, 1, 9):
        shade = luminance(to_hex(water_figures.WATER_SHADES(share)))
        assert (shade + 0.05) / (luminance(INK) + 0.05) >= 4.5
