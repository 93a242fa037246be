"""Owns the tests of which settings a week's line-outs are told for."""

import numpy as np
import pytest

from analysis.effort import count_effort
from analysis.log import read_log
from analysis.rates.build_exposure import BoatSeason
from analysis.weekly.disclosure import CLUB, ONE_BOAT, Audience
from analysis.weekly.line_outs import Tackle

PLUG = '[lures]\n"Blue plug" = { diving = "deep" }\n'


@pytest.fixture
def club(tmp_path, season_files) -> list[BoatSeason]:
    """Three boats that fished settings 1 and 3, the first also 2.5, and a plug on the rigger."""
    seasons = []
    for place, name in enumerate(("Dunlin", "Whimbrel", "Petrel")):
        folder = season_files.write(
            tmp_path / name,
            boat=season_files.BOAT.replace("Dunlin", name) + PLUG,
            sets=season_files.SETS if not place else season_files.SETS.replace(",2.5,", ",1,"),
        )
        log = read_log(folder)
        seasons.append(BoatSeason.of(log, count_effort(log)))
    return seasons


def told(seasons: list[BoatSeason], audience: Audience) -> list[float]:
    (rows,) = Tackle(seasons, audience).line_outs(np.array([12.0]), np.array([1.1]))
    return [row.setting for row in rows if row.kind == "diver"]


def test_a_club_is_told_the_settings_that_three_boats_used(club):
    """Neither the marks 0 and 2 that nobody fished, nor the 2.5 of one boat."""
    assert told(club, Audience(kind=CLUB, least=3)) == [1.0, 3.0]


def test_a_lure_that_dives_needs_less_line_and_is_told_where_enough_boats_fish_it(club):
    club_of_three, at = Audience(kind=CLUB, least=3), (np.array([12.0]), np.array([1.1]))
    (rows,) = Tackle(club, club_of_three).line_outs(*at)
    out = {row.gear: row.line_out_m for row in rows if row.kind == "rigger"}
    assert list(out) == ["rigger", "rigger with Blue plug"]
    assert out["rigger with Blue plug"] < out["rigger"] - 1.0
    (rows,) = Tackle(club[:2], club_of_three).line_outs(*at)
    assert not any("plug" in row.gear for row in rows)


def test_a_boat_is_told_its_own_settings(club):
    assert told(club[:1], Audience(kind=ONE_BOAT, least=1)) == [1.0, 2.5, 3.0]


def test_where_too_few_boats_agree_the_marks_of_the_dial_tell_of_nobody(club):
    assert told(club[:2], Audience(kind=CLUB, least=3)) == [0.0, 1.0, 2.0, 3.0]
