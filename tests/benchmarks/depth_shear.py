"""Whether the catch rates need to know that all rods of a trip fish in one sheared water.

The depths that catch rates rest on have errors that all sets of a gear share, and errors of each
set, a trip's shear among them as if it were drawn anew for each set. Printed is the sd of the mean
log depth at which a gear's rod-hours were fished, with shear drawn for each set and for each trip:
over the season and over its first trip. The table stands in `depth_calibration.md`.

    PYTHONPATH=. .venv/bin/python tests/benchmarks/depth_shear.py data/demo/dunlin-2026 ...
"""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from analysis.depth import Columns
from analysis.depth.limits import USUAL_SPEED_MPS
from analysis.depth.uncertainty import GearBelief
from analysis.effort.on_board import calibrations_of, tip_height_m
from analysis.log import read_log


def own_of(belief: GearBelief, columns: Columns, shear_sd_per_s: float) -> np.ndarray:
    """Return the sd of each set's own log depth where the water is sheared so."""
    errors = replace(belief.errors, shear_sd_per_s=shear_sd_per_s)
    return replace(belief, errors=errors).loadings(columns).own_sd


def main(folders: list[Path]) -> None:
    """Print the table."""
    print("| season, gear | over | sets | shared | shear a set | total | shear a trip | total |")
    print("|---|---|---|---|---|---|---|---|")
    for folder in folders:
        log = read_log(folder)
        for gear, done in calibrations_of(log).items():
            sets = log.stretches.loc[log.stretches["gear"] == gear]
            columns = Columns.of(
                setting=sets["setting"].astype(float),
                line_out_m=sets["line_out_m"].astype(float),
                speed_mps=USUAL_SPEED_MPS,
                tip_height_m=tip_height_m(log),
            ).for_gear(done.belief.gear)
            found = done.belief.loadings(columns)
            shared, own = found.shared, found.own_sd
            calm = own_of(done.belief, columns, 0.0)
            shear = np.sqrt(np.maximum(own**2 - calm**2, 0.0))
            hours = (sets["time_out"] - sets["time_in"]).dt.total_seconds().to_numpy()
            hours = np.where(np.isfinite(own), np.nan_to_num(hours), 0.0)
            trip = sets["trip"].to_numpy()
            first = trip == trip[np.argmax(hours > 0.0)]
            for over, fished in (("season", hours), ("one trip", hours * first)):
                share = fished / fished.sum()
                gear_sd = np.linalg.norm(share @ np.nan_to_num(shared))
                alone = np.sqrt(np.nansum((share * own) ** 2))
                trips = [np.nansum((share * shear)[trip == one]) for one in np.unique(trip)]
                together = np.sqrt(np.nansum((share * calm) ** 2) + np.sum(np.square(trips)))
                figures = [gear_sd, alone, np.hypot(gear_sd, alone)]
                figures += [together, np.hypot(gear_sd, together)]
                told = " | ".join(f"{figure:.2%}" for figure in figures)
                print(
                    f"| {folder.name}, {gear} | {over} | {np.sum(fished > 0)} | {told} |",
                    flush=True,
                )


if __name__ == "__main__":
    main([Path(name) for name in sys.argv[1:]])
