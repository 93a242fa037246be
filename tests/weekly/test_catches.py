"""Owns the tests of what a club's week tells of few boats: shares, outcomes, lures, first band.

The p % rule and secondary suppression: Hundepool et al., Statistical Disclosure Control, Wiley
2012, chapter 4 (the rules from memory).
"""

import csv
from collections.abc import Callable
from itertools import combinations
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.report.weekly.run import Settings, figures_of
from analysis.season import read_seasons
from analysis.weekly.catches import outcomes_told, strikes_told
from analysis.weekly.club_log import Logbook
from analysis.weekly.disclosure import stands

W27 = "2026-W27"
Row = dict[str, str]
PARTS = st.dictionaries(st.sampled_from("ABCDE"), st.integers(1, 9), max_size=5)
OUTCOMES = st.fixed_dictionaries({"landed": PARTS, "released": PARTS, "neither": PARTS})


def edit(log: Path, table: str, change: Callable[[Row], Row | None]) -> None:
    """Rewrite a table row by row; None leaves the row out."""
    path = log / f"{table}.csv"
    with path.open(newline="", encoding="utf-8") as file:
        reader = csv.DictReader(file)
        rows = [new for row in reader if (new := change(row)) is not None]
        names = list(reader.fieldnames or ())
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, names)
        writer.writeheader()
        writer.writerows(rows)


@pytest.fixture
def logs(club_files: ModuleType, tmp_path: Path) -> list[Path]:
    """Three boats that fish alike in one week."""
    return [
        club_files.write_boat(tmp_path / name, name, club_files.WEEK_27)
        for name in ("Ant", "Bee", "Cod")
    ]


def week_of(logs: list[Path], out: Path) -> dict[str, Any]:
    return figures_of(logs, [W27], out, Settings(), lambda *_: None)[W27]


@pytest.mark.parametrize(
    ("parts", "told"),
    [
        ({"A": 40.0, "B": 30.0, "C": 0.2}, False),  # B knows A's to half a per cent
        ({"A": 40.0, "B": 30.0, "C": 3.9}, False),  # to a tenth
        ({"A": 40.0, "B": 30.0, "C": 4.1}, True),
        ({"A": 40.0, "B": 30.0, "C": 2.1, "D": 2.1}, True),
        ({"A": 40.0, "B": 30.0}, False),
    ],
)
def test_second_biggest_never_knows_the_biggest_to_a_tenth(
    parts: dict[str, float], told: bool
) -> None:
    total, biggest, second = sum(parts.values()), parts["A"], parts["B"]
    guess = total - second
    assert (len(parts) > 2 and guess - biggest >= 0.1 * biggest) is told
    assert stands(parts, 3) is told


def test_a_boat_of_twelve_minutes_is_not_the_third(logs: list[Path], tmp_path: Path) -> None:
    def short(row: Row) -> Row | None:
        kept = row["rod"] == "R0" and row["trip"] == "C1"
        return row | {"time_out": "06:12"} if kept else None

    edit(logs[2], "sets", short)
    week = week_of(logs, tmp_path / "out")
    # Told, the total less one's own hours is the other's to 12 minutes.
    assert week["counts"]["boats"] == 3
    assert week["counts"]["rod_hours"] is None
    assert week["depth"] is None
    assert (week["conditions"], week["kinds"], week["lures"]) == ([], [], [])


def test_a_boat_nearly_alone_in_a_condition_does_not_tell_it(
    logs: list[Path], tmp_path: Path
) -> None:
    for log, boat in zip(logs[1:], "BC", strict=True):
        first = (f"{boat}1", "R0")
        edit(
            log,
            "sets",
            lambda row, first=first: (
                row if (row["trip"], row["rod"]) == first else row | {"leader_length": ""}
            ),
        )
    conditions = {entry["term"] for entry in week_of(logs, tmp_path / "out")["conditions"]}
    assert "speed_mps" in conditions
    assert "leader_length_m" not in conditions


def counts_of(logs: list[Path]) -> Any:
    return Logbook.of(read_seasons(logs)).counts(W27)


