"""Checks the demo: it regenerates byte for byte, its flaws are where the list says they are,
and a reader finds them; its truth says that raw counts mislead."""

import csv
import filecmp
import re
import shutil
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analysis.effort import Effort, count_effort
from analysis.log import SeasonLog, read_log
from data import flaws, telling
from data.club import MARKUP_LURE, SEASONS, ClubSeason
from data.make_demo import make, simulate
from data.simulate import SimulatedSeason

DATA = Path(__file__).parents[1] / "data"
FOLDERS = [season.folder for season in SEASONS]
BY_FOLDER = {season.folder: season for season in SEASONS}


@dataclass(frozen=True)
class Read:
    """One season of the demo as committed, read and counted."""

    season: ClubSeason
    log: SeasonLog
    effort: Effort
    flaws: pd.DataFrame


@pytest.fixture(scope="module")
def flaw_list() -> pd.DataFrame:
    return pd.read_csv(DATA / "truth" / "flaws.csv", dtype=str, keep_default_na=False)


@pytest.fixture(scope="module", params=FOLDERS)
def read(request: pytest.FixtureRequest, flaw_list: pd.DataFrame) -> Read:
    log = read_log(DATA / "demo" / request.param)
    mine = flaw_list[flaw_list["season"] == request.param]
    mine = mine.assign(line=mine["line"].astype(int))
    return Read(BY_FOLDER[request.param], log, count_effort(log), mine)


@pytest.fixture(scope="module")
def fished() -> SimulatedSeason:
    """The season with the night of the clock change, as it was."""
    return simulate(BY_FOLDER["dunlin-2025"])


def _files(folder: Path) -> list[str]:
    return sorted(str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file())


def test_the_demo_regenerates_byte_for_byte(tmp_path: Path) -> None:
    shutil.copy(DATA / "README.md", tmp_path)
    make(tmp_path)
    for part in ("demo", "truth"):
        assert _files(tmp_path / part) == _files(DATA / part)
    names = [f"{part}/{name}" for part in ("demo", "truth") for name in _files(DATA / part)]
    names.append("README.md")
    _, differ, missing = filecmp.cmpfiles(tmp_path, DATA, names, shallow=False)
    assert differ == missing == [], "run: python -m data.make_demo"


def test_sizes_are_those_of_real_boats(read: Read) -> None:
    rows = read.log.rows.set_index("table")["read"]
    assert 60 <= rows["trips"] <= 100
    assert 150 <= rows["strikes"] <= 600
    down = read.log.trips["rods"]
    assert down.between(6, 10).all()
    assert down.max() > down.min()


def test_files_are_small() -> None:
    sizes = [p.stat().st_size for p in (DATA / "demo").rglob("*") if p.is_file()]
    assert max(sizes) < 1_000_000
    assert sum(sizes) < 6_000_000


def test_boats_write_in_their_own_units_and_share_what_they_allow() -> None:
    logs = {folder: read_log(DATA / "demo" / folder) for folder in FOLDERS[::2]}
    units = {log.boat.name: log.boat.units for log in logs.values()}
    assert (units["Dunlin"].length, units["Dunlin"].speed) == ("ft", "mph")
    assert units["Dunlin"].temperature == "F"
    assert (units["Petrel"].length, units["Petrel"].speed) == ("m", "km/h")
    assert units["Petrel"].temperature == "C"
    assert {log.boat.name for log in logs.values() if log.boat.name_boat} == {"Dunlin"}
    assert {log.boat.club for log in logs.values()} == {"Ostermere Trolling Club"}


def test_no_position_is_told() -> None:
    """No heading names one, and no number has the decimals that one would need."""
    heading = re.compile(r"lat|lon|position|coord|gps|grid", re.IGNORECASE)
    for path in (DATA / "demo").rglob("*.csv"):
        table = pd.read_csv(path, dtype=str, keep_default_na=False)
        assert not [name for name in table if heading.search(name)], path
        for name in table:
            fine = table[name].str.contains(r"\d[.,]\d{3}|°", regex=True)
            assert not fine.any(), (path, name)


def test_each_listed_flaw_stands_where_the_list_says(read: Read) -> None:
    folder = read.log.folder
    for table, rows in read.flaws.groupby("table"):
        with (folder / f"{table}.csv").open(encoding="utf-8-sig", newline="") as file:
            lines = list(csv.reader(file))
        theirs = {ours: own for own, ours in read.season.boat.headings.get(table, {}).items()}
        for row in rows.itertuples():
            cells = dict(zip(lines[0], lines[row.line - 1], strict=True))
            if row.column:
                assert cells[theirs.get(row.column, row.column)] == row.value, row
            else:
                assert lines[row.line - 1] == lines[row.line - 2], row


