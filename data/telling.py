"""Tells what is true of the demo: best bands, water and depths, as frames and for README.md."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from data.club import FISH, GEAR_EFFECT, LANDING_LEADER, LEADER, SEASONS, SPEED, ClubSeason
from data.scenario import FT
from data.simulate import SimulatedSeason
from data.tackle import USUAL_SPEED_MPS

JUDGED_HOURS = {"season": 20.0}
JUDGED_HOURS_A_MONTH = 8.0
LINE_OUT_M = 30.0


def band_truth(season: ClubSeason, fished: SimulatedSeason) -> pd.DataFrame:
    """Return true rates by period and band in the boat's own steps, 10 ft or 3 m.

    A month without set records is left out, also of the season: there the log cannot tell.

    Returns
    -------
    DataFrame
        season, period, low, high, unit, rate (strikes per rod-hour), rod_hours (true depth),
        log_hours and log_strikes (depth by boat.toml's gear), judged (fished enough).
    """
    feet = season.boat.in_feet
    step = 10.0 if feet else 3.0
    edges = step * np.arange(16.0 if feet else 17.0)
    unit = FT if feet else 1.0
    left_out = (season.strikes_only_month,) if season.strikes_only_month else ()
    truth = fished.truth
    bands = truth.band_rates(edges * unit, leave_out=left_out)
    strikes = truth.strikes[~truth.strikes["period"].isin(left_out)]
    counts = []
    for period in bands["period"].unique():
        mine = (strikes["period"] == period) | (period == "season")
        counts.append(np.histogram(strikes["model_depth_m"][mine], edges * unit)[0])
    needed = bands["period"].map(JUDGED_HOURS).fillna(JUDGED_HOURS_A_MONTH)
    return pd.DataFrame(
        {
            "season": season.folder,
            "period": bands["period"],
            "low": np.rint(bands["band_low_m"] / unit).astype(int),
            "high": np.rint(bands["band_high_m"] / unit).astype(int),
            "unit": "ft" if feet else "m",
            "rate": bands["rate"],
            "rod_hours": bands["rod_hours"].round(1),
            "log_hours": bands["model_rod_hours"].round(1),
            "log_strikes": np.concatenate(counts),
            "judged": bands["model_rod_hours"] >= needed,
        }
    )


def best_bands(bands: pd.DataFrame) -> pd.DataFrame:
    """Return for each season and period the best judged band and what easy counts name.

    `lost_by_count` and `lost_by_hour` are the shares of the best band's rate given up by
    fishing the band with the most strikes, or with the most strikes per rod-hour.
    """
    rows = []
    for (season, period), part in bands[bands["judged"]].groupby(["season", "period"], sort=False):
        best = part.loc[part["rate"].idxmax()]
        count = part.loc[part["log_strikes"].idxmax()]
        hour = part.loc[(part["log_strikes"] / part["log_hours"]).idxmax()]
        rows.append(
            {
                "season": season,
                "period": period,
                "true best": _band(best),
                "strikes per rod-hour": round(float(best["rate"]), 3),
                "most strikes": _band(count),
                "lost_by_count": 1 - count["rate"] / best["rate"],
                "most strikes per rod-hour": _band(hour),
                "lost_by_hour": 1 - hour["rate"] / best["rate"],
            }
        )
    return pd.DataFrame(rows)


def _band(row: pd.Series) -> str:
    return f"{row['low']}-{row['high']} {row['unit']}"


def water_truth(season: ClubSeason, fished: SimulatedSeason) -> pd.DataFrame:
    """Return by month the surface temperature and the depths of three temperatures."""
    truth = fished.truth
    depth = np.arange(0.0, 60.0, 0.25)
    trip = np.arange(len(truth.trips))
    temp = truth.lake.temp_c(trip[:, None], np.full((len(trip), 1), 180.0), depth[None, :])
    month = fished.frames["trips"]["date"].dt.strftime("%Y-%m")
    rows = pd.DataFrame({"month": month, "surface, C": temp[:, 0]})
    for wanted in (12.0, 10.0, 8.0):
        # water is warmest on top: the depth is where it has cooled to the temperature
        rows[f"{wanted:.0f} C at, m"] = (temp > wanted).sum(axis=1) * 0.25
    return rows.groupby("month", as_index=False).mean().round(1)


def depth_truth(season: ClubSeason) -> pd.DataFrame:
    """Return how deep 30 m of line runs by boat.toml and in truth, at the usual speed."""
    tackle = season.boat.tackle
    group = np.arange(len(tackle.groups))
    line, speed = np.full(len(group), LINE_OUT_M), np.full(len(group), USUAL_SPEED_MPS)
    says = tackle.table.depth(group, line, speed)
    runs = tackle.true_table.depth(group, line, speed)
    return pd.DataFrame(
        {
            "boat": season.boat.name,
            "gear": [gear for gear, _ in tackle.groups],
            "setting": ["" if s is None else f"{s:g}" for _, s in tackle.groups],
            "boat.toml says, m": says.round(1),
            "runs, m": runs.round(1),
            "true / said": (runs / says).round(2),
        }
    )


def fish_truth() -> pd.DataFrame:
    """Return what each species prefers."""
    return pd.DataFrame(
        [
            {
                "species": fish.name,
                "share": fish.share,
                "best C": fish.best_temp_c,
                "width C, colder / warmer": _pair(fish.temp_width_c),
                "best depth, m": fish.best_depth_m,
                "width m, shallower / deeper": _pair(fish.depth_width_m),
            }
            for fish in FISH
        ]
    )


def _pair(width: tuple[float, float] | None) -> str:
    return f"{width[0]:g} / {width[1]:g}" if width else "drawn"


def _landed() -> str:
    return ", ".join(f"{fish.landed:.0%} ({fish.name})" for fish in FISH)


def response_truth() -> str:
    """Return what speed, leader and gear do to the rate, as a list."""
    gears = ", ".join(f"{name} {np.exp(x):.2f}" for name, x in GEAR_EFFECT.items())
    return "\n".join(
        [
            f"- speed through water: exp(-((v - {SPEED[0]:g}) / {SPEED[1]:g})^2 / 2), v in m/s;",
            f"- leader: exp({LEADER[0]:g} x - {LEADER[1]:g} x^2 / 2), x = log(length / 8 ft);",
            f"- gear, as ratios at equal depth: {gears};",
            "- lures: none is better than another.",
            "",
            f"**Landing.** At 8 ft of leader {_landed()} of the strikes end in the boat (kept or "
            f"let go); the log odds rise by {LANDING_LEADER:g} times log(length / 8 ft).",
        ]
    )


def fill(
    text: str, bands: pd.DataFrame, planted: pd.DataFrame, water: pd.DataFrame, depth: pd.DataFrame
) -> str:
    """Return README's text with its generated parts written anew.

    Raises
    ------
    ValueError
        When the text has no place for a part.
    """
    best = best_bands(bands)
    shown = best.assign(
        **{
            "lost_by_count": _percent(best["lost_by_count"]),
            "lost_by_hour": _percent(best["lost_by_hour"]),
        }
    ).rename(columns={"lost_by_count": "gives up", "lost_by_hour": "gives up "})
    months = best[best["period"] != "season"]
    wrong = (months["true best"] != months["most strikes"]).sum()
    summary = (
        f"Of the {len(months)} months, the band with the most strikes is the wrong one in "
        f"{wrong}; it gives up {months['lost_by_count'].mean():.0%} of the best band's rate in "
        f"the mean and {months['lost_by_count'].max():.0%} at worst. Strikes per rod-hour name "
        f"the wrong band in {(months['true best'] != months['most strikes per rod-hour']).sum()} "
        f"and give up {months['lost_by_hour'].mean():.0%}."
    )
    parts = {
        "fish": _table(fish_truth()),
        "response": response_truth(),
        "misleading": summary,
        "bands": _table(shown),
        "water": _table(water),
        "depths": _table(depth),
        "flaws": _table(_runs(planted[planted["flaw"] != "species spelt in another way"])),
    }
    for name, part in parts.items():
        mark = re.compile(rf"(<!-- begin {name} -->\n).*?(<!-- end {name} -->)", re.DOTALL)
        if not mark.search(text):
            msg = (
                f"README.md: no lines <!-- begin {name} --> and <!-- end {name} -->; put them back"
            )
            raise ValueError(msg)
        text = mark.sub(lambda m, new=part: f"{m[1]}{new}\n{m[2]}", text)
    return text


def _percent(x: pd.Series) -> NDArray[np.str_]:
    return np.array([f"{v:.0%}" for v in x])


def _runs(planted: pd.DataFrame) -> pd.DataFrame:
    """Join the lines of one flaw that follow each other, such as a cast in the wrong unit."""
    frame = planted.copy()
    key = ["season", "table", "column", "flaw", "fate"]
    new = (frame[key] != frame[key].shift()).any(axis=1) | (frame["line"].diff() != 1)
    frame["run"] = new.cumsum()
    joined = frame.groupby("run").agg(
        **{c: (c, "first") for c in ("season", "table")},
        line=("line", lambda x: f"{x.iloc[0]}" if len(x) == 1 else f"{x.iloc[0]}-{x.iloc[-1]}"),
        **{c: (c, "first") for c in ("column", "value", "flaw", "fate")},
    )
    return joined.reset_index(drop=True)


def _table(frame: pd.DataFrame) -> str:
    """Return a frame as a Markdown table."""
    rows = [frame.columns, ["---"] * frame.shape[1], *frame.astype(str).to_numpy()]
    return "\n".join("| " + " | ".join(cell.replace("|", "/") for cell in r) + " |" for r in rows)


def season_tables(
    fished: dict[str, SimulatedSeason],
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Return bands of all seasons, water of each year and depths of each boat."""
    bands = [band_truth(season, fished[season.folder]) for season in SEASONS]
    years = {season.year: season for season in reversed(SEASONS)}
    water = [water_truth(season, fished[season.folder]) for _, season in sorted(years.items())]
    boats = {season.boat.name: season for season in SEASONS}
    depth = [depth_truth(season) for season in boats.values()]
    return pd.concat(bands), pd.concat(water), pd.concat(depth)