def test_landed_of_one_boat_is_not_told_nor_what_is_left(logs: list[Path]) -> None:
    for log in logs:
        edit(log, "strikes", lambda row: row | {"outcome": "lost"})
    assert (counts_of(logs).landed, counts_of(logs).released) == (0, 0)
    edit(logs[0], "strikes", lambda row: row | {"outcome": "landed"})
    counts = counts_of(logs)
    assert counts.strikes == 36
    assert (counts.landed, counts.released) == (None, None)
    assert {(row.landed, row.released) for row in counts.species} == {(None, None)}
    for log in logs[1:]:
        edit(log, "strikes", lambda row: row | {"outcome": "landed"})
    # All landed, so that 'lost' is a nought of every boat.
    assert counts_of(logs).landed == 36


def test_released_of_two_boats_is_not_told_but_landed_of_three_is(logs: list[Path]) -> None:
    for log in logs:
        order = iter(range(100))
        edit(
            log,
            "strikes",
            lambda row, order=order: row | {"outcome": "landed" if next(order) % 2 else "lost"},
        )
    edit(
        logs[0],
        "strikes",
        lambda row: (
            row
            | ({"outcome": "released"} if row["outcome"] == "lost" and row["trip"] == "A1" else {})
        ),
    )
    counts = counts_of(logs)
    assert (counts.landed, counts.released) == (18, None)


def test_strikes_of_one_boat_are_not_told(logs: list[Path], tmp_path: Path) -> None:
    for log in logs[1:]:
        edit(log, "strikes", lambda _row: None)
    week = week_of(logs, tmp_path / "out")
    counts = week["counts"]
    assert (counts["strikes"], counts["placed"], counts["species"]) == (None, None, [])
    assert counts["rod_hours"] is not None
    assert {row["strikes"] for row in (*week["kinds"], *week["lures"])} == {None}


def test_a_lures_strikes_are_of_three_boats(logs: list[Path], tmp_path: Path) -> None:
    whole = week_of(logs, tmp_path / "whole")
    assert {row["names"][0]: row["strikes"] for row in whole["lures"]}.keys() == {
        "copper",
        "silver",
    }
    for log in logs[1:]:  # copper is on rods R1 and R3
        edit(log, "strikes", lambda row: row | {"rod": "R0"} if row["rod"] in "R1R3" else row)
    edit(logs[0], "strikes", lambda row: row | {"rod": "R1"} if row["trip"] == "A1" else row)
    week = week_of(logs, tmp_path / "out")
    assert week["counts"]["placed"] == 36
    assert [row["strikes"] for row in week["lures"]] == [None, None]
    assert all(row["rod_hours"] for row in week["lures"])


def test_rods_whose_lure_nobody_wrote_down_are_told_as_that(
    logs: list[Path], tmp_path: Path
) -> None:
    for log in logs:
        edit(log, "sets", lambda row: row | {"lure": ""} if row["lure"] == "copper" else row)
    week = week_of(logs, tmp_path / "out")
    hours = {tuple(row["names"]): row["rod_hours"] for row in week["lures"]}
    assert hours[("",)] > 0.0
    assert sum(hours.values()) == pytest.approx(sum(row["rod_hours"] for row in week["kinds"]))


def safe(parts: dict[str, float]) -> bool:
    """The rules once more, by hand: nought, or three boats and the p % rule."""
    sizes = sorted(parts.values(), reverse=True)
    return not sizes or (
        sum(size >= 0.05 * sizes[0] for size in sizes) >= 3 and sum(sizes[2:]) >= 0.1 * sizes[0]
    )


def added(cells: list[dict[str, int]]) -> dict[str, float]:
    return {
        boat: float(sum(cell.get(boat, 0) for cell in cells))
        for boat in "ABCDE"
        if any(cell.get(boat) for cell in cells)
    }


@given(st.lists(PARTS, min_size=1, max_size=6))
def test_no_strikes_of_rows_nor_the_rest_of_the_total_are_of_few(rows: list[Any]) -> None:
    told = strikes_told(rows, 3)
    assert all(safe(added([row])) for row, apart in zip(rows, told, strict=True) if apart)
    rest = [row for row, apart in zip(rows, told, strict=True) if not apart]
    if any(told):
        assert safe(added(rest))


