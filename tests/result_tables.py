"""Owns a made-up set of result tables, so that pages are tested without a season's analysis.

The numbers belong together only roughly; what pages must do with them does not depend on it.
"""

from typing import Any

import numpy as np
import pandas as pd

FOOT_M = 0.3048
HOSTILE = '<img src=x onerror="document.title=\'ran\'"> & $x$ "lure"'

MONTHS = ("2026-05", "2026-06", "2026-07", "2026-08")
PEAKS_FT = {"season": 45.0, "2026-05": 25.0, "2026-06": 40.0, "2026-07": 55.0, "2026-08": 65.0}
VERDICTS = {
    "season": "leaning",
    "2026-05": "open",
    "2026-06": "leaning",
    "2026-07": "clear",
    "2026-08": "clear",
}


def bands() -> pd.DataFrame:
    """Ten bands of 10 ft for the season and four months."""
    frames = []
    for period, peak in PEAKS_FT.items():
        low = np.arange(0, 100, 10, dtype=float)
        middle = low + 5
        rate = 0.03 + 0.16 * np.exp(-0.5 * ((middle - peak) / 15) ** 2)
        scale = 1.0 if period == "season" else 0.25
        hours = scale * 380 * np.exp(-0.5 * ((middle - peak + 12) / 20) ** 2) + 1
        judged = hours >= (20 if period == "season" else 8)
        rate = np.where(judged, rate, np.nan)
        weight = np.where(judged, np.exp(60 * (np.nan_to_num(rate) - 0.19)), np.nan)
        p_best = weight / np.nansum(weight)
        named = np.zeros(len(low), dtype=bool)
        if VERDICTS[period] != "open":
            named[np.argsort(-np.nan_to_num(p_best))[:2]] = True
        spread = 0.5 / np.sqrt(hours * 0.1)
        pair = float(np.mean(rate[named])) if named.any() else np.nan
        pair_spread = float(np.mean(spread[named])) if named.any() else np.nan
        frames.append(
            pd.DataFrame(
                {
                    "period": period,
                    "band_low_m": low * FOOT_M,
                    "band_high_m": (low + 10) * FOOT_M,
                    "rod_hours": hours,
                    "strikes": np.round(hours * np.nan_to_num(rate, nan=0.02)).astype(int),
                    "raw_rate": np.nan_to_num(rate, nan=0.02) * 1.1,
                    "rate": rate,
                    "rate_low": rate * np.exp(-spread),
                    "rate_high": rate * np.exp(spread),
                    "p_best": p_best,
                    "judged": judged,
                    "named": named,
                    "p_named": np.nansum(np.where(named, p_best, 0.0)) if named.any() else np.nan,
                    "verdict": VERDICTS[period],
                    "named_rate": pair,
                    "named_rate_low": pair * np.exp(-pair_spread),
                    "named_rate_high": pair * np.exp(pair_spread),
                }
            )
        )
    return pd.concat(frames, ignore_index=True)


