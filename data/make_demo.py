"""Writes the demo logs and the truth beside them: `python -m data.make_demo`.

Everything follows from the seeds in `data/club.py`: the same code writes the same bytes.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import numpy as np
import pandas as pd

from analysis.depth import solve
from analysis.depth.kinds import gear_from_toml
from analysis.depth.water import Water
from data import flaws, logbook, telling
from data.club import SEASONS, ClubSeason
from data.simulate import SimulatedSeason, simulate_season
from data.tackle import TIP_HEIGHT_M

HERE = Path(__file__).parent
TIMES = {"trips": ("start", "end"), "sets": ("time_in", "time_out"), "strikes": ("time",),
         "readings": ("time",), "casts": ("time",)}  # fmt: skip
NOTES = ("", "", "", "", "", "", "fog till nine", "choppy, short day", "flat calm", "lost a ball")


def simulate(season: ClubSeason) -> SimulatedSeason:
    """Return a boat's season as it was, before anything went wrong on paper."""
    return simulate_season(
        season.scenario(),
        season.seed,
        strikes=season.strikes,
        trips=season.trips,
        rods=season.rods,
        year=season.year,
        boat=season.boat,
        nights=season.nights,
        lake_seed=season.lake_seed,
        habits=season.habits,
    )


def write_down(season: ClubSeason, fished: SimulatedSeason) -> flaws.Planter:
    """Return the season's tables as its crew wrote them, with their flaws."""
    rng = np.random.default_rng([season.seed, 2])
    frames = {name: frame.copy() for name, frame in fished.frames.items()}
    frames["trips"]["note"] = rng.choice(NOTES, len(frames["trips"]))
    if season.probe:
        _probe(season, fished, frames, rng)
    if season.soaks:
        frames["soaks"] = _soaks(season, rng)
    if season.strikes_only_month:
        frames = _strikes_only(season.strikes_only_month, frames)
    tables = {name: logbook.as_written(frame, season.boat) for name, frame in frames.items()}
    if season.bare_times:
        for name, columns in TIMES.items():
            for column in columns:
                tables[name][column] = tables[name][column].str[-5:]
    planter = flaws.Planter(tables, rng)
    boat = season.boat
    flaws.plant_common(planter, bare_times=season.bare_times, feet=boat.in_feet)
    flaws.plant_in_casts(planter, fahrenheit=boat.units["temperature"] == "F")
    if not season.bare_times:
        flaws.plant_dated(planter)
    return planter


def _probe(
    season: ClubSeason,
    fished: SimulatedSeason,
    frames: dict[str, pd.DataFrame],
    rng: np.random.Generator,
) -> None:
    """Add the temperature that a probe at the port ball read, where the ball was down."""
    sets, readings = frames["sets"], frames["readings"]
    down = sets[sets["rod"] == "PB"].sort_values("time_in")
    down = down[["trip", "time_in", "time_out", "line_out_m"]]
    rows = readings.reset_index().sort_values("time")
    rows = pd.merge_asof(rows, down, left_on="time", right_on="time_in", by="trip")
    rows = rows[rows["time"] <= rows["time_out"]]
    trip = rows["trip"].map({name: i for i, name in enumerate(fished.truth.trips)}).to_numpy()
    starts = frames["trips"].set_index("trip")["start"]
    minute = (rows["time"] - rows["trip"].map(starts)).dt.total_seconds().to_numpy() / 60
    tackle = season.boat.tackle
    group = np.full(len(rows), tackle.groups.index(("ball", None)))
    speed = rows["speed_mps"].to_numpy()
    line = rows["line_out_m"].to_numpy()
    truly = tackle.true_table.depth(group, line, speed)
    temp = fished.truth.lake.temp_c(trip, minute, truly) + rng.normal(0, 0.1, len(rows))
    at = rows["index"].to_numpy()
    readings.loc[at, "depth_temp_c"] = temp
    readings.loc[at, "probe_depth_m"] = tackle.table.depth(group, line, speed)


