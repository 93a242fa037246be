"""Owns all strikes of a season in one frame, with species, gear and place in the exposure."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analysis.rates.build_exposure import BoatSeason
from analysis.rates.slice_depths import gear_setting
from analysis.review.species import spellings

LANDED = ("landed", "released")
HOOKED = (*LANDED, "lost")
KNOWN = (*HOOKED, "missed")


def all_strikes(seasons: Sequence[BoatSeason]) -> pd.DataFrame:
    """Gather every kept strike of some boats' seasons, placed in a slice or not.

    Parameters
    ----------
    seasons : sequence of BoatSeason
        In the order in which `analysis.rates.build_exposure.join` took them.

    Returns
    -------
    DataFrame
        The strikes' own columns, ``species`` as it was written, and ``log_number``, ``boat``,
        ``trip_number`` (unique over boats),
        ``kind`` (species by `analysis.review.species.RULE`), ``row`` (of the exposure, -1 where
        not placed); ``gear``, ``setting``, ``line_out_m``, ``leader_length_m`` are those of the
        set where the strike was placed in one. Placed strikes are in the exposure's order.
    """
    frames = []
    first = 0
    for log, season in enumerate(seasons):
        strikes, slices = season.effort.strikes, season.effort.slices
        frame = strikes.assign(log_number=log, boat=season.log.boat.name)
        placed = strikes["placed"].to_numpy(dtype=bool)
        place = strikes["slice"].to_numpy()
        frame["row"] = np.where(placed, place + first, -1)
        written = _species_written(season)
        frame["written"] = [
            written.get(line, name)
            for line, name in zip(strikes["line"], strikes["species"], strict=True)
        ]
        for column in ("gear", "setting", "line_out_m", "leader_length_m"):
            own = strikes[column].to_numpy()
            fished = slices[column].to_numpy()[place[placed]]
            values = own.astype(object)
            values[placed] = fished
            frame[column] = pd.Series(values, index=frame.index).astype(strikes[column].dtype)
        frames.append(frame)
        first += len(slices)
    table = pd.concat(frames, ignore_index=True)
    names = table["species"].fillna("").astype(str)
    table["kind"] = names.map(spellings(names)).astype(object)
    table["species"] = table.pop("written")
    table["trip_number"] = table.groupby(["log_number", "trip"], sort=False).ngroup()
    table["gear_setting"] = gear_setting(table["gear"].fillna(""), table["setting"]).astype("str")
    return table


def _species_written(season: BoatSeason) -> dict[int, str]:
    """Return by line of the file what stands there for species that were read otherwise."""
    changed = season.log.changed
    here = changed.loc[(changed["table"] == "strikes") & (changed["column"] == "species")]
    return dict(zip(here["row"], here["value"], strict=True))
