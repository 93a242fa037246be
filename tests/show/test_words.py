"""Owns the tests of sentences and descriptions: the numbers in them are those of the tables."""

from types import ModuleType

import numpy as np
import pandas as pd
import pytest

from analysis.show import describe, rows, season_tables, words
from analysis.units import Units

FEET = Units(
    length="ft", depth="ft", speed="mph", temperature="F", fish_length="in", fish_weight="lb"
)


@pytest.fixture
def tables(made_up: ModuleType) -> dict[str, pd.DataFrame]:
    made: dict[str, pd.DataFrame] = made_up.season_tables()
    return made


def test_description_names_best_band_interval_hours_and_verdict(
    tables: dict[str, pd.DataFrame],
) -> None:
    alt = describe.rate_by_band(tables["bands"], FEET, period="2026-07").alt
    best = rows.top(rows.of_period(tables["bands"], "2026-07"), "rate")
    assert "July 2026" in alt
    assert "50-60 ft" in alt
    assert f"on {best.rod_hours:,.0f} rod-hours" in alt
    assert alt.endswith("Verdict: clear: the log leaves little doubt.")


def test_description_without_a_judged_band_claims_nothing(tables: dict[str, pd.DataFrame]) -> None:
    bands = tables["bands"].assign(p_best=np.nan)
    alt = describe.rate_by_band(bands, FEET, period="season").alt
    assert alt == "Rates by depth for the season: no band was fished enough to be judged."


def test_months_description_says_which_are_open(tables: dict[str, pd.DataFrame]) -> None:
    alt = describe.rate_by_month(rows.months(tables["bands"]), FEET).alt
    assert "May 2026: open" in alt
    assert "July 2026: " in alt


@pytest.mark.parametrize(
    "tell",
    [
        lambda none: describe.rate_by_band(none, FEET, period="season"),
        lambda none: describe.rate_by_month(none, FEET),
        lambda none: describe.raw_against_rate(none, FEET, period="season"),
        lambda none: describe.effects_grid(none, FEET),
        describe.trip_calendar,
        lambda none: describe.best_band_by_week(none, FEET),
        describe.cost_by_month,
        describe.species_outcomes,
        describe.landing,
        describe.gear_at_equal_depth,
        describe.troubles,
        lambda none: describe.spread_to_scale(none, none, FEET),
    ],
)
def test_table_that_is_not_there_is_told_in_words(tell: object) -> None:
    assert callable(tell)
    told = tell(pd.DataFrame())
    assert told.missing.endswith(".")


def test_answers_name_each_period_once(tables: dict[str, pd.DataFrame]) -> None:
    table = season_tables.answers(tables["bands"], FEET)
    assert list(table.columns["Period"]) == [
        "Season",
        "May 2026",
        "June 2026",
        "July 2026",
        "August 2026",
    ]
    assert table.columns["Depth"][1] == "–"
    july = rows.of_period(tables["bands"], "2026-07")
    named = july.loc[july["named"], ["band_low_m", "band_high_m"]] / 0.3048
    low, high = named["band_low_m"].min(), named["band_high_m"].max()
    assert table.columns["Depth"][3] == f"{low:.0f}-{high:.0f} ft"


def test_cautions_cover_safety_rules_and_eating() -> None:
    text = " ".join(words.CAUTIONS)
    for subject in ("not advice on safety", "flotation", "cold water", "local authority", "eating"):
        assert subject in text
    assert words.cautions().html.count("<li>") == len(words.CAUTIONS)


def test_subject_counts_what_the_review_rests_on(made_up: ModuleType) -> None:
    markup = words.subject(made_up.season_summary()).html
    assert "Dunlin, 2026: 60 trips, 1,900 rod-hours, 242 strikes, 103 landed." in markup
