"""Owns the tests of reviews of poor logs: each gives a review that says what cannot be told."""

from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analysis.decision.caps import Cap
from analysis.report.card.stored_fit import fit_of
from analysis.report.review import write_review
from analysis.result_schema import RESULTS
from analysis.season import Options, Season, analyse
from analysis.spread.card import make_card
from data.boat import Boat
from data.simulate import SimulatedSeason, simulate_season

TABLES = {
    *("exposure", "bands", "effects", "spread", "set_aside", "checks", "gaps", "rows"),
    *("species", "species_bands", "trips", "weeks", "profile", "shares", "influence", "cost"),
    *("outcomes", "hookups", "troubles", "tangled", "gear_effects", "plan", "clearance", "before"),
    *("lure_effects", "changed"),
}


@pytest.fixture(scope="module")
def simulated() -> SimulatedSeason:
    return simulate_season("temperature", 3, trips=24, strikes=120)


def written(simulated, folder: Path, **changed: pd.DataFrame | None) -> Path:
    """Write a season with some of its tables changed, or left out."""
    frames = {**simulated.frames, **{k: v for k, v in changed.items() if v is not None}}
    for name, frame in changed.items():
        if frame is None:
            frames.pop(name)
    return SimulatedSeason(frames, simulated.truth, simulated.boat).write(folder)


def of_trips(simulated, trips) -> dict[str, pd.DataFrame]:
    return {
        name: frame.loc[frame["trip"].isin(trips)].reset_index(drop=True)
        for name, frame in simulated.frames.items()
    }


def reviewed(folder: Path, **options: object) -> Season:
    season = analyse([folder], Options(**options))
    for basis in fit_of(season).boats:  # a card can be made of whatever can be reviewed
        make_card(basis, date(basis.season, 7, 12), None)
    assert set(season.tables) >= TABLES
    for name, frame in season.tables.items():
        assert set(RESULTS[name].names) == set(frame.columns), name
    assert season.summary["first_lines"]
    for part, lines in season.summary["told"].items():
        assert all(line.endswith(".") for line in lines), part
    exposure = season.tables["exposure"]
    assert exposure["hours"].sum() == pytest.approx(season.summary["rod_hours"])
    return season


def verdicts(season: Season) -> set[str]:
    return set(season.tables["bands"]["verdict"])


@pytest.fixture(scope="module")
def one_trip(simulated, tmp_path_factory) -> Season:
    busiest = simulated.frames["strikes"]["trip"].value_counts().index[:1]
    folder = tmp_path_factory.mktemp("one") / "one-2026"
    return reviewed(written(simulated, folder, **of_trips(simulated, busiest)))


def test_one_trip(one_trip):
    assert "clear" not in verdicts(one_trip)
    assert len(one_trip.tables["trips"]) == len(one_trip.tables["weeks"]) == 1
    assert any("trip" in line for line in one_trip.summary["first_lines"])


def test_one_trip_is_rendered(one_trip, tmp_path):
    page = write_review(one_trip, tmp_path / "out", progress=False).page
    text = page.read_text(encoding="utf-8")
    assert "Season review" in text
    assert "Traceback" not in text
    assert ">nan<" not in text


def test_one_band_fished(simulated, tmp_path):
    sets = simulated.frames["sets"]
    rigger = sets.loc[sets["gear"] == "rigger"].copy()
    rigger["line_out_m"] = 9.0  # runs from 25 to 29 ft at all speeds logged
    rods = set(rigger["rod"])
    strikes = simulated.frames["strikes"]
    struck = strikes.loc[strikes["rod"].isin(rods)]
    folder = written(simulated, tmp_path / "band-2026", sets=rigger, strikes=struck)
    season = reviewed(folder)
    bands = season.tables["bands"]
    assert bands.loc[bands["period"] == "season", "judged"].sum() == 1
    assert verdicts(season) == {"open"}
    assert "cannot" in " ".join(season.summary["first_lines"])
    assert season.tables["influence"].empty
    assert "too few bands or strikes" in season.summary["told"]["shares"][0]


