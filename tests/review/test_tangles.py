"""Owns the tests of false releases, tangles, and rods that tangled together."""

import numpy as np
import pandas as pd
import pytest

from analysis.review.tangles import (
    tangled_pairs,
    troubles_table,
)
from analysis.season import read_seasons
from analysis.show.sentences.tackle import trouble_sentences
from analysis.stats.intervals import rate_interval

HEAD = "trip,rod,side,gear,setting,line_out,lead,leader_length,lure,time_in,time_out,ended_by\n"


def season_of(season_files, folder, rows, trips=None):
    sets = HEAD + "".join(f"{row}\n" for row in rows)
    written = season_files.write(folder, sets=sets, **({"trips": trips} if trips else {}))
    return read_seasons([written])


def test_troubles_are_counted_by_gear_setting_and_line_out(season_files, tmp_path):
    rows = [
        f"T1,P1,port,diver,1,{line},,6,spoon,{hour:02d}:00,{hour + 1:02d}:00,{end}"
        for hour, line, end in (
            (6, 80, "false release"),
            (7, 120, "tangle"),
            (8, 80, "moved"),
            (9, 130, "strike"),
        )
    ] + ["T1,S1,starboard,rigger,,50,10,,plug,06:00,12:00,end"]
    seasons = season_of(season_files, tmp_path / "dunlin-2026", rows)
    units = seasons[0].log.boat.units
    table = troubles_table(seasons, units)
    assert table["rod_hours"].sum() == pytest.approx(seasons[0].effort.sets["hours"].sum())
    diver = table.loc[table["gear"] == "diver"]
    assert len(diver) == 1  # too few hours for two classes of line-out
    row = diver.iloc[0]
    assert (row["false_releases"], row["tangles"]) == (1, 1)
    assert row["per_100_rod_hours"] == pytest.approx(50.0)
    low, high = rate_interval(2, 4.0)
    assert (row["low"], row["high"]) == pytest.approx((100 * low, 100 * high))
    assert row["line_out_low_m"] <= 80 * 0.3048 < 130 * 0.3048 < row["line_out_high_m"]


def test_every_line_out_is_in_one_class(warm):
    table = troubles_table(warm.seasons, warm.units)
    sets = warm.seasons[0].effort.sets
    assert table["rod_hours"].sum() == pytest.approx(sets["hours"].sum())
    ended = sets["ended_by"].value_counts()
    assert table["false_releases"].sum() == ended["false release"]
    assert table["tangles"].sum() == ended["tangle"]
    feet = np.round(table[["line_out_low_m", "line_out_high_m"]] / 0.3048, 6)
    assert (feet % 50 == 0).all().all()
    assert (table["low"] <= table["per_100_rod_hours"]).all()


def test_rods_that_tangle_at_one_time_are_a_pair(season_files, tmp_path):
    rows = []
    for hour in (6, 7, 8):
        for rod, side, minute in (("P1", "port", 58), ("P2", "port", 59), ("S1", "starboard", 40)):
            end = "tangle" if rod != "S1" or hour == 6 else "moved"
            rows.append(
                f"T1,{rod},{side},diver,1,80,,6,spoon,{hour:02d}:00,{hour:02d}:{minute:02d},{end}"
            )
    seasons = season_of(season_files, tmp_path / "dunlin-2026", rows)
    pairs = tangled_pairs(seasons)
    assert list(pairs[["rod_a", "rod_b", "tangles"]].iloc[0]) == ["P1", "P2", 3]
    assert len(pairs) == 1  # S1 tangled 18 minutes before the others
    assert pairs["hours_together"].iloc[0] == pytest.approx(3 * 58 / 60)
    units = seasons[0].log.boat.units
    told = trouble_sentences(troubles_table(seasons, units), pairs, units)
    # three times in three hours is not beyond chance where each rod tangles every hour
    assert pairs["by_chance"].iloc[0] == pytest.approx(9 * (1 / 6) / (3 * 58 / 60))
    assert not pairs["beyond_chance"].iloc[0]
    assert any("No two rods tangled" in line for line in told)


def test_a_pair_beyond_chance_is_named(warm):
    seasons = warm.seasons
    sets = seasons[0].effort.sets.copy()
    together = sets.loc[sets["rod"].isin(["P1", "P2"])].drop_duplicates(["trip", "rod"])
    both = together.groupby("trip").filter(lambda rows: len(rows) == 2)["trip"].unique()[:12]
    for trip in both:
        rows = together.loc[together["trip"] == trip].index
        end = sets.loc[rows, "time_out"].min()
        sets.loc[rows, "time_out"] = end
        sets.loc[rows, "ended_by"] = "tangle"
    changed = [replace_sets(seasons[0], sets)]
    pairs = tangled_pairs(changed)
    first = pairs.iloc[0]
    assert (first["rod_a"], first["rod_b"]) == ("P1", "P2")
    assert first["beyond_chance"]
    assert first["tangles"] >= 12
    told = trouble_sentences(troubles_table(changed, warm.units), pairs, warm.units)
    assert any(line.startswith("P1 and P2 of Dunlin tangled together") for line in told)


def replace_sets(season, sets):
    from dataclasses import replace

    return replace(season, effort=replace(season.effort, sets=sets))


def test_independent_tangles_are_no_pair_beyond_chance(known):
    pairs = pd.concat(
        tangled_pairs(known(scenario, seed).seasons)
        for scenario, seed in (("chasing_confounded", 3), ("temperature_chasing", 2))
    )
    assert not pairs["beyond_chance"].any()


def test_a_log_that_does_not_say_how_sets_ended_gets_a_sentence(season_files, tmp_path):
    rows = ["T1,P1,port,diver,1,80,,6,spoon,06:00,08:00,"]
    seasons = season_of(season_files, tmp_path / "dunlin-2026", rows)
    units = seasons[0].log.boat.units
    table = troubles_table(seasons, units)
    assert table.empty
    told = trouble_sentences(table, tangled_pairs(seasons), units)
    assert told == [
        "How sets ended is not in the log, so false releases and tangles cannot be told."
    ]