def test_every_kind_of_flaw_is_in_the_demo(flaw_list: pd.DataFrame) -> None:
    planted = " ; ".join(sorted(set(flaw_list["flaw"])))
    for kind in (
        "swapped", "line-out not written down", "decimal comma", "gear misspelt",
        "written down twice", "species spelt in another way", "not down", "overlaps",
        "runs on after its trip", "before its trip", "in C, the log in F",
    ):  # fmt: skip
        assert kind in planted
    common = ("swapped", "line-out not written down", "decimal comma", "gear misspelt", "twice")
    for _, rows in flaw_list.groupby("season"):
        assert all(rows["flaw"].str.contains(kind).any() for kind in common)


def test_the_reader_sets_aside_exactly_what_was_planted(read: Read) -> None:
    planted = read.flaws[read.flaws["fate"] == flaws.ASIDE]
    expected = set(zip(planted["table"], planted["line"], strict=True))
    found = set(zip(read.log.set_aside["table"], read.log.set_aside["row"], strict=True))
    assert found == expected
    rows = read.log.rows
    assert (rows["read"] == rows["kept"] + rows["set_aside"]).all()


def test_the_reader_tells_of_each_field_that_it_changed(read: Read) -> None:
    planted = read.flaws[read.flaws["fate"].isin((flaws.EMPTIED, flaws.READ))]
    expected = set(zip(planted["table"], planted["line"], planted["column"], strict=True))
    changed = read.log.changed
    assert set(zip(changed["table"], changed["row"], changed["column"], strict=True)) == expected


def test_counting_finds_overlaps_and_strikes_on_rods_not_down(read: Read) -> None:
    cut = read.flaws[read.flaws["fate"] == flaws.CUT]
    changed = read.effort.changed
    assert set(changed["row"]) == set(cut["line"])
    unplaced = read.effort.strikes.loc[~read.effort.strikes["placed"]]
    planted = read.flaws.loc[read.flaws["fate"] == flaws.NO_RATE, "line"]
    assert set(planted) <= set(unplaced["line"])
    # besides, a strike loses its set where the set itself was set aside
    bare = unplaced["trip"].isin(read.effort.strikes_only_trips)
    aside = (read.log.set_aside["table"] == "sets").sum()
    assert (~bare).sum() <= len(planted) + aside


def test_one_boat_kept_only_strikes_and_trips_for_its_first_month(read: Read) -> None:
    month = read.season.strikes_only_month
    if month is None:
        assert read.effort.strikes_only_trips == []
        return
    trips = read.log.trips
    first = trips.loc[trips["date"].dt.strftime("%Y-%m") == month, "trip"]
    assert set(read.effort.strikes_only_trips) == set(first)
    assert trips["date"].min().strftime("%Y-%m") == month
    strikes = read.log.strikes[read.log.strikes["trip"].isin(first)]
    assert len(strikes) > 5
    assert (strikes["gear"] != "").all()
    assert (strikes["line_out_m"] > 0).all()


def test_a_night_runs_through_the_clock_change_and_is_read_as_it_was(
    fished: SimulatedSeason,
) -> None:
    log = read_log(DATA / "demo" / "dunlin-2025")
    night = log.trips.loc[log.trips["date"] == pd.Timestamp("2025-10-25"), "trip"].item()
    change = pd.Timestamp("2025-10-26 01:00", tz="UTC")
    trip = log.trips.set_index("trip").loc[night]
    assert trip["start"] < change < trip["end"]
    text = pd.read_csv(DATA / "demo" / "dunlin-2025" / "sets.csv", dtype=str)
    text = text[text["trip"] == night]
    assert (text["time_out"] < text["time_in"]).any(), "no set ends in the repeated hour"
    was = fished.frames["sets"]
    was = was[was["trip"] == night].reset_index(drop=True)
    now = log.sets[log.sets["trip"] == night].sort_values("line", ignore_index=True)
    assert not (read_flaws("dunlin-2025", "sets")["line"].isin(now["line"])).any()
    assert len(was) == len(now) > 40
    # 02:37 to 02:40 may have lasted three minutes or sixty-three: the clock does not say
    hour = pd.Timedelta(hours=1)
    for end in ("time_in", "time_out"):
        away = (was[end] - now[end]).abs()
        doubtful = was[end].between(change - hour, change + hour)
        assert (away[~doubtful] == pd.Timedelta(0)).all()
        assert away.isin([pd.Timedelta(0), hour]).all()
        assert (away > pd.Timedelta(0)).sum() <= 2


