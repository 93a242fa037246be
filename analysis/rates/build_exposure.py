"""Where depth and effort meet: modelled depth and temperature joined to every slice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.linalg import block_diag

from analysis.depth import GearBelief
from analysis.depth.calibrate import Calibration
from analysis.depth.towing import Towing
from analysis.effort import Effort, Gap, coverage
from analysis.effort.found import Found, look
from analysis.effort.gaps import Further
from analysis.effort.on_board import (
    calibrations_of,
    dial_of,
    rigs_of,
    tip_height_m,
)
from analysis.effort.slices import instants
from analysis.errors import SET_ASIDE_COLUMNS
from analysis.log import SeasonLog
from analysis.log.files.words import in_order, spelt, under_each_other
from analysis.rates.exposure import SHIFTS, Array, Exposure, SharedErrors, trip_spans
from analysis.rates.latent_water import LatentWater
from analysis.rates.slice_depths import SliceDepths, as_labels, slice_depths
from analysis.units import in_boat_units
from analysis.water.waters import KnownWater, water_of
from analysis.water.ways import Ways
from analysis.water.worth import worth

NOT_MEASURED = "no temperature was measured below the surface"
GUESSED = f"{NOT_MEASURED}: made likely from the surface and the season"
NO_DEPTH = "the depth is not known"
SEEN_OFTEN = 0.5
"""Share of slices with a surface temperature from which the water below is guessed from it."""
LEAST_M2 = 1e-6


@dataclass(frozen=True, kw_only=True)
class BoatSeason:
    """One season folder, counted: its log, effort, temperatures and what is known of its gears."""

    log: SeasonLog
    effort: Effort
    water: KnownWater
    calibrations: Mapping[str, Calibration]
    depths: SliceDepths | None = None
    """Where they were worked out before the water was known; else `join` does."""

    @classmethod
    def of(
        cls,
        log: SeasonLog,
        effort: Effort,
        water: KnownWater | None = None,
        others: Sequence[SeasonLog] = (),
    ) -> BoatSeason:
        """Calibrate each gear by the log's soaks; without soaks it stays at its prior.

        ``water`` is what all logs of it tell; by default what this one does. ``others`` are
        further seasons whose soaks of the same gear count.
        """
        return cls(
            log=log,
            effort=effort,
            water=water_of([log]) if water is None else water,
            calibrations=calibrations_of(log, others),
        )

    @cached_property
    def found(self) -> Found:
        """What the vetting of its log found."""
        return look(self.log, self.effort, lambda: [self.water.doubts_of(self.log)])

    @property
    def tip_height_m(self) -> float:
        """Mean height of the rod tips of its rods."""
        return tip_height_m(self.log)

    def rigs(self, gear: str) -> Mapping[str, Mapping[str, float]]:
        """Return what columns say of a gear with each lure that dives which it fished."""
        return rigs_of(self.log, self.effort.slices, gear)

    def rig(self, gear: str, lure: str) -> Mapping[str, float]:
        """Return what columns say of a gear that fishes a lure; nothing for one that dives not."""
        return self.rigs(gear).get(lure, {}) if lure else {}

    def dial(self, gear: str) -> tuple[float, ...]:
        """Return the settings of a gear that the log used; see `dial_of`."""
        return dial_of(self.log, gear)

    def temperature_at(
        self, trips: NDArray[np.object_], times: NDArray[np.int64], depth_m: Array
    ) -> Array:
        """Water temperature at trips, times (microseconds, UTC) and depths, NaN where unknown.

        What is but made likely from the surface is not told as known.
        """
        if self.water.field is None or not self.water.knows(self.log.year):
            return np.full(np.shape(depth_m), np.nan)
        return self.water.field.at_height(times, depth_m)

    def lure_temperature(self, times: NDArray[np.int64], depth_m: Array) -> tuple[Array, Array]:
        """Return temperature and its standard deviation, if but made likely; NaN where unknown."""
        if self.water.field is None or not self.has_water:
            unknown = np.full(len(depth_m), np.nan)
            return unknown, unknown
        return self.water.field.at(times, depth_m)

    def layer_doubt_m(self, times: NDArray[np.int64]) -> Array:
        """Return the sd of the thermocline's depth; 0 where no model uses it."""
        return self.water.doubt_m(times) if self.has_water else np.zeros(len(times))

    @property
    def water_unseen(self) -> bool:
        """Whether the water's temperature was measured at the surface alone."""
        surface = self.effort.slices["surface_temp_c"].notna()
        often = surface.mean() > SEEN_OFTEN if len(surface) else False
        return bool(often and self.water.guesses(self.log.year))

    @property
    def has_water(self) -> bool:
        """Whether lures' temperatures are told: measured below the surface, or made likely."""
        return self.water.knows(self.log.year) or self.water_unseen

    @property
    def ways(self) -> Ways | None:
        """Main ways in which the water may differ from the likeliest; None where it is unknown."""
        return self.water.ways.get(self.log.year) if self.has_water else None

    def belief(self, gear: str) -> GearBelief:
        """Return what is known of a gear after the soaks."""
        return self.calibrations[gear].belief

    @cached_property
    def towing(self) -> Mapping[str, Towing]:
        """Each gear as the boat tows it; what one asks of it need not be solved for another."""
        return {
            gear: Towing(
                belief=self.belief(gear), tip_height_m=self.tip_height_m, rigs=self.rigs(gear)
            )
            for gear in self.log.boat.gears
        }


