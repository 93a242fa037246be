"""Owns the tests that try to get at one boat through the club's report."""

import itertools
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pandas as pd
import pypdfium2
import pytest
from made_instruments import positions_in

from analysis.rates.build_exposure import BoatSeason, join
from analysis.report.weekly import fit
from analysis.report.weekly.run import Settings, figures_of, write_weeks
from analysis.report.weekly.store import read_week
from analysis.season import read_seasons

WEEKS = ("2026-W26", "2026-W27")
Figures = dict[str, Any]


def everything_told(out: Path) -> str:
    """All text of all files of a folder of reports: pages, PDFs, figures, hidden files."""
    texts = []
    for path in sorted(out.iterdir()):
        texts.append(path.name)
        if path.suffix == ".pdf":
            with pypdfium2.PdfDocument(path) as pdf:
                texts += [sheet.get_textpage().get_text_range() for sheet in pdf]
                texts += [str(pdf.get_metadata_dict())]
        else:
            texts.append(path.read_text(encoding="utf-8"))
    return "\n".join(texts)


def test_nothing_only_one_boat_typed_is_anywhere(weekly: Any, club_files: ModuleType) -> None:
    told = everything_told(weekly.out)
    assert "Ant" in told  # the one boat that may be named
    for name in club_files.BOATS[1:]:
        assert re.search(rf"\b{name}\b", told, re.IGNORECASE) is None, name
    for secret in ("area", "lure", "species", "note"):
        assert club_files.SECRETS[secret].casefold() not in told.casefold(), secret
    assert "59.1234" not in told
    for log in weekly.logs:
        assert log.name not in told
        assert str(log.parent) not in told


def test_no_position_of_a_track_is_in_any_file(weekly: Any) -> None:
    assert any(path.name.startswith(".") for path in weekly.out.iterdir())  # the kept figures too
    assert positions_in(weekly.logs[0])
    assert positions_in(weekly.out) == []


def test_a_week_of_two_boats_tells_not_even_how_many(weekly: Any) -> None:
    week = read_week(weekly.out / "2026-W29.json")
    assert week.counts is None
    assert week.depth is None
    assert (week.kinds, week.lures, week.line_outs, week.conditions) == ((),) * 4
    assert (week.boats_named, week.areas) == ((), ())


@dataclass(frozen=True, kw_only=True)
class Club:
    """What a club's boats logged, read anew, and the figures told of its weeks."""

    seasons: list[BoatSeason]
    tables: list[pd.DataFrame]
    weeks: dict[str, Figures]


def atoms_of(club: Club, week: str) -> pd.DataFrame:
    """What each boat did in a week, worked out anew: a row a boat, depth, kind, lure."""
    frames = []
    for season, table in zip(club.seasons, club.tables, strict=True):
        monday = pd.Timestamp.fromisocalendar(int(week[:4]), int(week[-2:]), 1)
        local = table["start"].dt.tz_convert(season.log.boat.time_zone).dt.tz_localize(None)
        inside = (local >= monday) & (local < monday + pd.Timedelta(days=7))
        frames.append(table.assign(kind=table["gear"])[inside])
    return pd.concat(frames, ignore_index=True)


def members(atoms: pd.DataFrame, week: Figures) -> list[tuple[str, np.ndarray, Figures]]:
    """Return which atoms each told row is the sum of: (table, mask, row)."""
    lows = [0.0, *(band["low_m"] for band in week["depth"]["bands"][1:])]  # and shallower
    ends = [*lows[1:], np.inf]
    found = [
        ("bands", ((atoms["depth_m"] >= low) & (atoms["depth_m"] < end)).to_numpy(), band)
        for low, end, band in zip(lows, ends, week["depth"]["bands"], strict=True)
    ]
    for table, column in (("kinds", "kind"), ("lures", "lure")):
        apart = {row["names"][0] for row in week[table] if len(row["names"]) == 1}
        apart -= {name for row in week[table] if row["more"] for name in row["names"]}
        for row in week[table]:
            alone = not row["more"] and len(row["names"]) == 1
            wanted = row["names"] if alone else set(atoms[column]) - apart
            found.append((table, atoms[column].isin(wanted).to_numpy(), row))
    return found


def boats_behind(atoms: pd.DataFrame, chosen: np.ndarray) -> int:
    """Count the boats that add a twentieth of the biggest part, or more, to some atoms."""
    hours = atoms[chosen].groupby("boat")["hours"].sum()
    return int((hours >= 0.05 * hours.max()).sum()) if len(hours) else 0


@pytest.fixture(scope="module", params=["four boats", "three boats", "three and the secretive one"])
def club(
    request: pytest.FixtureRequest,
    club_files: ModuleType,
    tmp_path_factory: Any,
    remembering: Callable[..., None],
) -> Club:
    folder = tmp_path_factory.mktemp("club")
    boats = {
        "four boats": club_files.BOATS,
        "three boats": club_files.BOATS[:3],
        "three and the secretive one": ("Ant", "Bee", "Dee"),
    }[request.param]
    logs = club_files.write_club(folder, boats)
    seasons = list(read_seasons(logs))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(fit, "fit_into", remembering)
        weeks = figures_of(logs, WEEKS, folder, Settings(), lambda *_: None)
    tables = [join([season]).table for season in seasons]
    return Club(seasons=seasons, tables=tables, weeks=weeks)


