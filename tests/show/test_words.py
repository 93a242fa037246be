"""Owns the tests of sentences and descriptions: the numbers in them are those of the tables."""

import re
from types import ModuleType

import numpy as np
import pandas as pd
import pytest
from bs4 import BeautifulSoup

from analysis.diagnostics.sensitivity import COMPARED
from analysis.diagnostics.usual_counts import USUAL
from analysis.show.base import rows
from analysis.show.card import spread
from analysis.show.season import alt_text, data_tables, words
from analysis.show.season import tables as season_tables
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
    alt = alt_text.rate_by_band(tables["bands"], FEET, period="2026-07").alt
    best = rows.of_period(tables["bands"], "2026-07").nlargest(1, "rate").iloc[0]
    assert "July 2026" in alt
    assert "50–60 ft" in alt
    assert f"on {best.rod_hours:,.0f} rod-hours" in alt
    assert alt.endswith("Verdict: clear: the log leaves little doubt.")


def test_description_without_a_judged_band_claims_nothing(tables: dict[str, pd.DataFrame]) -> None:
    bands = tables["bands"].assign(p_best=np.nan)
    alt = alt_text.rate_by_band(bands, FEET, period="season").alt
    assert alt == "Rates by depth for the season: no band was fished enough to be judged."


def test_no_curve_is_told_with_more_digits_than_are_known(
    tables: dict[str, pd.DataFrame],
) -> None:
    effects = tables["effects"]
    assert re.search(r"highest at 46 ft, \d\.?\d* times", alt_text.effects_grid(effects, FEET).alt)
    steep = effects.assign(ratio=effects["ratio"] ** 4)
    assert "over 20 times the lowest" in alt_text.effects_grid(steep, FEET).alt
    assert "632.8" not in alt_text.effects_grid(steep, FEET).alt


def test_months_description_says_which_are_open(tables: dict[str, pd.DataFrame]) -> None:
    alt = alt_text.rate_by_month(rows.months(tables["bands"]), FEET).alt
    assert "May 2026: open" in alt
    assert "July 2026: " in alt


@pytest.mark.parametrize(
    "tell",
    [
        lambda none: alt_text.rate_by_band(none, FEET, period="season"),
        lambda none: alt_text.rate_by_month(none, FEET),
        lambda none: alt_text.raw_against_rate(none, FEET, period="season"),
        lambda none: alt_text.effects_grid(none, FEET),
        alt_text.trip_calendar,
        lambda none: alt_text.best_band_by_week(none, FEET),
        alt_text.cost_by_month,
        alt_text.species_outcomes,
        alt_text.landing,
        alt_text.gear_at_equal_depth,
        alt_text.troubles,
        lambda none: alt_text.planned_spread(none, none, FEET),
    ],
)
def test_table_that_is_not_there_is_told_in_words(tell: object) -> None:
    assert callable(tell)
    told = tell(pd.DataFrame())
    assert told.missing.endswith(".")


def test_answers_name_each_period_once(
    tables: dict[str, pd.DataFrame], made_up: ModuleType
) -> None:
    summary = made_up.season_summary()
    table = season_tables.answers(summary, FEET)
    assert list(table.columns["Period"]) == [
        "Season",
        "May 2026",
        "June 2026",
        "July 2026",
        "August 2026",
    ]
    assert table.columns["Depth"][1] == "–"
    best = next(entry for entry in summary["best"] if entry["period"] == "2026-07")
    low, high = best["band_low_m"] / 0.3048, best["band_high_m"] / 0.3048
    rather = [best[f"rather_{end}_m"] / 0.3048 for end in ("low", "high")]
    likelier = f"{rather[0]:.0f}–{rather[1]:.0f} ft"  # of two neighbours, which
    assert table.columns["Depth"][3] == f"{low:.0f}–{high:.0f} ft, rather {likelier}"
    july = rows.of_period(tables["bands"], "2026-07")
    assert july["named"].sum() == 2
    # two bands named as one answer have one rate, which is neither band's own
    rate = july["named_rate"].iloc[0]
    assert july["named_rate_high"].iloc[0] - july["named_rate_low"].iloc[0] > 0.04
    assert table.columns["Rate"][3] == f"{rate:.2f}"  # its third decimal nobody knows
    assert f"{rate:.3f}" not in {f"{own:.3f}" for own in july["rate"]}
    assert table.columns["Verdict"][3] == "clear"


def _findings(rows: int, **changed: object) -> pd.DataFrame:
    cells: dict[str, object] = {
        "log": "dunlin-2026",
        "severity": "changes",
        "doubted": False,
        "table": "casts",
        "column": "temp",
        "value": "<b>5.1",
        "count": 3,
        "lines": "7 8 9",
        "reason": "must be at least 28.4 F",
        "remedy": "check the number",
        "follows": 0,
        "rod_hours": 2.04,
        "strikes": 1,
    }
    return pd.DataFrame({"at": range(rows), **cells, **changed}).drop(columns="at")


