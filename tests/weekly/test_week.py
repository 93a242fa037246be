"""Owns the tests of a week's figures: counted again from the files, and judged honestly."""

import csv
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from types import ModuleType

import numpy as np
import pandas as pd
import pytest

from analysis.depth import solve
from analysis.depth.kinds import Diver, Rigger
from analysis.rates.build_exposure import combine, join
from analysis.season import Options, read_seasons, season_answer
from analysis.show.sentences.caps import cap_words
from analysis.weekly.club_log import Logbook
from analysis.weekly.depth import depth_of
from analysis.weekly.week import (
    NO_LOG,
    NO_TRIPS,
    TOLD,
    TOO_FEW,
    FittedYear,
    WeekFigures,
    target_of,
    week_figures,
)

WEEKS = ("2026-W25", "2026-W26", "2026-W27", "2026-W28", "2026-W29")


@pytest.fixture(scope="module")
def logs(club_files: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    return club_files.write_club(tmp_path_factory.mktemp("club"))


@pytest.fixture(scope="module")
def year(logs: list[Path]) -> FittedYear:
    book = Logbook.of(read_seasons(logs))
    mine = tuple(n for n, season in enumerate(book.seasons) if season.log.year == 2026)
    seasons = [book.seasons[n] for n in mine]
    exposure = combine([join([season]) for season in seasons])
    units = seasons[0].log.boat.units
    found = season_answer(seasons, exposure, Options(), units, checked=False)
    return FittedYear(book, mine, found, cap_words)


@pytest.fixture(scope="module")
def weeks(year: FittedYear) -> dict[str, WeekFigures]:
    return week_figures(year.book, WEEKS, [year])


def rows(logs: list[Path], table: str, week: str) -> Iterator[dict[str, str]]:
    """Read the rows of a week's trips straight from the files."""
    for log in logs:
        with (log / "trips.csv").open(newline="", encoding="utf-8") as file:
            dates = {row["trip"]: row["date"] for row in csv.DictReader(file)}
        with (log / f"{table}.csv").open(newline="", encoding="utf-8") as file:
            for row in csv.DictReader(file):
                iso = datetime.fromisoformat(dates[row["trip"]]).isocalendar()
                if f"{iso.year}-W{iso.week:02d}" == week:
                    yield row | {"boat": log.name}


def hours_of(row: dict[str, str]) -> float:
    """Return a set's length by the clock."""
    start, end = (datetime.strptime(row[key], "%H:%M") for key in ("time_in", "time_out"))  # noqa: DTZ007
    return (end - start).total_seconds() / 3600


def test_counts_are_those_of_the_files(logs: list[Path], weeks: dict[str, WeekFigures]) -> None:
    for week in ("2026-W26", "2026-W27"):
        counts = weeks[week].counts
        trips = list(rows(logs, "trips", week))
        strikes = list(rows(logs, "strikes", week))
        outcomes = [row["outcome"] for row in strikes]
        assert counts.boats == len({row["boat"] for row in trips}) == 4
        assert counts.trips == len(trips)
        assert counts.strikes == len(strikes) > 30
        assert counts.landed == outcomes.count("landed")
        assert counts.released == outcomes.count("released")
        hours = sum(map(hours_of, rows(logs, "sets", week)))
        assert counts.rod_hours == pytest.approx(hours)
        assert sum(row.strikes for row in counts.species) == len(strikes)
        assert sum(row.landed for row in counts.species) == outcomes.count("landed")
        assert sum(row.rod_hours for row in weeks[week].kinds) == pytest.approx(hours)


def test_a_week_compares_with_the_week_before_and_the_same_week_a_year_before(
    logs: list[Path], weeks: dict[str, WeekFigures]
) -> None:
    week = weeks["2026-W27"]
    assert week.last_week == weeks["2026-W26"].counts
    assert week.last_year.trips == len(list(rows(logs, "trips", "2025-W27"))) == 6
    assert week.last_year.strikes == len(list(rows(logs, "strikes", "2025-W27")))
    statuses = {w: (f.status, f.last_week_status, f.last_year_status) for w, f in weeks.items()}
    assert statuses == {
        "2026-W25": (NO_TRIPS, NO_LOG, NO_LOG),
        "2026-W26": (TOLD, NO_LOG, NO_LOG),
        "2026-W27": (TOLD, TOLD, TOLD),
        "2026-W28": (NO_TRIPS, TOLD, NO_LOG),
        "2026-W29": (TOO_FEW, NO_TRIPS, NO_LOG),
    }


def test_a_week_of_too_few_boats_tells_the_water_and_nothing_else(
    weeks: dict[str, WeekFigures],
) -> None:
    week = weeks["2026-W29"]
    blank = WeekFigures(
        week=week.week,
        first_day="2026-07-13",
        last_day="2026-07-19",
        status=TOO_FEW,
        audience="club",
        club="Ostermere Trolling Club",
        last_week_status=NO_TRIPS,
        water=week.water,
    )
    assert repr(week) == repr(blank)
    assert week.water.thermocline_m == pytest.approx(12.0, abs=1.5)  # as the casts were written


def test_rod_hours_of_the_bands_are_those_of_the_exposure(
    year: FittedYear, weeks: dict[str, WeekFigures]
) -> None:
    table = year.answer.exposure.table
    local = table["start"].dt.tz_convert("Europe/Oslo").dt.isocalendar()
    here = table[(local["year"] == 2026) & (local["week"] == 27)]
    bands = weeks["2026-W27"].depth.bands
    assert len(bands) >= 2
    for band in bands:
        low, high = band.low_m, np.inf if band.deeper else band.high_m
        inside = here[(here["depth_m"] >= low) & (here["depth_m"] < high)]
        assert band.rod_hours == pytest.approx(inside["hours"].sum())
        assert inside["boat"].nunique() >= 3
    assert sum(band.rod_hours for band in bands) == pytest.approx(here["hours"].sum())


def test_rates_times_rod_hours_come_to_about_the_strikes(weeks: dict[str, WeekFigures]) -> None:
    for week in ("2026-W26", "2026-W27"):
        bands = weeks[week].depth.bands
        expected = sum(band.rate * band.rod_hours for band in bands)
        assert expected == pytest.approx(weeks[week].counts.strikes, rel=0.35)
        for band in bands:
            assert 0 < band.rate_low < band.rate < band.rate_high


def test_how_the_week_was_fished_is_that_of_the_exposure(
    year: FittedYear, weeks: dict[str, WeekFigures]
) -> None:
    here = year.slices[year.slices["week"] == "2026-W27"]
    for condition in weeks["2026-W27"].conditions:
        values = np.repeat(here[condition.term], (here["hours"] * 600).round().astype(int))
        quarters = values.quantile([0.25, 0.5, 0.75]).to_numpy()
        told = [condition.low, condition.middle, condition.high]
        assert told == pytest.approx(quarters, rel=0.02)


def test_line_outs_put_the_lure_where_the_week_says(weeks: dict[str, WeekFigures]) -> None:
    week = weeks["2026-W27"]
    assert {line.gear for line in week.line_outs} == {"diver", "rigger"}
    for line in week.line_outs:
        if np.isnan(line.line_out_m):
            continue
        found = solve(
            Diver() if line.kind == "diver" else Rigger(),
            setting=np.nan if line.setting is None else line.setting,
            line_out_m=line.line_out_m,
            speed_mps=week.speed_mps,
            tip_height_m=2.0,
        )
        # Chosen by expected rate, not for one depth: about the band that the week names.
        high = week.depth.named_high_m - week.depth.named_low_m
        assert week.depth.named_low_m - high < found.depth_m < week.depth.named_high_m + high
        assert line.line_out_low_m <= line.line_out_m <= line.line_out_high_m


def with_strikes(slices: pd.DataFrame, count: int) -> pd.DataFrame:
    """Return slices with so many strikes and no more."""
    struck = np.zeros(len(slices), dtype=int)
    struck[:count] = 1
    return slices.assign(strikes=struck)


@pytest.mark.parametrize(
    ("strikes", "verdict"),
    [(0, "open"), (2, "open"), (3, "leaning"), (9, "leaning"), (10, "clear")],
)
def test_a_thin_week_is_capped_however_sure_the_season_is(
    year: FittedYear, strikes: int, verdict: str
) -> None:
    slices = with_strikes(year.slices[year.slices["week"] == "2026-W27"], strikes)
    bands = len(year.answer.hours.edges_m) - 1
    # Draws that leave no doubt: the rate falls by half with every band.
    draws = np.repeat(0.5 ** np.arange(bands)[:, None], 50, axis=1)
    sure = replace(year.answer, caps=())
    depth, _ = depth_of(sure, slices, draws, 3, cap_words)
    assert depth.verdict == verdict
    assert bool(depth.caps) is (strikes < 10)
    assert [band.named for band in depth.bands] == [True] + [False] * (len(depth.bands) - 1)


def test_depths_that_differ_little_are_not_named_best(year: FittedYear) -> None:
    slices = with_strikes(year.slices[year.slices["week"] == "2026-W27"], 40)
    rng = np.random.default_rng(1)
    draws = rng.gamma(50.0, 0.002, (len(year.answer.hours.edges_m) - 1, 400))
    depth, _ = depth_of(replace(year.answer, caps=()), slices, draws, 3, cap_words)
    assert depth.alike
    assert depth.verdict == "open"


def test_one_band_alone_is_no_answer(year: FittedYear) -> None:
    slices = year.slices[year.slices["week"] == "2026-W27"]
    draws = np.full((len(year.answer.hours.edges_m) - 1, 50), 0.1)
    shallow = slices[slices["depth_m"] < 9.144]
    depth, _ = depth_of(year.answer, with_strikes(shallow, 20), draws, 3, cap_words)
    assert len(depth.bands) == 1
    assert depth.verdict == "open"
    assert np.isnan(depth.named_low_m)
    assert "fewer than two depths were fished long enough to compare" in depth.caps


def test_rod_hours_of_unknown_depth_are_counted_with_a_band_unless_many_boats_have_them(
    year: FittedYear,
) -> None:
    slices = year.slices[year.slices["week"] == "2026-W27"].copy()
    draws = np.full((len(year.answer.hours.edges_m) - 1, 50), 0.1)
    total = slices["hours"].sum()
    lost = slices["rod"].eq("R0")
    one = slices.assign(depth_m=slices["depth_m"].mask(lost & (slices["boat"] == "bee")))
    depth, groups = depth_of(year.answer, one, draws, 3, cap_words)
    assert depth.unknown_hours == 0
    assert [band.depth_unknown for band in depth.bands][-1]
    assert -1 in groups[-1]
    assert sum(band.rod_hours for band in depth.bands) == pytest.approx(total)
    many, groups = depth_of(
        year.answer, slices.assign(depth_m=slices["depth_m"].mask(lost)), draws, 3, cap_words
    )
    assert many.unknown_hours == pytest.approx(slices["hours"][lost].sum())
    assert groups[-1] == (-1,)
    told = sum(band.rod_hours for band in many.bands)
    assert told + many.unknown_hours == pytest.approx(total)


def test_where_no_depth_is_sure_the_line_outs_go_to_the_best_water(
    weeks: dict[str, WeekFigures],
) -> None:
    week = weeks["2026-W27"]
    water = replace(week.water, best_low_m=10.0, best_high_m=14.0)
    named = replace(week.depth, named_low_m=6.0, named_high_m=9.0)
    assert target_of(replace(named, verdict="clear"), water) == (7.5, "depth")
    assert target_of(replace(named, verdict="open"), water) == (12.0, "water")
    assert target_of(replace(named, verdict="open"), None) == (7.5, "depth")
    nowhere = replace(named, verdict="open", named_low_m=np.nan, named_high_m=np.nan)
    assert np.isnan(target_of(nowhere, None)[0])


def test_a_trip_belongs_to_the_local_week_in_which_it_began(
    season_files: ModuleType, tmp_path: Path
) -> None:
    head = "trip,date,start,end,area,rods,note\n"
    # In Oslo both are on either side of midnight; in UTC both are on Sunday, 5 July.
    trips = head + "T1,2026-07-05,23:30,01:30,,2,\nT2,2026-07-06,00:30,03:00,,2,\n"
    folder = season_files.write(
        tmp_path / "log",
        trips=trips,
        strikes="trip,time,rod,species,outcome\nT1,01:00,P1,,lost\n",
        sets=None,
        readings=None,
        casts=None,
        soaks=None,
    )
    book = Logbook.of(read_seasons([folder]))
    found = {week: book.counts(week) for week in ("2026-W27", "2026-W28")}
    assert [(counts.trips, counts.strikes) for counts in found.values()] == [(1, 1), (1, 0)]
    assert {counts.rod_hours for counts in found.values()} == {None}


def test_names_of_waters_boats_and_gear_are_told_by_leave_or_by_three(
    club_files: ModuleType, tmp_path: Path
) -> None:
    days = club_files.WEEK_27
    leave = "name_boat = true\nname_areas = true"
    logs = [
        club_files.write_boat(tmp_path / "a", "Ant", days),
        club_files.write_boat(tmp_path / "b", "Bee", days),
        club_files.write_boat(tmp_path / "c", "Cod", days, sharing="name_boat = true"),
        club_files.write_boat(tmp_path / "d", "Dee", days, secretive=True, sharing=leave),
    ]
    book = Logbook.of(read_seasons(logs))
    assert book.boats_named("2026-W27") == ("Cod", "Dee")
    assert book.areas("2026-W27") == (("North Basin", "Secret Bay"), False)
    without = Logbook.of(read_seasons(logs[1:]))
    assert without.areas("2026-W27") == (("Secret Bay",), True)
    assert book.told_names(("copper", "secret spoon")) == {"names": ("copper",), "more": True}