def test_all_strikes_in_one_hour(simulated, tmp_path):
    sets, trips = simulated.frames["sets"], simulated.frames["trips"]
    trip = trips["trip"].iloc[5]
    begin = trips["start"].iloc[5] + pd.Timedelta(hours=1)
    down = sets.loc[(sets["trip"] == trip) & (sets["time_in"] <= begin)]
    down = down.loc[down["time_out"] >= begin + pd.Timedelta(minutes=50)].drop_duplicates("rod")
    some = simulated.frames["strikes"].head(18).copy()
    some["trip"] = trip
    some["rod"] = np.resize(down["rod"].to_numpy(), len(some))
    minutes = pd.to_timedelta(np.linspace(2, 48, len(some)).round(), unit="min")
    some["time"] = begin + minutes
    season = reviewed(written(simulated, tmp_path / "hour-2026", strikes=some))
    assert len(down) >= 2
    assert "clear" not in verdicts(season)
    assert Cap(code="few-trips", count=1) in season.answer.caps


def test_no_casts(simulated, tmp_path):
    season = reviewed(written(simulated, tmp_path / "casts-2026", casts=None))
    assert "clear" not in set(season.tables["weeks"]["verdict"])
    assert season.tables["profile"].empty
    assert season.tables["weeks"]["thermocline_m"].isna().all()
    assert Cap(code="water-unseen") not in season.answer.caps
    assert Cap(code="water-unseen") in season.answer.caps_of_less
    assert "read from the strikes themselves" in " ".join(season.summary["first_lines"])
    gaps = season.tables["gaps"]
    assert gaps["what"].str.contains("cast").any()


def test_two_boats_with_different_units(simulated, tmp_path):
    feet = written(simulated, tmp_path / "dunlin-2026")
    metric = Boat(
        name="Petrel",
        units={
            "length": "m",
            "depth": "m",
            "speed": "km/h",
            "temperature": "C",
            "fish_length": "cm",
            "fish_weight": "kg",
        },
    )
    other = simulate_season("temperature", 4, trips=24, strikes=120, boat=metric, lake_seed=3)
    season = analyse([feet, other.write(tmp_path / "petrel-2026")])
    assert season.summary["boats"] == ["Dunlin", "Petrel"]
    assert season.summary["units"]["depth"] == "ft"
    trips = season.tables["trips"]
    assert trips["boat"].value_counts().to_dict() == {"Dunlin": 24, "Petrel": 24}
    plan = season.tables["plan"]
    assert plan.groupby("boat")["unit"].unique().map(list).to_dict() == {
        "Dunlin": ["ft"],
        "Petrel": ["m"],
    }
    assert plan.loc[plan["boat"] == "Petrel", "why"].str.contains(" m").all()
    assert plan.loc[plan["boat"] == "Dunlin", "why"].str.contains(" ft").all()
    # equal gears at about equal depths: metres and feet of line are the same true line
    same = plan.loc[(plan["gear"] == "rigger") & (plan["purpose"] == "best band")]
    ratio = same.groupby("boat").apply(
        lambda rows: (rows["line_out_m"] / rows["depth_m"]).mean(), include_groups=False
    )
    assert ratio["Dunlin"] == pytest.approx(ratio["Petrel"], rel=0.15)
    biggest = season.tables["species"]["biggest_length_m"].max()
    assert 0.5 < biggest < 1.5


def test_one_boat_in_two_folders(simulated, tmp_path):
    """A season whose log was begun anew, with trips counted from 1 once more."""
    trips = simulated.frames["trips"].sort_values("start")
    parts = [trips["trip"].iloc[:12], trips["trip"].iloc[12:]]
    folders = []
    for number, part in enumerate(parts):
        frames = of_trips(simulated, part)
        anew = {trip: f"{place:03d}" for place, trip in enumerate(part)}
        frames = {k: v.assign(trip=v["trip"].map(anew)) for k, v in frames.items()}
        folders.append(written(simulated, tmp_path / f"dunlin-2026-{number}", **frames))
    season = analyse(folders)
    assert season.summary["boats"] == ["Dunlin"]
    table = season.tables["trips"]
    assert len(table) == 24
    assert table.groupby("log_number").size().to_dict() == {0: 12, 1: 12}
    assert season.tables["weeks"]["trips"].sum() == 24
    assert season.tables["weeks"]["strikes"].sum() == len(simulated.frames["strikes"])