def test_findings_are_one_short_list_of_the_gravest_of_each_log_and_all_folded() -> None:
    frame = pd.concat([_findings(8), _findings(2, log="petrel-2026", doubted=True)])
    markup = data_tables.findings({"findings": frame}).html
    assert "dunlin-2026: 8 findings of its reading (changes the answer: 8)" in markup
    to_correct = BeautifulSoup(markup, "html.parser").find_all("li")
    assert [each.get_text() for each in to_correct] == [
        f"{log}-2026, casts, line 7–9 (temp '<b>5.1' and 2 more): check the number; 2.0 rod-hours "
        "and 1 strike."
        for log in ("dunlin", "dunlin", "petrel", "petrel")
    ]
    assert markup.count("<details>") == 2
    assert markup.count("casts, line 7–9</th>") == 10
    assert "temp &#39;&lt;b&gt;5.1&#39; and 2 more" in markup
    assert ">Changes the answer: 2.0 rod-hours and 1 strike</td>" in markup
    assert ">In doubt: 2.0 rod-hours and 1 strike rest on it</td>" in markup
    assert "petrel-2026: 2 findings of its reading (in doubt: 2)" in markup


def test_what_costs_nothing_is_not_among_what_to_correct() -> None:
    markup = data_tables.findings({"findings": _findings(3, severity="cosmetic")}).html
    assert "To correct first" not in markup
    assert "3 findings of its reading (cosmetic: 3)" in markup


def test_an_empty_cell_is_said_to_be_empty() -> None:
    markup = data_tables.findings({"findings": _findings(1, value="", count=1, lines="7")}).html
    assert ">temp, empty</td>" in markup


def test_a_finding_of_many_rows_names_the_first_lines_and_how_many_more() -> None:
    lines = " ".join(map(str, range(2, 202, 2)))
    markup = data_tables.findings({"findings": _findings(1, count=100, lines=lines)}).html
    assert "casts, line 2, 4, 6, ...</th>" in markup
    assert "and 99 more" in markup


def test_results_without_findings_do_not_claim_that_all_was_read() -> None:
    assert "do not list findings" in data_tables.findings({}).html
    assert "Every row of the log counts" in data_tables.findings({"findings": _findings(0)}).html


def test_choice_tells_gain_doubt_and_weight_and_which_weighs_most(
    tables: dict[str, pd.DataFrame],
) -> None:
    table = data_tables.choice(tables["choice"], "weights by prediction. Models are averaged.")
    assert table.rows == [
        ("depth and temperature", "+11.4 ± 1.9", "100 %"),
        ("depth alone", "-1.5 ± 0.9", "not used"),
        ("constant rate", "–", "not used"),
    ]
    assert table.named == (True, False, False)
    assert table.caption.endswith("Weights by prediction. Models are averaged.")
    assert data_tables.choice(pd.DataFrame(), "no strike").text() == (
        "No models were compared: no strike."
    )


def test_other_models_tell_their_best_band_and_none_where_they_did_not_converge(
    tables: dict[str, pd.DataFrame],
) -> None:
    told = data_tables.sensitivity(tables["sensitivity"], FEET)
    assert told.rows == [
        ("rods down at the same time (this review)", "40–50 ft", "1.25", "1.02 to 1.50", "97 %"),
        ("rods of the same trip and hour", "not told: did not converge", "–", "–", "–"),
        (
            "all days and hours pooled, as if alike",
            "30–40 ft",
            "1.30",
            "1.10 to 1.50",
            "over 99 %",
        ),
    ]
    assert "stays that of the first line" in told.caption
    absent = data_tables.sensitivity(pd.DataFrame(), FEET)
    assert "rodhours review --sensitivity" in absent.html


def test_every_way_of_the_comparison_has_its_words() -> None:
    assert set(data_tables.WAYS) == {*COMPARED, *USUAL}


def test_spread_has_a_column_a_period_and_a_line_a_gear(
    tables: dict[str, pd.DataFrame], made_up: ModuleType
) -> None:
    spread = pd.concat(
        [tables["spread"], tables["spread"].head(1).assign(setting=np.nan, gear="rigger")]
    )
    table = season_tables.starting_spread(spread, made_up.season_summary(), FEET)
    assert list(table.columns["Gear"]) == ["diver, setting 1", "rigger"]
    assert [column for column in table.columns if column.startswith("Jul, ")] != []
    assert table.rows[1][1:] == ("100 ft", "–", "–", "–", "–")


def test_cautions_cover_safety_rules_and_eating() -> None:
    text = " ".join(words.CAUTIONS)
    for subject in ("not advice on safety", "flotation", "cold water", "local authority", "eating"):
        assert subject in text
    assert words.cautions().html.count("<li>") == len(words.CAUTIONS)