@pytest.mark.parametrize("name", WEEKS)
def test_three_boats_stand_behind_every_row_and_whatever_is_left_of_the_total(
    club: Club, name: str
) -> None:
    week = club.weeks[name]
    atoms = atoms_of(club, name)
    assert week["counts"]["rod_hours"] == pytest.approx(atoms["hours"].sum(), abs=0.51)
    rows = members(atoms, week)
    for table, chosen, row in rows:
        assert row["rod_hours"] == pytest.approx(atoms["hours"][chosen].sum(), abs=0.51), table
    for table in ("bands", "kinds", "lures"):
        masks = [chosen for of, chosen, _ in rows if of == table]
        # Every sum of rows, and the total less any of them.
        for size in range(1, len(masks) + 1):
            for some in itertools.combinations(masks, size):
                assert boats_behind(atoms, np.any(some, axis=0)) >= 3
                rest = ~np.any(some, axis=0)
                assert not rest.any() or boats_behind(atoms, rest) >= 3


@pytest.mark.parametrize("name", WEEKS)
def test_no_boat_works_out_another_from_all_rod_hours_together(club: Club, name: str) -> None:
    """A boat knows its own hours and who fishes where with what, and may use every table.

    For each other boat and each of its atoms: are there multiples of the figures that leave this
    atom, and nothing of a third boat? Solved by least squares.
    """
    atoms = atoms_of(club, name)
    rows = [np.ones(len(atoms)), *(chosen for _, chosen, _ in members(atoms, club.weeks[name]))]
    told = np.unique(np.array(rows, dtype=float), axis=0)
    same = pd.DataFrame({"boat": atoms["boat"], **dict(enumerate(told))}).drop_duplicates()
    boat, told = same["boat"].to_numpy(), same.drop(columns="boat").to_numpy(dtype=float).T
    for knows, other in itertools.permutations(sorted(set(boat)), 2):
        third = told[:, (boat != knows) & (boat != other)]
        for atom in np.flatnonzero(boat == other):
            system = np.vstack([third.T, told[:, [atom]].T])
            wanted = np.append(np.zeros(third.shape[1]), 1.0)
            found = np.linalg.lstsq(system, wanted, rcond=None)[0]
            assert not np.allclose(system @ found, wanted, atol=1e-6), (knows, other)


@pytest.mark.parametrize("name", WEEKS)
def test_three_boats_had_strikes_of_every_species_told_and_of_the_others(
    club: Club, name: str
) -> None:
    strikes = []
    for season in club.seasons:
        trips = season.log.trips.set_index("trip")["date"].dt.isocalendar()
        mine = season.log.strikes
        week = trips.loc[mine["trip"], "week"].to_numpy() == int(name[-2:])
        year = trips.loc[mine["trip"], "year"].to_numpy() == int(name[:4])
        strikes.append(mine[week & year].assign(boat=season.log.boat.name))
    struck = pd.concat(strikes)
    rows = club.weeks[name]["counts"]["species"]
    apart = {row["names"][0] for row in rows if len(row["names"]) == 1 and not row["more"]}
    for row in rows:
        alone = len(row["names"]) == 1 and not row["more"]
        wanted = set(row["names"]) if alone else set(struck["species"]) - apart
        here = struck[struck["species"].isin(wanted)]
        assert row["strikes"] == len(here)
        assert here["boat"].nunique() >= 3
    assert sum(row["strikes"] for row in rows) == len(struck)


def test_the_deepest_band_does_not_tell_how_deep_one_boat_fished(
    club: Club,
) -> None:
    atoms = atoms_of(club, "2026-W27")
    deepest = atoms.groupby("boat")["depth_m"].max().sort_values(ascending=False)
    last = club.weeks["2026-W27"]["depth"]["bands"][-1]
    band_m = club.weeks["2026-W27"]["made_with"]["parameters"]["band_m"]
    assert last["high_m"] <= (np.floor(deepest.iloc[2] / band_m) + 1) * band_m + 1e-6
    assert last["deeper"] is bool(deepest.iloc[0] >= last["high_m"])


def test_one_boat_gets_its_own_report_in_full(club_files: ModuleType, tmp_path: Path) -> None:
    log = club_files.write_boat(
        tmp_path / "log", "Dee", club_files.WEEK_27, secretive=True, hostile=True
    )
    run = write_weeks([log], ["2026-W27"], tmp_path / "out")
    assert run.problems == {}
    week = read_week(tmp_path / "out" / "2026-W27.json")
    assert week.audience == "boat"
    assert week.counts.boats == 1
    assert {row.names[0] for row in week.lures} == {
        f"silver{club_files.HOSTILE}",
        "copper",
        club_files.SECRETS["lure"],
    }
    assert all(len(row.names) == 1 for row in week.counts.species)
    told = everything_told(tmp_path / "out")
    assert "One boat's own report" in told
    assert "its figures are that boat's" in told
    # It may be handed on: names, waters and notes stay out of it all the same.
    assert re.search(r"\bDee\b", told) is None
    assert club_files.SECRETS["area"] not in told
    assert club_files.SECRETS["note"] not in told
    page = (tmp_path / "out" / "2026-W27.html").read_text(encoding="utf-8")
    assert "silver&lt;img src=x" in page
    assert "<img src=x" not in page


def test_two_boats_that_both_allow_it_get_a_report_of_both(
    club_files: ModuleType, tmp_path: Path
) -> None:
    logs = [
        club_files.write_boat(tmp_path / name, name, club_files.WEEK_27, sharing="name_boat = true")
        for name in ("Ant", "Bee")
    ]
    week = figures_of(logs, ["2026-W27"], tmp_path, Settings(), lambda *_: None)["2026-W27"]
    assert week["audience"] == "pair"
    assert week["boats_named"] == ["Ant", "Bee"]
    assert week["counts"]["boats"] == 2
