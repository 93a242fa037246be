"""How well a season is read whose water was measured at its surface alone; from the root:

    PYTHONPATH=. python tests/benchmarks/unseen_water_study.py --seeds 83000:83020
    PYTHONPATH=. python tests/benchmarks/unseen_water_study.py --table

Lakes differ from the generator's own, and from the water model's form: five forms of profile by
three depths of the thermocline, each season another. Fish follow a temperature (or, with
``--scenario chasing_confounded``, a depth), a twentieth of the best rate is left anywhere, and the
captain chases. Every season goes the real way, as in `season_study`.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import erfc

from analysis.decision.answer import Answer, answer
from analysis.effort import count_effort
from analysis.log import read_log
from analysis.rates.build_exposure import BoatSeason, join
from analysis.rates.exposure import SHIFTS
from analysis.rates.standardised import BoatHours
from data.lake import Lake, wander
from data.scenario import SCENARIOS
from data.simulate import simulate_season

sys.path.insert(0, str(Path(__file__).parent))
from season_study import EDGES_M, Case, result_of, scored
from study_table import table

Array = NDArray[np.float64]

FORMS = ("logistic", "sharp", "two-layer", "broad", "two-step")
MIDSUMMER_M = {"shallow": (7.5, 10.5), "middle": (11.0, 14.0), "deep": (15.0, 20.0)}
"""Depth of the thermocline in mid-July."""
BACKGROUND = 0.05


def kind_of(seed: int) -> tuple[str, str]:
    """Form and depth of a seed's lake: fifteen in turn."""
    return FORMS[seed % len(FORMS)], list(MIDSUMMER_M)[seed // len(FORMS) % len(MIDSUMMER_M)]


@dataclass(frozen=True)
class OtherLake(Lake):
    """A lake whose temperature falls by a form of its own to a deep temperature of its own."""

    form: str = "logistic"
    deep_c: float = 4.6

    def temp_c(self, trip: NDArray[np.intp], minute: Array, depth_m: Array) -> Array:
        """Return water temperature, as `Lake.temp_c`."""
        turn = 2 * np.pi * minute / self.swing_minutes[trip] + self.swing_phase[trip]
        middle = self.thermocline_m[trip] + self.swing_m[trip] * np.sin(turn)
        width = self.thickness_m[trip]
        top = fall(self.form, 0.0 * middle, middle, width)
        share = fall(self.form, depth_m, middle, width) / top
        return np.asarray(self.deep_c + (self.surface_c[trip] - self.deep_c) * share)


def fall(form: str, depth_m: Array, middle_m: Array, width_m: Array) -> Array:
    """Return the share of surface less deep temperature left at a depth."""
    away = depth_m - middle_m
    if form == "logistic":
        return 1 / (1 + np.exp(away / width_m))
    if form == "sharp":
        return 0.5 * erfc(away / (1.4 * width_m))
    if form == "two-layer":  # mixed down to an edge, an exponential tail below
        return np.exp(-np.maximum(away + width_m, 0.0) / (2.5 * width_m))
    if form == "broad":  # from a third of the middle to nearly twice it
        x = np.clip((depth_m - middle_m / 3) / (1.5 * middle_m), 0.0, 1.0)
        return 1 - x * x * (3 - 2 * x)
    upper = 1 / (1 + np.exp((depth_m - 0.5 * middle_m) / (0.6 * width_m)))
    lower = 1 / (1 + np.exp((depth_m - 1.2 * middle_m) / (0.8 * width_m)))
    return 0.35 * upper + 0.65 * lower


def other_lake(form: str, depth: str, day: NDArray[np.intp], rng: np.random.Generator) -> OtherLake:
    """Draw a year's water; its thermocline sinks by 2 to 14 m in 100 days and may bend."""
    days = np.arange(367)
    warmth = np.exp(-0.5 * ((days - 215 - rng.normal(0, 6)) / 52.0) ** 2)
    surface = 7.0 + rng.normal(14.0, 1.5) * warmth + wander(len(days), 0.8, 0.9, rng)
    deep_c = rng.uniform(4.2, 6.5)
    at = (days - 196) / 100.0
    middle = rng.uniform(*MIDSUMMER_M[depth]) + rng.uniform(2.0, 14.0) * at
    middle = middle + rng.normal(0, 2.0) * (at**2 - 0.3)
    middle = np.maximum(middle + wander(len(days), 0.7, rng.uniform(1.0, 3.0), rng), 3.0)
    width = rng.uniform(1.2, 3.0) + 0.04 * middle + rng.normal(0, 0.2, len(days))
    swing = np.abs(rng.normal(0, rng.uniform(0.5, 1.5), len(days)))
    minutes, phase = rng.uniform(500, 1000, len(days)), rng.uniform(0, 2 * np.pi, len(days))
    every = (np.maximum(surface, deep_c + 1.5), middle, np.clip(width, 0.8, 5.0))
    every = (*every, swing, minutes, phase)
    return OtherLake(*(values[day] for values in every), form=form, deep_c=deep_c)


def one_season(scenario: str, seed: int) -> pd.DataFrame:
    """Score one season, and how warm it was told to be at the lures."""
    form, depth = kind_of(seed)
    what = SCENARIOS[scenario].but(casts="none", background=BACKGROUND)
    season = simulate_season(what, seed, water=lambda day, rng: other_lake(form, depth, day, rng))
    with tempfile.TemporaryDirectory() as folder:
        log = read_log(season.write(Path(folder) / "season"))
        boat = BoatSeason.of(log, count_effort(log))
    exposure = join([boat])
    case = Case(season.truth, boat, exposure, None, None)  # type: ignore[arg-type]
    hours = BoatHours.of(exposure, EDGES_M, case.temperature_at)
    leader_m = season.frames["sets"]["leader_length_m"].to_numpy(dtype=float)
    case = Case(season.truth, boat, exposure, hours, leader_m)
    head = {"scenario": scenario, "wanted": what.strikes, "seed": seed, "method": "ours"}
    rng = np.random.default_rng(seed)
    found = answer(case.exposure, case.temperature_at, EDGES_M, rng, checked=False)
    head |= {"form": form, "lake": depth, "followed": found.exposure.latent.followed}
    head |= lure_errors(case, found)
    return pd.DataFrame([head | row for row in scored(case, result_of(found))])


def lure_errors(case: Case, found: Answer) -> dict[str, float]:
    """Mean square error of the water told at the lures of each set, and its intervals' coverage.

    The water is that of the card: the mixture of those in which the models were fitted.
    """
    told, fit = found.exposure, found.fit
    sure = int(np.argmin(np.abs(SHIFTS)))
    share = np.bincount(fit.refit, minlength=len(fit.waters)) / len(fit.refit)
    waters = np.stack([told.in_water(amount).temperature_c[:, sure] for amount in fit.waters])
    mean = share @ waters
    variance = share @ (waters - mean) ** 2
    ways, _ = told.latent.ways_of(0) or (None, None)
    middle = (told.start + told.end) // 2
    rest_c = 0.0 if ways is None else ways.rest.at(middle, told.depth_m)[1]
    slices = pd.DataFrame({"set": told.table["set"], "hours": told.table["hours"]})
    for name, value in (("temp", mean), ("var", variance + rest_c**2)):
        slices[name] = value * slices["hours"]
    sets = slices.dropna().groupby("set").sum()
    line = case.boat.effort.sets.set_index("set")["line"].reindex(sets.index).to_numpy()
    true = case.truth.sets["temp_c"].to_numpy()[line - 2]
    off = (sets["temp"] / sets["hours"]).to_numpy() - true
    inside = np.abs(off) <= 1.645 * np.sqrt(sets["var"] / sets["hours"]).to_numpy()
    return {
        "lure_square": float(np.average(off**2, weights=sets["hours"])),
        "lure_inside": float(np.average(inside, weights=sets["hours"])),
    }


def main() -> None:
    """Run the seasons that are not in the file yet, or print its tables."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--scenario", default="no_casts")
    parser.add_argument("--seeds", default="83000:83002", help="first:past the last")
    parser.add_argument("--file", type=Path, default=Path("unseen_water_study.csv"))
    parser.add_argument("--table", action="store_true", help="print the tables of the file")
    wanted = parser.parse_args()
    done = pd.read_csv(wanted.file) if wanted.file.exists() else pd.DataFrame()
    if wanted.table:
        sys.stdout.write(table(done))
        seasons = done.loc[done["period"] == "season"]
        lure = seasons.groupby("scenario")[["lure_square", "lure_inside"]].mean()
        for name, row in lure.iterrows():
            rmse = np.sqrt(row["lure_square"])
            sys.stdout.write(f"{name}: at the lure {rmse:.2f} C, inside {row['lure_inside']:.0%}\n")
        return
    for seed in range(*(int(part) for part in wanted.seeds.split(":"))):
        if len(done) and ((done["scenario"] == wanted.scenario) & (done["seed"] == seed)).any():
            continue
        done = pd.concat([done, one_season(wanted.scenario, seed)], ignore_index=True)
        done.to_csv(wanted.file, index=False)
        sys.stderr.write(f"{wanted.scenario} {seed}\n")


if __name__ == "__main__":
    main()