def _soaks(season: ClubSeason, rng: np.random.Generator) -> pd.DataFrame:
    """Return depth-logger trials of the boat's diver, with 3 % of noise."""
    boat = season.boat
    name = boat.tackle.rods[0].gear if season.boat.in_feet else "disc"
    step = boat.line_step_m
    setting = np.resize([1.0, 2.0, 3.0, 0.0], season.soaks)
    line = np.rint(rng.uniform(14, 55, season.soaks) / step) * step
    speed = np.round(rng.normal(1.1, 0.08, season.soaks), 2)
    solution = solve(
        gear_from_toml(name, (boat.tackle.true_gears or {})[name]),
        setting=setting,
        line_out_m=line,
        speed_mps=speed,
        tip_height_m=TIP_HEIGHT_M,
        water=Water(),
    )
    return pd.DataFrame(
        {
            "gear": name,
            "setting": setting,
            "line_out_m": line,
            "speed_mps": speed,
            "depth_m": solution.depth_m * (1 + rng.normal(0, 0.03, season.soaks)),
            "date": np.datetime64(f"{season.year}-05-02", "us"),
        }
    )


def _strikes_only(month: str, frames: dict[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    """Drop sets, readings and casts of a month; its strikes tell what the rods fished."""
    trips = frames["trips"]
    bare = trips.loc[trips["date"].dt.strftime("%Y-%m") == month, "trip"]
    told = ["gear", "setting", "line_out_m", "leader_length_m", "lure"]
    strikes = frames["strikes"]
    ends = frames["sets"].loc[frames["sets"]["ended_by"] == "strike"]
    ends = ends.rename(columns={"time_out": "time"})[["trip", "rod", "time", *told]]
    strikes = strikes.merge(ends, on=["trip", "rod", "time"], how="left", validate="1:1")
    other = ~strikes["trip"].isin(bare)
    strikes[["setting", "line_out_m", "leader_length_m"]] = strikes[
        ["setting", "line_out_m", "leader_length_m"]
    ].mask(other)
    strikes[["gear", "lure"]] = strikes[["gear", "lure"]].mask(other, "")
    kept = {
        name: frame[~frame["trip"].isin(bare)].reset_index(drop=True)
        for name, frame in frames.items()
        if name in ("sets", "readings", "casts")
    }
    return {**frames, **kept, "strikes": strikes}


def _as_a_spreadsheet_saves(path: Path) -> None:
    """Give a file the byte-order mark and line ends of a spreadsheet program."""
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))


def make(out: Path) -> None:
    """Write `demo/`, `truth/` and the generated parts of `README.md` into a folder."""
    shutil.rmtree(out / "demo", ignore_errors=True)
    fished = {season.folder: simulate(season) for season in SEASONS}
    planted = []
    for season in SEASONS:
        planter = write_down(season, fished[season.folder])
        folder = logbook.write_text(out / "demo" / season.folder, season.boat, planter.tables)
        if season.from_a_spreadsheet:
            for name in ("trips", "strikes"):
                _as_a_spreadsheet_saves(folder / f"{name}.csv")
        planted.append(planter.listed(season.folder))
    bands, water, depth = telling.season_tables(fished)
    flaw_list = pd.concat(planted)
    (out / "truth").mkdir(parents=True, exist_ok=True)
    for name, frame in {"bands": bands, "flaws": flaw_list}.items():
        text = frame.to_csv(index=False, lineterminator="\n", float_format="%.4g")
        (out / "truth" / f"{name}.csv").write_text(text, encoding="utf-8", newline="\n")
    readme = out / "README.md"
    told = telling.fill(readme.read_text(encoding="utf-8"), bands, flaw_list, water, depth)
    readme.write_text(told, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    make(HERE)
    sys.stdout.write(f"wrote {HERE / 'demo'}, {HERE / 'truth'} and {HERE / 'README.md'}\n")