def read_flaws(season: str, table: str) -> pd.DataFrame:
    planted = pd.read_csv(DATA / "truth" / "flaws.csv", keep_default_na=False)
    return planted[(planted["season"] == season) & (planted["table"] == table)]


def test_trips_run_past_midnight_with_and_without_dates_in_their_times() -> None:
    for folder, night in (("petrel-2026", "2026-07-03"), ("dunlin-2026", "2026-08-14")):
        log = read_log(DATA / "demo" / folder)
        trip = log.trips[log.trips["date"] == pd.Timestamp(night)].iloc[0]
        sets = log.sets[log.sets["trip"] == trip["trip"]]
        midnight = pd.Timestamp(night, tz="Europe/Oslo") + pd.Timedelta(days=1)
        assert trip["start"] < midnight < trip["end"]
        assert (sets["time_in"] > midnight).sum() > 3
        assert (sets["time_out"] <= trip["end"]).all()
    text = (DATA / "demo" / "petrel-2026" / "sets.csv").read_text(encoding="utf-8")
    assert "2026-07" not in text


def test_spreadsheet_files_and_own_headings() -> None:
    raw = (DATA / "demo" / "whimbrel-2026" / "strikes.csv").read_bytes()
    assert raw.startswith(b"\xef\xbb\xbftrip,Fish on,")
    assert raw.count(b"\r\n") == raw.count(b"\n") > 150


def test_a_lure_has_markup_in_its_name() -> None:
    log = read_log(DATA / "demo" / "dunlin-2026")
    assert (log.sets["lure"] == MARKUP_LURE).sum() > 100


def test_raw_counts_mislead_in_the_demo() -> None:
    bands = pd.read_csv(DATA / "truth" / "bands.csv")
    best = telling.best_bands(bands)
    months = best[best["period"] != "season"]
    wrong = months["true best"] != months["most strikes"]
    assert wrong.mean() > 1 / 3
    assert months["lost_by_count"].mean() > 0.05
    assert (months["lost_by_count"] > 0.15).sum() >= 6
    assert months["lost_by_hour"].mean() > 0.05


def test_the_best_band_sinks_with_the_thermocline() -> None:
    bands = pd.read_csv(DATA / "truth" / "bands.csv")
    judged = bands[bands["judged"] & bands["period"].str.endswith(("-06", "-09"))]
    best = judged.loc[judged.groupby(["season", "period"])["rate"].idxmax()]
    middle = (best["low"] + best["high"]).to_numpy() / 2
    by_month = [middle[best["period"].str.endswith(m)] for m in ("-06", "-09")]
    assert len(by_month[0]) == len(by_month[1]) == len(SEASONS)
    assert (by_month[1] > by_month[0]).all()


def test_best_bands_are_judged_by_hours_and_loss_is_against_the_best() -> None:
    table = pd.DataFrame(
        {
            "season": "x", "period": "2026-07", "low": [0, 10, 20], "high": [10, 20, 30],
            "unit": "ft", "rate": [0.9, 0.10, 0.05], "log_hours": [2.0, 40.0, 100.0],
            "log_strikes": [9, 8, 12], "judged": [False, True, True],
        }
    )  # fmt: skip
    row = telling.best_bands(table).iloc[0]
    assert (row["true best"], row["most strikes"]) == ("10-20 ft", "20-30 ft")
    assert row["lost_by_count"] == pytest.approx(0.5)
    assert row["most strikes per rod-hour"] == "10-20 ft"


def test_a_readme_without_room_for_a_part_is_refused() -> None:
    empty = pd.DataFrame()
    bands = pd.read_csv(DATA / "truth" / "bands.csv")
    planted = pd.read_csv(DATA / "truth" / "flaws.csv", dtype=str, keep_default_na=False)
    planted["line"] = planted["line"].astype(int)
    with pytest.raises(ValueError, match=r"no lines <!-- begin fish --> .* put them back"):
        telling.fill("# nothing", bands, planted, empty, empty)


def test_soaks_show_that_the_diver_is_not_what_boat_toml_says() -> None:
    """The mean of the trials' true depths is off by what README states, within their noise."""
    from analysis.depth import solve

    log = read_log(DATA / "demo" / "dunlin-2026")
    soaks = log.soaks
    said = solve(
        log.boat.gears["diver"],
        setting=soaks["setting"].to_numpy(),
        line_out_m=soaks["line_out_m"].to_numpy(),
        speed_mps=soaks["speed_mps"].to_numpy(),
        tip_height_m=2.0,
        water=log.boat.water,
    )
    off = np.log(soaks["depth_m"].to_numpy() / said.depth_m)
    assert set(soaks["setting"]) == {0.0, 1.0, 2.0, 3.0}
    assert -0.16 < off.mean() < -0.03