def join(seasons: Sequence[BoatSeason]) -> Exposure:
    """Join modelled depth and water temperature to every slice of some boats' seasons.

    Parameters
    ----------
    seasons : sequence of BoatSeason
        Boats of one season; a fit compares only rods of one boat and trip.

    Returns
    -------
    Exposure
        Its table has, besides the slices' own columns, ``log`` (number of the season folder),
        ``end``, ``depth_m``, ``depth_sd_m``, ``lateral_m``, ``setback_m``, ``line_pull_n``,
        ``depth_note`` (why there is no depth), ``lure_temp_c``, ``lure_temp_note``,
        ``gear_setting``, ``day`` (of the year) and ``period`` (local month).
    """
    return combine([_join_one(season) for season in seasons])


def gaps_of(
    season: BoatSeason,
    *,
    unsolved: NDArray[np.object_],
    untried: Mapping[str, float],
    further: Further | None,
) -> list[Gap]:
    """List what one season folder lacks.

    Parameters
    ----------
    season : BoatSeason
    unsolved, untried, further
        Of it: `why_no_depth`, `usual_doubts`, `further_of`.
    """
    slices = season.effort.slices
    doubt_m = season.layer_doubt_m((instants(slices["start"]) + instants(slices["end"])) // 2)
    if not season.water.knows(season.log.year):
        doubt_m = np.full(len(doubt_m), np.nan)
    return coverage(
        season.log,
        season.effort,
        doubt_m,
        unsolved,
        further=further,
        unseen=season.water_unseen,
        untried=untried,
    )


def usual_doubts(calibrations: Mapping[str, Calibration]) -> dict[str, float]:
    """Return how uncertain the depth of each gear without trials is: its sd, as a share."""
    return {
        gear: _usual_doubt(done)
        for gear, done in calibrations.items()
        if not done.trials.columns.size
    }


def _usual_doubt(done: Calibration) -> float:
    """Return the sd of depth as a share at the middle one of a gear's uses."""
    if not done.uses.size:
        return np.nan
    # Each use is dear to solve where a line has weight, and their shares are much alike.
    use = done.prior.predict_columns(done.uses.take(np.array([done.uses.size // 2])))
    return float(use.depth_sd_m[0] / use.depth_m[0])


def further_of(season: BoatSeason) -> Further | None:
    """Tell what further thermometers would buy on the trips that were made."""
    slices = season.effort.slices
    if season.water.field is None or not season.has_water or not len(slices):
        return None
    trip = pd.factorize(slices["trip"])[0].astype(np.intp)
    first, last = trip_spans(trip, instants(slices["start"]), instants(slices["end"]))
    return worth(season.water.field, first + (last - first) // 2)


def sets_without_depth(season: BoatSeason, exposure: Exposure) -> pd.DataFrame:
    """List the sets of one season folder whose depth could not be worked out, and why.

    Returns
    -------
    DataFrame
        `analysis.errors.SET_ASIDE_COLUMNS`.
    """
    units = season.log.boat.units
    unsolved = exposure.table.loc[exposure.table["depth_note"] != ""].drop_duplicates("set")
    row_of = season.effort.sets.set_index("set").loc[unsolved["set"], ["table", "line"]]
    return pd.DataFrame(
        {
            "table": row_of["table"].to_numpy(),
            "row": row_of["line"].to_numpy(),
            "column": "line_out",
            "value": [in_boat_units(f"{m:.2f} m", units) for m in unsolved["line_out_m"]],
            "reason": [
                f"{in_boat_units(note, units)}; its hours count, its depth is unknown"
                for note in unsolved["depth_note"]
            ],
            "remedy": "correct the line-out or the setting, or the gear in boat.toml",
        },
        columns=list(SET_ASIDE_COLUMNS),
    )


def combine(parts: Sequence[Exposure]) -> Exposure:
    """Put exposures of several boats' seasons under each other, ``log`` numbering them."""
    if len(parts) == 1:
        return parts[0]
    tables = [part.table.assign(log_number=number) for number, part in enumerate(parts)]
    first_row = np.cumsum([0, *(len(table) for table in tables)])
    first_trip = np.cumsum([0, *(int(part.trip.max(initial=-1)) + 1 for part in parts)])
    shared: dict[tuple[int, str], SharedErrors] = {}
    column = 0
    for number, part in enumerate(parts):
        for (_, gear), errors in part.shared.items():
            shared[number, gear] = replace(errors, first=errors.first + column)
        column += part.loadings.shape[1]
    table = under_each_other(tables)  # boats have words of their own
    return Exposure(
        table=table,
        trip=np.concatenate([p.trip + f for p, f in zip(parts, first_trip, strict=False)]),
        start=np.concatenate([part.start for part in parts]),
        end=np.concatenate([part.end for part in parts]),
        strike_row=np.concatenate(
            [p.strike_row + f for p, f in zip(parts, first_row, strict=False)]
        ),
        strike_time=np.concatenate([part.strike_time for part in parts]),
        loadings=block_diag(*(part.loadings for part in parts)),
        bends=block_diag(*(part.bends for part in parts)),
        set_error_sd=np.concatenate([part.set_error_sd for part in parts]),
        layer_doubt=np.concatenate([part.layer_doubt for part in parts]),
        layer_blocks=tuple(block for part in parts for block in part.layer_blocks),
        temperature_c=np.concatenate([part.temperature_c for part in parts]),
        shared=shared,
        latent=LatentWater.joined([part.latent for part in parts]),
        water_unseen=any(part.water_unseen for part in parts),
    )


def _join_one(season: BoatSeason) -> Exposure:
    log, effort = season.log, season.effort
    depth = season.depths or slice_depths(log, effort, season.calibrations)
    table = effort.slices.assign(**depth.columns)
    table["lure"] = as_labels(table["lure"])
    months = log.trips.set_index("trip")["date"].dt.strftime("%Y-%m")
    trip, names = pd.factorize(table["trip"])
    table["day"] = table["start"].dt.tz_convert(log.boat.time_zone).dt.day_of_year.astype(float)
    table["period"] = in_order(spelt(months.reindex(np.asarray(names)).tolist(), trip))
    start, end = instants(table["start"]), instants(table["end"])
    middle = (start + end) // 2
    temperature = np.broadcast_to(np.nan, (len(SHIFTS), len(table)))
    if season.water.field is not None and season.has_water:
        at_shifts = table["depth_m"].to_numpy() * np.exp(SHIFTS)[:, None]
        temperature = season.water.field.at_height(middle, at_shifts)
    found = season.lure_temperature(middle, table["depth_m"].to_numpy())
    table["lure_temp_c"], table["lure_temp_sd_c"] = map(pd.Series, found)
    known = season.water.knows(log.year)
    unknown = GUESSED if season.water_unseen else NOT_MEASURED
    table["lure_temp_note"] = spelt(
        ["" if known else unknown, NO_DEPTH], table["depth_m"].isna().to_numpy().astype(np.intp)
    )
    table["log_number"] = 0
    placed = effort.strikes.loc[effort.strikes["placed"]]
    trip = trip.astype(np.intp, copy=False)
    first, last = trip_spans(trip, start, end)
    ways = season.ways
    doubt_m, blocks = _layers(ways, middle, first + (last - first) // 2)
    return Exposure(
        table=table,
        trip=trip,
        start=start,
        end=end,
        strike_row=placed["slice"].to_numpy(dtype=np.intp),
        strike_time=instants(placed["time"]),
        loadings=depth.loadings,
        bends=depth.bends,
        set_error_sd=depth.own_sd,
        layer_doubt=np.nan_to_num(doubt_m / table["depth_m"].to_numpy(), copy=False),
        layer_blocks=blocks,
        temperature_c=temperature.T,
        shared=depth.shared,
        latent=LatentWater.of(ways),
        water_unseen=season.water_unseen,
    )


def _layers(
    ways: Ways | None, time: NDArray[np.int64], trips: NDArray[np.int64]
) -> tuple[Array, tuple[Array, ...]]:
    """Doubt of the layers' height at some times beside the main ways, and how trips share it."""
    if ways is None:
        return np.zeros(len(time)), (np.ones((1, 1)),) * len(trips)
    covariance = ways.rest.middle_covariance(trips) + LEAST_M2 * np.eye(len(trips))
    sd = np.sqrt(np.diag(covariance))
    return ways.rest.middle(time)[1], (np.asarray(covariance / np.outer(sd, sd)),)
