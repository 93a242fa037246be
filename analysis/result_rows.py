"""Owns the rows of the result tables as pictures, tables and sentences take them, typed.

Each class holds the columns of `analysis.result_schema` that are shown, under the same names.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, TypeVar

import pandas as pd

from analysis.result_schema import SchemaError

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

Row = TypeVar("Row", bound="DataclassInstance")


def records(kind: type[Row], frame: pd.DataFrame) -> list[Row]:
    """Return the rows of a result table, each with its cells as typed attributes.

    Parameters
    ----------
    kind : type
        A dataclass of this module.
    frame : pandas.DataFrame
        The result table; without rows it may be without columns.

    Raises
    ------
    SchemaError
        Where the table lacks a column.
    """
    if frame.empty:
        return []
    names = [field.name for field in fields(kind)]
    if missing := [name for name in names if name not in frame]:
        msg = f"a table of {kind.__name__} is without {', '.join(missing)}: write the results anew."
        raise SchemaError(msg)
    cells = frame[names].itertuples(index=False, name=None)
    return [kind(**dict(zip(names, row, strict=True))) for row in cells]


@dataclass(frozen=True, kw_only=True)
class Band:
    """A row of ``bands``."""

    period: str
    band_low_m: float
    band_high_m: float
    rod_hours: float
    strikes: int
    rate: float
    rate_low: float
    rate_high: float
    p_best: float
    named: bool
    verdict: str
    judged: bool
    named_rate: float
    named_rate_low: float
    named_rate_high: float


@dataclass(frozen=True, kw_only=True)
class SpeciesBand:
    """A row of ``species_bands``."""

    species: str
    period: str
    band_low_m: float
    band_high_m: float
    named: bool
    verdict: str


@dataclass(frozen=True, kw_only=True)
class Share:
    """A row of ``shares``."""

    period: str
    band_low_m: float
    band_high_m: float
    strike_share: float
    hour_share: float
    raw_rate: float
    rate: float


@dataclass(frozen=True, kw_only=True)
class Effect:
    """A row of ``effects``, as its curve is drawn."""

    term: str
    at: float
    ratio: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class Step(Effect):
    """A row of ``effects``, with what one step more does there."""

    reference: float
    step: float
    step_ratio: float
    step_low: float
    step_high: float


@dataclass(frozen=True, kw_only=True)
class LineOut:
    """A row of ``spread``."""

    boat: str
    period: str
    gear: str
    setting: float
    lure: str
    line_out: float
    unit: str


@dataclass(frozen=True, kw_only=True)
class PlannedRod:
    """A row of ``plan``."""

    boat: str
    rod: str
    side: str
    gear: str
    setting: float
    line_out: float
    unit: str
    depth_m: float
    depth_sd_m: float
    lateral_m: float
    setback_m: float
    tip_y_m: float
    purpose: str
    why: str
    depth_unit: str
    period: str


@dataclass(frozen=True, kw_only=True)
class Clearance:
    """A row of ``clearance``."""

    rod_a: str
    rod_b: str
    least_m: float
    sideways_m: float
    flagged: bool
    why: str


@dataclass(frozen=True, kw_only=True)
class Before:
    """A row of ``before``."""

    what: str
    band_low_m: float
    band_high_m: float
    rate_before: float
    rate_now: float
    ratio: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class Influence:
    """A row of ``influence``, before it is put in words."""

    term: str
    band_low_m: float
    band_high_m: float
    against_low_m: float
    against_high_m: float
    ratio: float
    ratio_low: float
    ratio_high: float
    headline: bool


@dataclass(frozen=True, kw_only=True)
class InfluenceInWords(Influence):
    """A row of ``influence`` as written."""

    wording: str


@dataclass(frozen=True, kw_only=True)
class Species:
    """A row of ``species``."""

    species: str
    spelt_as: str
    strikes: int
    landed: int
    released: int
    lost: int
    missed: int
    biggest_length_m: float
    biggest_weight_kg: float


@dataclass(frozen=True, kw_only=True)
class Trip:
    """A row of ``trips``."""

    date: pd.Timestamp
    rod_hours: float
    hours_from: str
    strikes: int
    landed: int


@dataclass(frozen=True, kw_only=True)
class Week:
    """A row of ``weeks``."""

    week: str
    thermocline_m: float
    best_low_m: float
    best_high_m: float


@dataclass(frozen=True, kw_only=True)
class StrikeDepth:
    """A row of ``strike_depths``."""

    water: str
    date: pd.Timestamp
    rod: str
    outcome: str
    depth_m: float


@dataclass(frozen=True, kw_only=True)
class FishedDepth:
    """A row of ``fished_depths``."""

    water: str
    date: pd.Timestamp
    depth_m: float
    rod_hours: float


@dataclass(frozen=True, kw_only=True)
class BestWater:
    """A row of ``best_water``."""

    week: str
    day: pd.Timestamp
    depth_m: float
    depth_low_m: float
    depth_high_m: float
    temp_c: float
    told: bool


@dataclass(frozen=True, kw_only=True)
class Certainty:
    """A row of ``certainty``."""

    period: str
    depth_sd_m: float
    water_share: float
    water_known_m: float
    apart: bool


@dataclass(frozen=True, kw_only=True)
class Worth:
    """A row of ``worth``."""

    water: str
    period: str
    now_m: float
    fortnight_m: float
    probe_m: float
    logger_m: float
    each_trip_m: float


@dataclass(frozen=True, kw_only=True)
class Thermometer:
    """A row of ``thermometers``."""

    water: str
    day: pd.Timestamp
    source: str
    shallowest_m: float
    deepest_m: float


@dataclass(frozen=True, kw_only=True)
class Counted:
    """Strikes and rod-hours of some part, with their rate as counted."""

    rod_hours: float
    strikes: int
    raw_rate: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class OfHour(Counted):
    """A row of ``hours``."""

    hour: int


@dataclass(frozen=True, kw_only=True)
class AreaRatio:
    """A row of ``areas``."""

    area: str
    rod_hours: float
    strikes: int
    ratio: float
    low: float
    high: float
    reference: str
    reason: str


@dataclass(frozen=True, kw_only=True)
class Cost:
    """A row of ``cost``."""

    period: str
    strikes_fished: float
    strikes_best: float
    low: float
    high: float
    more: float
    more_low: float
    more_high: float


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """A row of ``outcomes``."""

    term: str
    level: str
    hooked: int
    boated_rate: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class Hookup:
    """A row of ``hookups``."""

    term: str
    level: str
    strikes: int
    hooked: int
    hookup_rate: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class Trouble:
    """A row of ``troubles``."""

    gear: str
    setting: float
    line_out_low_m: float
    line_out_high_m: float
    rod_hours: float
    false_releases: int
    tangles: int
    per_100_rod_hours: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class Tangled:
    """A row of ``tangled``."""

    boat: str
    rod_a: str
    rod_b: str
    tangles: int
    by_chance: float
    hours_together: float
    beyond_chance: bool


@dataclass(frozen=True, kw_only=True)
class GearEffect:
    """A row of ``gear_effects``."""

    gear: str
    setting: float
    depth_m: float
    line_out_m: float
    rod_hours: float
    ratio: float
    low: float
    high: float
    reference: str
    told_apart: bool


@dataclass(frozen=True, kw_only=True)
class LureEffect:
    """A row of ``lure_effects``."""

    lure: str
    rod_hours: float
    strikes: int
    ratio: float
    low: float
    high: float
    reference: str
    told_apart: bool


@dataclass(frozen=True, kw_only=True)
class Check:
    """A row of ``checks``."""

    name: str
    passed: bool
    finding: str
    next_step: str


@dataclass(frozen=True, kw_only=True)
class Choice:
    """A row of ``choice``."""

    model: str
    score: float
    score_se: float
    weight: float
    chosen: bool


@dataclass(frozen=True, kw_only=True)
class Way:
    """A row of ``sensitivity``."""

    strata: str
    band_low_m: float
    band_high_m: float
    ratio: float
    low: float
    high: float
    p_best: float
    status: str


@dataclass(frozen=True, kw_only=True)
class Gap:
    """A row of ``gaps``."""

    log: str
    what: str
    cost: str
    remedy: str


@dataclass(frozen=True, kw_only=True)
class RowsRead:
    """A row of ``rows``."""

    log: str
    table: str
    read: int
    kept: int


@dataclass(frozen=True, kw_only=True)
class Found:
    """A row of ``findings``."""

    log: str
    severity: str
    doubted: bool
    table: str
    column: str
    value: str
    count: int
    lines: str
    reason: str
    remedy: str
    rod_hours: float
    strikes: int


SHOWN: dict[str, tuple[type, ...]] = {
    "bands": (Band,),
    "species_bands": (SpeciesBand,),
    "shares": (Share,),
    "effects": (Effect, Step),
    "spread": (LineOut,),
    "plan": (PlannedRod,),
    "clearance": (Clearance,),
    "before": (Before,),
    "influence": (Influence, InfluenceInWords),
    "species": (Species,),
    "trips": (Trip,),
    "weeks": (Week,),
    "strike_depths": (StrikeDepth,),
    "fished_depths": (FishedDepth,),
    "thermometers": (Thermometer,),
    "worth": (Worth,),
    "certainty": (Certainty,),
    "best_water": (BestWater,),
    "hours": (OfHour,),
    "areas": (AreaRatio,),
    "cost": (Cost,),
    "outcomes": (Outcome,),
    "hookups": (Hookup,),
    "troubles": (Trouble,),
    "tangled": (Tangled,),
    "gear_effects": (GearEffect,),
    "lure_effects": (LureEffect,),
    "checks": (Check,),
    "choice": (Choice,),
    "sensitivity": (Way,),
    "gaps": (Gap,),
    "rows": (RowsRead,),
    "findings": (Found,),
}
"""The rows of each result table."""