@given(st.lists(OUTCOMES, min_size=1, max_size=4))
def test_no_outcome_nor_what_its_rows_leave_is_of_few(rows: list[Any]) -> None:
    columns, told = outcomes_told(rows, 3)
    if not columns:
        assert not any(told)
        return
    hidden = [row for row, apart in zip(rows, told, strict=True) if not apart]
    groups = [rows, *([row] for row, apart in zip(rows, told, strict=True) if apart)]
    for group in [*groups, *([hidden] if any(told) else [])]:
        figures = [added([row[name] for row in group]) for name in columns]
        rest = [name for name in ("landed", "released", "neither") if name not in columns]
        figures.append(added([row[name] for row in group for name in rest]))
        assert all(safe(parts) for parts in figures)
        # What two of them leave together is of no fewer boats.
        for some in combinations(figures, 2):
            boats = set(some[0]) | set(some[1])
            assert not boats or len(boats) >= 3


def test_first_band_does_not_tell_how_shallow_one_boat_fished(
    logs: list[Path], tmp_path: Path
) -> None:
    week = week_of(logs, tmp_path / "before")
    start = week["depth"]["bands"][0]["low_m"]
    assert week["depth"]["bands"][0]["shallower"] is False
    # Everybody deeper, one boat's first rod as it was.
    for log in logs:
        mine = log.name == "Ant"
        edit(
            log,
            "sets",
            lambda row, mine=mine: (
                row
                if mine and row["rod"] == "R0"
                else row | {"line_out": str(float(row["line_out"]) + 90)}
            ),
        )
    band = week_of(logs, tmp_path / "out")["depth"]["bands"][0]
    assert band["shallower"] is True
    assert band["low_m"] > start


def test_the_file_tells_no_finer_than_the_page(logs: list[Path], tmp_path: Path) -> None:
    week = week_of(logs, tmp_path / "out")
    bands = week["depth"]["bands"]
    hours = [row["rod_hours"] for row in (*bands, *week["kinds"], *week["lures"], week["counts"])]
    assert hours == [round(value) for value in hours]
    assert max(week["water"]["depth_m"]) <= bands[-1]["high_m"]
    steps = {"speed_mps": 0.1 * 0.44704, "lure_temp_c": 1 / 1.8, "leader_length_m": 0.3048}
    for entry in week["conditions"]:
        zero = -32 / 1.8 if entry["term"] == "lure_temp_c" else 0.0
        inside = (np.array([entry["low"], entry["high"]]) - zero) / steps[entry["term"]]
        assert inside == pytest.approx(np.round(inside), abs=2e-3)
    fahrenheit = np.array(week["water"]["temp_c"]) * 1.8 + 32
    assert fahrenheit == pytest.approx(np.round(fahrenheit), abs=1e-3)


def test_rows_set_aside_are_told_with_their_rod_hours(logs: list[Path], tmp_path: Path) -> None:
    lost = 0.0

    def spoil(row: Row) -> Row:
        nonlocal lost
        if row["rod"] != "R0":
            return row
        hour, minute = map(int, row["time_out"].split(":"))
        lost += hour - 6 + minute / 60
        return row | {"gear": "no such gear"}

    edit(logs[0], "sets", spoil)
    entry = next(e for e in week_of(logs, tmp_path / "a")["unknown"] if e["what"] == "set aside")
    assert (entry["share"], entry["rod_hours"]) == ("little", None)  # one boat's own
    for log in logs[1:]:
        edit(log, "sets", spoil)
    week = week_of(logs, tmp_path / "b")
    entry = next(e for e in week["unknown"] if e["what"] == "set aside")
    assert (entry["share"], entry["rod_hours"]) == ("some", round(lost))
    whole = sum(row["rod_hours"] for row in week["kinds"])
    assert whole == pytest.approx(week["counts"]["rod_hours"], abs=1)