def test_subject_counts_the_season_reviewed_and_only_rod_hours_of_sets(
    tables: dict[str, pd.DataFrame], made_up: ModuleType
) -> None:
    trips = tables["trips"]
    markup = words.subject(made_up.season_summary(), trips).html
    hours = trips["rod_hours"].iloc[2:].sum()  # the first two trips have no sets
    assert f"Dunlin, 2026: 60 trips, {hours:,.0f} rod-hours, " in markup
    assert f"{trips['strikes'].sum()} strikes, {trips['landed'].sum()} landed." in markup


def test_what_the_analysis_said_is_told_and_nothing_invented(made_up: ModuleType) -> None:
    summary = made_up.season_summary()
    assert words.said(summary, "shares").html == "<p>The raw count names 20–30 ft.</p>"
    assert words.said(summary, "gear").html == ""


def test_influence_is_told_for_the_band_that_misleads_most(tables: dict[str, pd.DataFrame]) -> None:
    table = season_tables.influence(tables["influence"])
    assert list(table.columns["Ratio"]) == ["0.86", "1.21", "0.97"]


def test_each_species_has_its_own_depths(tables: dict[str, pd.DataFrame]) -> None:
    table = season_tables.species_answers(tables["species_bands"], FEET)
    periods = table.columns["Period"]
    trout = dict(zip(periods, table.columns["lake trout"], strict=True))
    assert trout["May 2026"] == "open"
    assert trout["July 2026"].endswith("ft, clear")
    assert len(table.columns) == 3


def test_one_species_is_told_so() -> None:
    table = season_tables.species_answers(pd.DataFrame(), FEET)
    assert table.text() == "No two species were struck often enough to be judged by themselves."


def test_season_before_is_compared_depth_by_depth(tables: dict[str, pd.DataFrame]) -> None:
    table = season_tables.before(tables["before"], FEET)
    assert table.rows[0][1:] == ("0.110", "0.130", "1.18", "0.97 to 1.42", "–")
    assert table.columns["Depth"][1] == "40–50 ft"


def test_period_without_a_strike_has_no_rates(tables: dict[str, pd.DataFrame]) -> None:
    bands = tables["bands"].assign(strikes=0, rate=1e-12, rate_low=1e-13, rate_high=1e-11)
    table = season_tables.bands_of(bands, FEET, period="season")
    assert set(table.columns["Rate"]) == set(table.columns["90 % interval"]) == {"–"}
    assert table.columns["Rod-hours"][0] != "–"


def test_an_open_answer_is_given_no_chance_of_being_right(made_up: ModuleType) -> None:
    best = [one | {"verdict": "open", "p_near": 0.99} for one in made_up.season_summary()["best"]]
    table = season_tables.answers(made_up.season_summary() | {"best": best}, FEET)
    assert set(table.columns["Sure"]) == {"–"}


def test_a_band_compared_with_none_is_not_called_the_best(tables: dict[str, pd.DataFrame]) -> None:
    season = tables["bands"].loc[tables["bands"]["period"] == "season"]
    alone = season.assign(p_best=np.where(np.arange(len(season)) == 1, 1.0, np.nan))
    assert set(season_tables.bands_of(alone, FEET, period="season").columns["Chance of best"]) == {
        "–"
    }


def test_log_without_sets_has_answers_but_no_bands(
    tables: dict[str, pd.DataFrame], made_up: ModuleType
) -> None:
    none = tables["bands"].head(0).astype({"named": object})  # as an empty CSV is read
    unknown = dict.fromkeys(
        ["band_low_m", "band_high_m", "p_near", "rate", "rate_low", "rate_high"]
    )
    best = [{"period": "season", "verdict": "open", "an_average": False, **unknown}]
    table = season_tables.answers(made_up.season_summary() | {"best": best}, FEET)
    assert table.rows == [("Season", "–", "open", "–", "–", "–")]
    assert "no rod-hours" in season_tables.bands_of(none, FEET, period="season").text()


def test_clearances_say_what_was_judged_and_no_more() -> None:
    """Two distances of different points, and lines 5 ft apart that nobody called clear."""
    frame = pd.DataFrame(
        {
            "rod_a": ["P1"],
            "rod_b": ["P2"],
            "least_m": [1.6],
            "sideways_m": [5.2],
            "flagged": [False],
            "why": [""],
        }
    )
    table = season_tables.clearance(frame, FEET)
    assert table.rows == [("P1 and P2", "5 ft", "17 ft", "do not meet or cross")]
    # the sideways distance is that of the lures, not a part of the least distance of the lines
    assert list(table.columns)[1:3] == ["Least distance", "Sideways between lures"]


def test_the_card_says_of_explorers_what_their_rule_says(
    tables: dict[str, pd.DataFrame],
) -> None:
    """They go where most is to be learnt: that may be water fished for hundreds of rod-hours."""
    assert (tables["plan"]["purpose"] == "explore").any()
    fig = spread.spread_card(tables["plan"], tables["clearance"], FEET, heading="Dunlin", size="a5")
    texts = " ".join(text.get_text() for axes in fig.axes for text in axes.texts)
    assert "there is most to learn" in texts
    assert "knows least" not in texts
