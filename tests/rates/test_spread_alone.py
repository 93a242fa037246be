"""Checks that a period resting on a spread alone is never clear, and says so."""

import made_exposure as made
import numpy as np
import pytest

from analysis.decision.answer import answer
from analysis.decision.bands import spread_share
from analysis.show.sentences.answer import spread_sentences


@pytest.fixture(scope="module")
def answers():
    """The same season with a share of one month's trips resting on a spread alone."""
    whole = made.exposure(6, fish=made.Fish(rate=0.2))
    june = (whole.table["period"] == "2026-06").to_numpy()

    def told(share):
        trips = np.unique(whole.trip[june])
        alone = np.isin(whole.trip, trips[: round(share * len(trips))])
        table = made.with_table(whole, source=np.where(alone, "spread", "changes"))
        rng = np.random.default_rng(1)
        return answer(table, made.temperature_at, made.EDGES_M, rng, checked=False)

    return {share: told(share) for share in (0.0, 0.3, 0.4)}


def verdicts(found):
    return {period.name: period.judgement.verdict for period in found.periods}


def test_a_period_is_clear_up_to_a_third_on_a_spread_and_never_above(answers):
    assert verdicts(answers[0.0])["2026-06"] == "clear"
    assert verdicts(answers[0.3]) == verdicts(answers[0.0])
    capped = verdicts(answers[0.4])
    assert capped == verdicts(answers[0.0]) | {"2026-06": "leaning"}
    # nothing else moves: the rates are what they were
    np.testing.assert_array_equal(answers[0.4].season.draws, answers[0.0].season.draws)


def test_the_first_lines_say_so(answers):
    assert spread_sentences(answers[0.3]) == []
    (line,) = spread_sentences(answers[0.4])
    assert line.startswith("More than a third of the rod-hours rest on a spread alone in June")
    assert "(40 %)" in line


def test_share_counts_hours_not_rows():
    table = made.exposure(3).table.iloc[:3].assign(hours=[1.0, 1.0, 2.0])
    assert spread_share(table.assign(source=["sets", "changes", "spread"])) == 0.5
    assert spread_share(table) == 0.0