def test_a_season_that_has_not_ended(simulated, tmp_path):
    trips = simulated.frames["trips"].sort_values("start")
    early = trips.loc[trips["start"] < "2026-06-20", "trip"]
    season = reviewed(written(simulated, tmp_path / "early-2026", **of_trips(simulated, early)))
    bands = season.tables["bands"]
    assert set(bands["period"]) == {"season", "2026-05", "2026-06"}
    assert (season.tables["trips"]["date"] < "2026-06-21").all()
    if season.tables["plan"].empty:
        assert "No starting spread" in season.summary["told"]["plan"][0]
    else:
        assert set(season.tables["plan"]["period"]) <= {"season", "2026-05"}


def test_a_species_spelt_three_ways(simulated, tmp_path):
    strikes = simulated.frames["strikes"].copy()
    named = strikes["species"].fillna("") != ""
    ways = np.array(["lake trout", "Lake Trout", "lake truot"])
    strikes.loc[named, "species"] = ways[np.arange(named.sum()) % 3]
    season = reviewed(written(simulated, tmp_path / "spelt-2026", strikes=strikes))
    species = season.tables["species"].set_index("species")
    known = [name for name in species.index if name]
    assert len(known) == 1
    assert species.loc[known[0], "strikes"] == named.sum()
    assert all(way in species.loc[known[0], "spelt_as"] for way in ways)
    assert any(
        "one species where they differ" in line for line in season.summary["told"]["species"]
    )


def test_no_strike_at_all(simulated, tmp_path):
    folder = written(simulated, tmp_path / "none-2026")
    file = folder / "strikes.csv"
    file.write_text(file.read_text(encoding="utf-8").splitlines()[0] + "\n", encoding="utf-8")
    season = reviewed(folder)
    assert verdicts(season) == {"open"}
    for name in ("species", "outcomes", "hookups", "cost", "influence", "gear_effects", "plan"):
        assert season.tables[name].empty, name
    assert season.tables["trips"]["strikes"].sum() == 0
    assert season.summary["strikes"] == 0


def test_strikes_only(simulated, tmp_path):
    season = reviewed(written(simulated, tmp_path / "only-2026", sets=None))
    assert season.summary["rod_hours"] == 0.0
    assert season.tables["bands"].empty or verdicts(season) == {"open"}
    species = season.tables["species"]
    assert species["strikes"].sum() == len(simulated.frames["strikes"])
    assert not season.tables["outcomes"].empty
    assert set(season.tables["trips"]["hours_from"]) == {"rods usually down"}
    assert season.tables["plan"].empty


def test_one_rod(simulated, tmp_path):
    rod = simulated.frames["sets"]["rod"].value_counts().index[0]
    one = {
        name: frame.loc[frame["rod"] == rod].reset_index(drop=True)
        for name, frame in simulated.frames.items()
        if name in ("sets", "strikes")
    }
    season = reviewed(written(simulated, tmp_path / "rod-2026", **one))
    assert verdicts(season) == {"open"}
    assert "no moment" in season.summary["status"]


def test_options_that_cannot_be(simulated, tmp_path):
    from analysis.errors import RodhoursError

    with pytest.raises(RodhoursError, match="0 rods: give a number from 1 to 20"):
        Options(rods=0)
    folder = written(simulated, tmp_path / "dunlin-2026")
    with pytest.raises(RodhoursError, match="no period '2026-12' to plan for"):
        analyse([folder], Options(plan_for="2026-12"))


def test_sets_cut_short(simulated, tmp_path):
    """Half a table of sets has no bad row, and its strikes still compare rods."""
    sets = simulated.frames["sets"].sort_values("time_in")
    folder = written(simulated, tmp_path / "short-2026", sets=sets.head(len(sets) // 2))
    season = reviewed(folder)
    lost = season.summary["strikes"] - season.summary["strikes_placed"]
    why = "the trip has no set records"
    what = f"o set holds {lost} of {season.summary['strikes']} strikes ({why})"
    lines = season.summary["first_lines"]
    assert lines[0] == (
        f"Dunlin: N{what}, and those count in no rate: look whether its sets are whole."
    )
    assert f"No verdict is 'clear', because n{what}." in lines
    assert "clear" not in verdicts(season)
    assert set(season.tables["species_bands"]["verdict"]) <= {"leaning", "open"}
