"""Owns the test of what many strikes that no set holds do to a verdict."""

from dataclasses import replace

import numpy as np
import pytest

from analysis.season import Options, season_answer
from analysis.show.sentences.caps import cap_words


@pytest.mark.parametrize(("share", "capped"), [(0.09, False), (0.12, True)])
def test_above_a_tenth_no_verdict_is_clear(warm, share, capped):
    (season,) = warm.seasons
    strikes = season.effort.strikes.copy()
    strikes["placed"] = np.arange(len(strikes)) >= share * len(strikes)
    poor = replace(season, effort=replace(season.effort, strikes=strikes))
    found = season_answer(
        [poor], warm.answer.exposure, Options(), warm.units, checked=False, effects=False
    )
    before = [period.judgement.verdict for period in warm.answer.periods]
    assert "clear" in before
    lowered = ["leaning" if verdict == "clear" else verdict for verdict in before]
    after = [period.judgement.verdict for period in found.periods]
    assert after == (lowered if capped else before)
    assert any("no set holds" in cap_words(cap) for cap in found.caps) == capped
