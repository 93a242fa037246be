"""The figures of one week, as its report tells them and its JSON file holds them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import nan

TOLD = "told"
NO_TRIPS = "no trips"
TOO_FEW = "too few boats"
NO_LOG = "no log"


@dataclass(frozen=True, kw_only=True)
class Row:
    """Counts of one species, gear kind or lure, or of several together.

    Attributes
    ----------
    names : tuple of str
        One name, or those that are told together because too few boats stand behind each; an
        empty name is a fish not seen or a lure not written down.
    more : bool
        Whether there are further ones, which too few boats ever wrote down to be named.
    rod_hours : float or None
        None for species.
    strikes, landed, released : int or None
        None where too few boats stand behind what would follow by subtraction.
    """

    names: tuple[str, ...]
    more: bool = False
    rod_hours: float | None = None
    strikes: int | None = None
    landed: int | None = None
    released: int | None = None


@dataclass(frozen=True, kw_only=True)
class Counts:
    """The figures of one week.

    Attributes
    ----------
    boats : int
    trips : int or None
    rod_hours : float or None
        None where too few boats stand behind the set records.
    strikes, landed, released : int or None
        Of all trips, those without set records included; None where too few boats stand behind
        one of them or behind what would follow by subtraction.
    placed : int or None
        Strikes on a rod whose hours are counted; None where the difference is of too few boats.
    species : tuple of Row
        They add up to the totals.
    """

    boats: int
    trips: int | None = None
    rod_hours: float | None = None
    strikes: int | None = None
    landed: int | None = None
    released: int | None = None
    placed: int | None = None
    species: tuple[Row, ...] = ()


@dataclass(frozen=True, kw_only=True)
class WeekBand:
    """One band of a week, or several that are one because too few boats fished each.

    Attributes
    ----------
    low_m, high_m : float
        Of the depths whose rate is told.
    shallower, deeper : bool
        Whether rod-hours above ``low_m``, or below ``high_m``, are counted here too.
    depth_unknown : bool
        Whether rod-hours whose depth is unknown are counted here too.
    rod_hours : float
    judged : bool
        Whether it was fished enough.
    rate, rate_low, rate_high : float
        Strikes per rod-hour of a rod held here through the week's boat hours, and 90 % bounds;
        NaN where the water's temperature is needed and unknown.
    p_best : float
        NaN where not judged.
    named : bool
    """

    low_m: float
    high_m: float
    shallower: bool
    deeper: bool
    depth_unknown: bool
    rod_hours: float
    judged: bool
    rate: float
    rate_low: float
    rate_high: float
    p_best: float
    named: bool


@dataclass(frozen=True, kw_only=True)
class Depth:
    """What a week's bands say.

    Attributes
    ----------
    bands : tuple of WeekBand
        Their rod-hours, with ``unknown_hours``, add up to the week's.
    unknown_hours : float
        Rod-hours of unknown depth that are in no band.
    verdict : str
        ``clear``, ``leaning`` or ``open``.
    caps : tuple of str
        What kept the verdict from being higher.
    p_near : float
        Chance that the named bands hold one within a tenth of the best.
    named_low_m, named_high_m, rate, rate_low, rate_high, named_hours : float
        Of what is named; NaN where nothing is.
    alike : bool
        Whether no judged band can be ruled out as the best: depth made little difference.
    explore : WeekBand or None
        The least fished band that may be as good.
    """

    bands: tuple[WeekBand, ...]
    unknown_hours: float
    verdict: str
    caps: tuple[str, ...]
    p_near: float
    named_low_m: float
    named_high_m: float
    named_hours: float
    rate: float
    rate_low: float
    rate_high: float
    alike: bool
    explore: WeekBand | None


@dataclass(frozen=True, kw_only=True)
class Water:
    """How warm the water was by depth.

    The water is nobody's own: it is told however few boats measured it.

    Attributes
    ----------
    depth_m, temp_c : tuples of float
    thermocline_m : float
        Where the temperature falls fastest; NaN in mixed water.
    best_low_c, best_high_c : float
        The best temperature of the season's curve; NaN where that tells nothing.
    best_low_m, best_high_m : float
        Where it lay; NaN where no cast of the week found it.
    """

    depth_m: tuple[float, ...]
    temp_c: tuple[float, ...]
    thermocline_m: float
    best_low_c: float
    best_high_c: float
    best_low_m: float
    best_high_m: float


@dataclass(frozen=True, kw_only=True)
class LineOut:
    """What one gear lets out at one setting, or that it cannot get there.

    Attributes
    ----------
    gear : str
        The name boat.toml gives it, where that may be told, else its kind; and the lure that dives
        on it, if one does.
    kind : str
    setting : float or None
        None for gear without a dial.
    line_out_m, line_out_sd_m : float
        Mean over the boats that tow it, and how far the right one may lie from it; NaN where it
        cannot get there.
    depth_sd_m : float
        How far the lure may lie from the depth.
    line_out_low_m, line_out_high_m : float
        Between which all line-outs do nearly as well; NaN where the line-out is that for a depth.
    """

    gear: str
    kind: str
    setting: float | None
    line_out_m: float
    line_out_sd_m: float
    depth_sd_m: float
    line_out_low_m: float = nan
    line_out_high_m: float = nan


@dataclass(frozen=True, kw_only=True)
class Condition:
    """How a week was fished in one respect, and what the season's curve says of it.

    Attributes
    ----------
    term : str
        One of `CONDITIONS` of `analysis.weekly.water`.
    low, middle, high : float
        Quarter points of the week's rod-hours.
    best_low, best_high : float
        Where the season's curve is within a tenth of its top; NaN where there is no curve.
    from_end, to_end : bool
        Whether that reaches the end of what was fished, so that the top may lie beyond.
    matters : bool
        Whether the curve's interval leaves out 'no difference' anywhere.
    """

    term: str
    low: float
    middle: float
    high: float
    best_low: float
    best_high: float
    from_end: bool
    to_end: bool
    matters: bool


@dataclass(frozen=True, kw_only=True)
class Unknown:
    """Something a week's logs do not tell.

    Attributes
    ----------
    what : str
        ``depth_m``, ``lure_temp_c``, ``speed_mps``, ``ground`` (speed over ground), ``unplaced``
        (strikes), ``no sets`` (trips), ``set aside`` (rows of sets), ``casts``, ``species``.
    share : str
        How much it is of all, in words: an exact share could be one boat's.
    rod_hours : float or None
        Of the rows set aside, as far as they tell; None where too few boats stand behind them.
    """

    what: str
    share: str = ""
    rod_hours: float | None = None


@dataclass(frozen=True, kw_only=True)
class WeekFigures:
    """All that the report of one week tells.

    Attributes
    ----------
    week, first_day, last_day : str
    status : str
        `TOLD`, `NO_TRIPS` or `TOO_FEW`.
    audience : str
    club : str or None
    boats_named, areas : tuples of str
    more_areas : bool
    counts, last_week, last_year : Counts or None
        Of this week, the week before, and the week of the same number a year before.
    last_week_status, last_year_status : str
        `TOLD`, `NO_TRIPS`, `TOO_FEW` or `NO_LOG`.
    depth : Depth or None
        None where too few boats kept set records.
    water : Water or None
    target_m, target_why : float and str
        Where the line-outs put a lure, by `target_of`.
    speed_mps : float
        At which the line-outs hold.
    line_outs : tuple of LineOut
    kinds, lures : tuples of Row
        By kind of gear and by lure; rod-hours add up to the total.
    conditions : tuple of Condition
    unknown : tuple of Unknown
    """

    week: str
    first_day: str
    last_day: str
    status: str
    audience: str
    club: str | None
    boats_named: tuple[str, ...] = ()
    areas: tuple[str, ...] = ()
    more_areas: bool = False
    counts: Counts | None = None
    last_week: Counts | None = None
    last_week_status: str = NO_LOG
    last_year: Counts | None = None
    last_year_status: str = NO_LOG
    depth: Depth | None = None
    water: Water | None = None
    target_m: float = nan
    target_why: str = ""
    speed_mps: float = nan
    line_outs: tuple[LineOut, ...] = ()
    kinds: tuple[Row, ...] = ()
    lures: tuple[Row, ...] = ()
    conditions: tuple[Condition, ...] = ()
    unknown: tuple[Unknown, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Parameters:
    """What a person chose of a report, and the units that its boats write in.

    Attributes
    ----------
    paper : str
    band_m : float
        Height of a depth band.
    seed : int
    units : Mapping
        Quantity to its units, the one shown first in front.
    """

    paper: str
    band_m: float
    seed: int
    units: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, kw_only=True)
class MadeWith:
    """With what a report was made: the version, the choices, fingerprints of logs and report."""

    version: str
    parameters: Parameters
    inputs: str
    hash: str


@dataclass(frozen=True, kw_only=True)
class WeekReport(WeekFigures):
    """The figures of one week as its JSON file holds them, with what they are written in.

    Attributes
    ----------
    units : Mapping
        Quantity to its units, the one shown first in front.
    made_with : MadeWith
    """

    units: Mapping[str, tuple[str, ...]]
    made_with: MadeWith