def effects() -> pd.DataFrame:
    """One-peaked curves for four terms."""
    grids = {
        "depth_m": (np.linspace(2, 30, 29), 14.0, 8.0),
        "speed_mps": (np.linspace(0.7, 1.6, 19), 1.1, 0.5),
        "lure_temp_c": (np.linspace(5, 18, 27), 11.0, 2.5),
        "leader_length_m": (np.linspace(1, 5, 17), 2.5, 3.0),
    }
    steps = {"depth_m": 1.524, "speed_mps": 0.044704, "lure_temp_c": 1.0, "leader_length_m": 0.3048}
    frames = []
    for term, (at, peak, width) in grids.items():
        rate = np.exp(-0.5 * ((at - peak) / width) ** 2)
        ratio = rate / rate[len(at) // 2]
        more = np.exp(-0.5 * ((at + steps[term] - peak) / width) ** 2) / rate
        frames.append(
            pd.DataFrame(
                {
                    "term": term,
                    "at": at,
                    "ratio": ratio,
                    "low": ratio * 0.8,
                    "high": ratio * 1.25,
                    "reference": at[len(at) // 2],
                    "step": steps[term],
                    "step_ratio": more,
                    "step_low": more * 0.9,
                    "step_high": more * 1.1,
                }
            )
        )
    return pd.concat(frames, ignore_index=True)


def water_tables(dates: pd.DatetimeIndex) -> dict[str, pd.DataFrame]:
    """The water and what was met in it: rods at 8 to 17 m, a strike a day, a cast a week."""
    days = pd.Series(dates.unique())
    profile = [(day, depth) for day in days for depth in np.arange(0.0, 31.0, 2.0)]
    water = pd.DataFrame(profile, columns=["day", "depth_m"]).assign(water="Ostermere")
    water["day"] = water["day"].dt.strftime("%Y-%m-%d")
    water["temp_c"] = 5 + 14 / (1 + np.exp((water["depth_m"] - 12) / 2.5))
    fished = pd.DataFrame(
        [(day, depth) for day in days for depth in np.arange(8.0, 18.0)],
        columns=["date", "depth_m"],
    )
    strikes = pd.DataFrame({"date": days, "depth_m": 13.0, "boat": "Dunlin", "rod": "P1"})
    casts = pd.DataFrame({"day": days.dt.strftime("%Y-%m-%d").to_list()[::7], "source": "cast"})
    return {
        "water": water.assign(temp_sd_c=0.5, source="cast"),
        "fished_depths": fished.assign(water="Ostermere", rod_hours=2.5),
        "strike_depths": strikes.assign(
            water="Ostermere",
            trip=[f"{number:03d}" for number in range(1, len(days) + 1)],
            time=days + pd.Timedelta(hours=6),
            outcome="landed",
            species=HOSTILE,
        ),
        "thermometers": casts.assign(water="Ostermere", shallowest_m=0.0, deepest_m=30.0, count=11),
    }


def worth() -> pd.DataFrame:
    """July told worse than June; a cast a fortnight would halve the doubt."""
    return pd.DataFrame(
        {
            "water": "Ostermere",
            "period": ["2026-06", "2026-07"],
            "now_m": [1.0, 2.0],
            "fortnight_m": [0.9, 1.1],
            "probe_m": [0.8, 1.5],
            "logger_m": [0.7, 0.9],
            "each_trip_m": [0.4, 0.5],
        }
    )


def certainty() -> pd.DataFrame:
    """Water makes 10 % of June's doubt and half of July's; August's cannot be split."""
    return pd.DataFrame(
        {
            "period": ["2026-06", "2026-07", "2026-08"],
            "depth_sd_m": [1.0, 2.0, 3.0],
            "water_share": [0.1, 0.51, 0.6],
            "water_known_m": [0.95, 1.4, 1.9],
            "apart": [True, True, False],
        }
    )


def areas() -> pd.DataFrame:
    """Three areas: one to compare with, one told apart from it, one too thin."""
    return pd.DataFrame(
        {
            "area": ["North basin", HOSTILE, "Far bank"],
            "trips": [40, 18, 2],
            "rod_hours": [1200.0, 610.0, 30.0],
            "strikes": [130, 110, 2],
            "ratio": [1.0, 1.6, np.nan],
            "low": [1.0, 1.1, np.nan],
            "high": [1.0, 2.3, np.nan],
            "reference": ["North basin", "North basin", ""],
            "reason": ["", "", "thin"],
        }
    )


def trip_tracks() -> pd.DataFrame:
    """Two rods of the first trip through three hours, the second moved once."""
    hours = pd.to_datetime(["2026-05-02 04:00", "2026-05-02 04:00", "2026-05-02 05:30"], utc=True)
    ends = pd.to_datetime(["2026-05-02 07:00", "2026-05-02 05:20", "2026-05-02 07:00"], utc=True)
    tracks = pd.DataFrame({"rod": ["P1", "S1", "S1"], "start": hours, "end": ends})
    return tracks.assign(
        water="Ostermere",
        boat="Dunlin",
        trip="001",
        date=pd.Timestamp("2026-05-02"),
        utc_offset_h=2.0,
        depth_m=[12.0, 9.0, 14.0],
    )


def best_water() -> pd.DataFrame:
    """Four weeks, one of which the log cannot tell and one with no lower bound."""
    return pd.DataFrame(
        {
            "week": ["2026-W19", "2026-W23", "2026-W28", "2026-W32"],
            "day": ["2026-05-06", "2026-06-03", "2026-07-08", "2026-08-05"],
            "depth_m": [9.0, 12.0, 6.0, 17.0],
            "depth_low_m": [7.0, 11.0, 1.0, 15.0],
            "depth_high_m": [11.0, 14.0, 17.0, np.nan],
            "temp_c": [11.0, 11.5, np.nan, 10.5],
            "told": [True, True, False, True],
        }
    )


def hours() -> pd.DataFrame:
    """Five to ten in the morning, the sixth hour the best."""
    found = pd.DataFrame({"hour": range(5, 11), "strikes": [20, 44, 30, 22, 9, 1]})
    found["rod_hours"] = [160.0, 220.0, 230.0, 210.0, 120.0, 6.0]
    found["raw_rate"] = found["strikes"] / found["rod_hours"]
    told = found["rod_hours"] >= 8
    return found.assign(
        low=(found["raw_rate"] * 0.75).where(told), high=(found["raw_rate"] * 1.3).where(told)
    )


def season_tables() -> dict[str, pd.DataFrame]:
    """Every table that the season review reads."""
    rng = np.random.default_rng(7)
    all_bands = bands()
    shares = all_bands[["period", "band_low_m", "band_high_m", "raw_rate", "rate"]].assign(
        strike_share=all_bands["strikes"] / all_bands.groupby("period")["strikes"].transform("sum"),
        hour_share=all_bands["rod_hours"]
        / all_bands.groupby("period")["rod_hours"].transform("sum"),
    )
    dates = pd.to_datetime("2026-05-02") + pd.to_timedelta(np.sort(rng.choice(118, 60, False)), "D")
    trips = pd.DataFrame(
        {
            "boat": "Dunlin",
            "trip": [f"{number:03d}" for number in range(1, 61)],
            "date": dates,
            "area": rng.choice(["North basin", "The narrows"], 60),
            "rod_hours": rng.uniform(12, 60, 60).round(2),
            "hours_from": ["rods usually down"] * 2 + ["sets"] * 58,
            "strikes": rng.poisson(4, 60),
        }
    )
    trips["landed"] = rng.binomial(trips["strikes"], 0.6)
    weeks = pd.DataFrame(
        {
            "week": [f"2026-W{week:02d}" for week in range(18, 35)],
            "best_low_m": (np.linspace(15, 60, 17) // 10 * 10) * FOOT_M,
            "rod_hours": rng.uniform(20, 160, 17).round(1),
            "strikes": rng.poisson(14, 17),
        }
    )
    weeks["best_high_m"] = weeks["best_low_m"] + 20 * FOOT_M
    weeks["thermocline_m"] = np.linspace(4, 17, 17)
    weeks.loc[3, ["thermocline_m"]] = np.nan
    weeks.loc[0, ["best_low_m", "best_high_m"]] = np.nan
    depth_m = np.arange(0, 31, 3.0)
    profile = pd.concat(
        [
            pd.DataFrame(
                {
                    "week": row.week,
                    "depth_m": depth_m,
                    "temp_c": 5 + 14 / (1 + np.exp((depth_m - row.thermocline_m) / 2.5)),
                }
            )
            for row in weeks.dropna(subset=["thermocline_m"]).itertuples()
        ],
        ignore_index=True,
    )
    periods = ["season", *MONTHS]
    return {
        **water_tables(dates),
        "best_water": best_water(),
        "hours": hours(),
        "areas": areas(),
        "worth": worth(),
        "certainty": certainty(),
        "trip_tracks": trip_tracks(),
        "bands": all_bands,
        "effects": effects(),
        "shares": shares,
        "influence": pd.DataFrame(
            {
                "term": ["days and hours", "water", "gear"] * 2,
                "band_low_m": [6.096] * 3 + [9.144] * 3,
                "band_high_m": [9.144] * 3 + [12.192] * 3,
                "against_low_m": 12.192,
                "against_high_m": 15.24,
                "ratio": [0.86, 1.21, 0.97] * 2,
                "ratio_low": [0.80, 1.08, 0.90] * 2,
                "ratio_high": [0.93, 1.36, 1.05] * 2,
                "headline": [True] * 3 + [False] * 3,
                "wording": [
                    "When each depth was fished: lowered the raw rate of 20–30 ft by 14 %.",
                    "The water found there: raised the raw rate of 20–30 ft by 21 %.",
                    "Gears fished there: moved next to nothing.",
                    *[""] * 3,
                ],
            }
        ),
        "cost": pd.DataFrame(
            {
                "period": periods,
                "rod_hours": [1900.0, 420.0, 510.0, 560.0, 410.0],
                "strikes_fished": [240, 44, 66, 80, 50],
                "strikes_best": [301.0, 50.0, 79.0, 104.0, 68.0],
                "low": [262.0, 40.0, 66.0, 88.0, 52.0],
                "high": [345.0, 62.0, 95.0, 124.0, 88.0],
                "more": [61.0, 6.0, 13.0, 24.0, 18.0],
                "more_low": [22.0, -4.0, 0.0, 8.0, 2.0],
                "more_high": [105.0, 18.0, 29.0, 44.0, 38.0],
            }
        ),
        "outcomes": pd.DataFrame(
            {
                "term": ["leader_length", "leader_length", "gear", "gear", "species", "species"],
                "level": ["under 6 ft", "6–9 ft", "diver", "rigger", "lake trout", HOSTILE],
                "hooked": [60, 120, 110, 70, 130, 50],
                "boated": [33, 84, 75, 42, 91, 26],
                "boated_rate": [0.55, 0.70, 0.68, 0.60, 0.70, 0.52],
                "low": [0.44, 0.62, 0.60, 0.50, 0.63, 0.40],
                "high": [0.65, 0.77, 0.75, 0.69, 0.76, 0.64],
            }
        ),
        "hookups": pd.DataFrame(
            {
                "term": ["leader length", "gear and setting"],
                "level": ["under 6 ft", HOSTILE],
                "strikes": [70, 60],
                "hooked": [60, 55],
                "hookup_rate": [0.86, 0.90],
                "low": [0.78, 0.83],
                "high": [0.92, 0.95],
                "modelled": True,
            }
        ),
        "tangled": pd.DataFrame(
            {
                "boat": "Dunlin",
                "rod_a": ["P1"],
                "rod_b": ["P2"],
                "tangles": [3],
                "by_chance": [0.2],
                "hours_together": [250.0],
                "per_100_hours": [1.2],
                "low": [0.3],
                "high": [3.1],
                "beyond_chance": [True],
            }
        ),
        "troubles": pd.DataFrame(
            {
                "gear": ["diver", "diver", "diver"],
                "setting": [1.0, 2.0, 3.0],
                "line_out_low_m": [24.0, 24.0, 24.0],
                "line_out_high_m": [40.0, 40.0, 40.0],
                "rod_hours": [310.0, 280.0, 190.0],
                "false_releases": [4, 7, 11],
                "tangles": [2, 3, 1],
                "per_100_rod_hours": [1.9, 3.6, 6.3],
                "low": [0.9, 2.0, 3.8],
                "high": [3.5, 5.9, 9.8],
            }
        ),
        "trips": trips,
        "species": pd.DataFrame(
            {
                "species": ["lake trout", "brown trout", HOSTILE],
                "spelt_as": ["lake trout; Lake Trout; lk trout", "brown trout", HOSTILE],
                "strikes": [140, 60, 12],
                "landed": [70, 30, 3],
                "released": [21, 9, 2],
                "lost": [39, 16, 5],
                "missed": [10, 5, 2],
                "biggest_length_m": [0.91, 0.62, np.nan],
                "biggest_weight_kg": [8.2, 3.1, np.nan],
            }
        ),
        "weeks": weeks,
        "profile": profile,
        "gear_effects": pd.DataFrame(
            {
                "gear": ["diver", "diver", "rigger", "leadcore"],
                "setting": [1.0, 3.0, np.nan, np.nan],
                "told_apart": [False, True, False, False],
                "depth_m": 13.7,
                "line_out_m": [30.5, 44.2, 15.2, np.nan],
                "reference": "diver 1",
                "ratio": [1.0, 1.12, 0.91, 0.80],
                "low": [1.0, 0.93, 0.74, 0.55],
                "high": [1.0, 1.34, 1.12, 1.16],
                "rod_hours": [420.0, 260.0, 500.0, 90.0],
            }
        ),
        "lure_effects": pd.DataFrame(
            {
                "lure": ["silver spoon", "<b>green</b>"],
                "ratio": [1.0, 1.31],
                "low": [1.0, 1.05],
                "high": [1.0, 1.62],
                "reference": "silver spoon",
                "rod_hours": [600.0, 310.0],
                "strikes": [61, 44],
                "told_apart": [False, True],
            }
        ),
        "plan": pd.DataFrame(
            {
                "boat": "Dunlin",
                "period": "2026-06",
                "rod": ["P2", "P1", "C1", "S1", "S2", "S3"],
                "gear": ["diver", "diver", "rigger", "diver", "diver", "leadcore"],
                "side": ["port", "port", "centre", "starboard", "starboard", "starboard"],
                "setting": [3.0, 1.0, np.nan, 1.0, 3.0, np.nan],
                "line_out": [140.0, 95.0, 52.0, 100.0, 150.0, 180.0],
                "unit": "ft",
                "depth_unit": "ft",
                "depth_m": [14.5, 14.0, 14.6, 14.8, 15.2, 9.0],
                "depth_sd_m": [1.7, 1.5, 0.4, 1.5, 1.8, 1.2],
                "lateral_m": [-14.0, -6.2, 0.0, 6.4, 14.8, 3.0],
                "setback_m": [33.0, 22.0, 2.0, 23.0, 35.0, 50.0],
                "tip_y_m": [-3.0, -2.5, 0.0, 2.5, 3.0, 1.0],
                "purpose": ["best band"] * 5 + ["explore"],
                "why": ["covers 45–50 ft"] * 5 + ["30–40 ft was fished for 9 hours only"],
            }
        ),
        "clearance": pd.DataFrame(
            {
                "boat": "Dunlin",
                "why": ["", "", "", "they pass within 1.1 m"],
                "rod_a": ["P2", "P1", "C1", "S1"],
                "rod_b": ["P1", "C1", "S1", "S3"],
                "least_m": [7.9, 6.2, 6.4, 1.1],
                "sideways_m": [7.8, 6.2, 6.4, 0.9],
                "flagged": [False, False, False, True],
            }
        ),
        "set_aside": pd.DataFrame(
            {
                "log": "dunlin-2026",
                "table": ["sets", "strikes"],
                "row": [14, 201],
                "column": ["line_out", "gear"],
                "value": ["", HOSTILE],
                "reason": ["no line-out", "no gear of that name in boat.toml"],
                "remedy": ["write the line-out of this set", "name a gear of boat.toml"],
            }
        ),
        "changed": pd.DataFrame(
            {
                "log": "dunlin-2026",
                "table": ["sets", "sets", "strikes"],
                "row": [31, 32, 88],
                "column": ["leader_length", "leader_length", "weight"],
                "value": [HOSTILE, "long", "abt 5"],
                "reason": "not a number; field left empty, row kept",
                "remedy": ["write a plain number in ft, without the unit"] * 2
                + ["write a plain number in lb, without the unit"],
            }
        ),
        "choice": pd.DataFrame(
            {
                "model": ["depth and temperature", "depth alone", "constant rate"],
                "formula": ["s(depth_m) + s(lure_temp_c)", "s(depth_m)", ""],
                "score": [11.37, -1.48, 0.0],
                "score_se": [1.92, 0.86, 0.0],
                "behind": [0.0, 12.85, 11.37],
                "weight": [1.0, 0.0, 0.0],
                "chosen": [True, False, False],
            }
        ),
        "sensitivity": pd.DataFrame(
            {
                "strata": ["same time"] * 2 + ["trip hour"] * 2 + ["season"] * 2,
                "band_low_m": [9.144, 12.192] * 3,
                "band_high_m": [12.192, 15.24] * 3,
                "ratio": [0.8, 1.25, 0.9, 1.11, 1.3, 0.77],
                "low": [0.6, 1.02, 0.7, 0.95, 1.1, 0.6],
                "high": [0.98, 1.5, 1.1, 1.3, 1.5, 0.9],
                "p_best": [0.03, 0.97, 0.2, 0.8, 0.995, 0.005],
                "status": ["fitted"] * 2 + ["did not converge"] * 2 + ["fitted"] * 2,
            }
        ),
        "checks": pd.DataFrame(
            {
                "name": ["The fit converged", "Zero strikes where none are expected"],
                "passed": [True, False],
                "finding": ["gradient 2e-9", "8 % more empty hours than the model draws"],
                "next_step": ["", "Read the intervals as a little too narrow."],
            }
        ),
        "gaps": pd.DataFrame(
            {
                "log": "dunlin-2026",
                "what": ["No casts from 3 to 17 August"],
                "cost": ["temperature at the lure unknown for 96 rod-hours"],
                "remedy": ["take a cast each trip"],
            }
        ),
        "rows": pd.DataFrame(
            {
                "log": "dunlin-2026",
                "table": ["trips", "sets", "strikes"],
                "read": [60, 912, 243],
                "kept": [60, 911, 242],
                "set_aside": [0, 1, 1],
            }
        ),
        "spread": pd.DataFrame(
            {
                "period": periods,
                "boat": "Dunlin",
                "gear": "diver",
                "lure": "",
                "setting": 1.0,
                "line_out": [100.0, 55.0, 85.0, 125.0, 150.0],
                "unit": "ft",
                "depth_m": [13.7, 7.6, 12.2, 16.8, 19.8],
                "depth_sd_m": [1.5, 0.9, 1.3, 1.9, 2.3],
                "lateral_m": [6.0, 3.3, 5.1, 7.1, 8.2],
                "setback_m": [23.0, 12.0, 19.0, 30.0, 38.0],
            }
        ),
        "species_bands": pd.concat(
            [all_bands.assign(species=name) for name in ("lake trout", HOSTILE)],
            ignore_index=True,
        ),
        "before": pd.DataFrame(
            {
                "what": ["all strikes per rod-hour", "rate of the band"],
                "band_low_m": [np.nan, 12.192],
                "band_high_m": [np.nan, 15.24],
                "rate_before": [0.11, 1.2],
                "rate_now": [0.13, 1.4],
                "ratio": [1.18, 1.17],
                "low": [0.97, 1.02],
                "high": [1.42, 1.33],
                "wording": [
                    "Strikes per rod-hour as counted: no change that can be told.",
                    "40–50 ft: more.",
                ],
            }
        ),
        "exposure": pd.DataFrame(
            {
                "boat": "Dunlin",
                "trip": ["001", "001"],
                "rod": ["P1", "P1"],
                "start": pd.to_datetime(["2026-05-02 06:00", "2026-05-02 07:00"], utc=True),
                "hours": [1.0, 0.5],
                "strikes": [1, 0],
            }
        ),
    }


def season_summary() -> dict[str, Any]:
    """The summary that goes with `season_tables`."""
    return {
        "boats": ["Dunlin"],
        "season": "2026",
        "units": {
            "length": "ft",
            "depth": "ft",
            "speed": "mph",
            "temperature": "F",
            "fish_length": "in",
            "fish_weight": "lb",
        },
        "trips": 60,
        "sets": 911,
        "rod_hours": 1900.0,
        "strikes": 242,
        "landed": 103,
        "set_aside": 2,
        "best": [
            {
                "period": str(period),
                "band_low_m": named["band_low_m"].min() if len(named) else None,
                "band_high_m": named["band_high_m"].max() if len(named) else None,
                "rather_low_m": likelier["band_low_m"].min() if len(named) > 1 else None,
                "rather_high_m": likelier["band_high_m"].max() if len(named) > 1 else None,
                "verdict": VERDICTS[str(period)],
                "an_average": False,
                "p_near": 0.93,
                "rate": rows["named_rate"].iloc[0],
                "rate_low": rows["named_rate_low"].iloc[0],
                "rate_high": rows["named_rate_high"].iloc[0],
                "sentence": f"In {period} the best water lay near {PEAKS_FT[str(period)]:.0f} ft.",
            }
            for period, rows in bands().groupby("period", sort=False)
            for named in [rows[rows["named"]]]
            for likelier in [named.nlargest(1, "rate")]
        ],
        "told": {
            "shares": ["The raw count names 20–30 ft."],
            "cost": ["Every rod in the named bands would have brought about 301 strikes."],
        },
        "model": "depth and lure temperature",
        "why": "predicted left-out trips best",
        "formula": "log(strikes per rod-hour) = s(depth_m) + s(lure_temp_c)",
        "first_lines": [
            "Fish the 50–54 °F water; in July that was 50–70 ft.",
            "The season's best single band is 40–60 ft, but it moved with the thermocline.",
        ],
        "version": "0.1.0",
        "parameters": {"band_m": 10 * FOOT_M, "seed": 1},
        "hashes": {"dunlin-2026/trips.csv": "ab" * 32},
    }
