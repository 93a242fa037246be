"""From an exposure to an answer: the model chosen and fitted, every period's bands judged."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis import labels
from analysis.decision.bands import (
    CLEAR,
    CLEAR_UNSEEN,
    MONTH_HOURS,
    MOST_ON_SPREAD,
    SEASON_HOURS,
    Judgement,
    judge,
    spread_share,
)
from analysis.decision.caps import Cap
from analysis.diagnostics.boats import boats_apart
from analysis.diagnostics.checks import Check, check_fit
from analysis.rates.background import with_background
from analysis.rates.effects import BOUNDS, COLUMNS, draws_of_term, effect_table
from analysis.rates.exposure import Exposure
from analysis.rates.fit import REFITS, Centre, Fit
from analysis.rates.learn_water import learn_water
from analysis.rates.model_averaging import fit_average, holding
from analysis.rates.model_selection import Choice, choose_model
from analysis.rates.shape_prior import DRAWS, weigh
from analysis.rates.standardised import SEASON, BoatHours, TemperatureAt, depth_draws
from analysis.rates.terms import RateModel
from analysis.rates.trip_rates import Levels, trip_levels
from analysis.rates.within_trip import SharedCurve, fit_speed, fit_within_trips
from analysis.stats.beside import beside
from analysis.stats.cells import band_of
from analysis.stats.pspline import Smooth
from analysis.stats.stopping import go_on

Array = NDArray[np.float64]

FEWEST_STRIKES = 15
"""Strikes below which no verdict is above ``open``."""
FEWEST_FOR_CLEAR = 100
"""Strikes below which no verdict is `clear`: in 60 simulated seasons of about 50 strikes, 3 of the
29 months called clear were wrong."""
MOST_LAYER_DOUBT_M = 2.0
"""Doubt about the height of the water's layers (standard deviation, by rod-hours) above which no
verdict is `clear`: half a thermocline, so that the temperature at a lure is hardly known."""
TO_WEIGH = 100
"""Draws of each refit, of which about one in four is kept by its weight."""
LEAST_HELD = 0.5
"""Share of the averaged draws that must have a term for its effect to be told from them."""
FEWEST_TRIPS = 3
"""Trips with strikes below which no verdict is above ``open``: their scatter tells the doubt."""


@dataclass(frozen=True, kw_only=True)
class Period:
    """One period's bands.

    Attributes
    ----------
    name : str
        ``season`` or a month ``YYYY-MM``.
    at_depth : (bands, inner, draws) array
        Strikes per rod-hour at the depths within each band, `BoatHours.depth_m`.
    rod_hours, strikes : (bands,) arrays
        By modelled depth.
    judged : (bands,) bool array
    judgement : Judgement
    on_spread : float
        Share of the rod-hours that rest on a trip's spread alone.
    """

    name: str
    at_depth: Array
    rod_hours: Array
    strikes: Array
    judged: NDArray[np.bool_]
    judgement: Judgement
    on_spread: float = 0.0

    @cached_property
    def draws(self) -> Array:
        """Strikes per rod-hour of each band (bands, draws)."""
        return np.asarray(self.at_depth.mean(axis=1))

    @property
    def named_rate(self) -> tuple[float, float, float]:
        """Median and 90 % bounds of the named bands' rate: what every page tells of them.

        See `analysis.decision.bands.Judgement.rate`.
        """
        rate, low, high = self.judgement.rate(self.draws)
        return float(rate), float(low), float(high)


@dataclass(frozen=True, kw_only=True, repr=False)  # its arrays fill screens
class Answer:
    """Everything that was fitted and judged for one exposure.

    Attributes
    ----------
    exposure : Exposure
    choice : Choice
    fit : Fit
    levels : Levels
    speed : SharedCurve or None
    hours : BoatHours
    periods : tuple of Period
        The season first, then its months.
    checks : tuple of Check
    effects : DataFrame
        Empty where nobody asked for them.
    caps : tuple of Cap
        Why no verdict of the season or a month may be ``clear``; empty where it may.
    log_caps : tuple of Cap
        Those of them that were known of the logs before anything was fitted.
    """

    exposure: Exposure
    choice: Choice
    fit: Fit
    levels: Levels
    speed: SharedCurve | None
    hours: BoatHours
    periods: tuple[Period, ...]
    checks: tuple[Check, ...]
    effects: pd.DataFrame
    caps: tuple[Cap, ...]
    log_caps: tuple[Cap, ...] = ()

    @property
    def caps_of_less(self) -> tuple[Cap, ...]:
        """Why no verdict on less than a month may be clear.

        Where no thermometer went below the surface, strikes tell how the layers lie through a
        season; where they lay in one week or day is the model's guess.
        """
        unseen = (Cap(code="water-unseen"),) if self.exposure.water_unseen else ()
        return (*self.caps, *unseen)

    @property
    def told(self) -> bool:
        """Whether strikes enough compare rods, and depth and water foretell trips at all."""
        return _told(self.fit, self.choice)

    @property
    def season(self) -> Period:
        """The whole season."""
        return self.periods[0]

    def named_m(self, period: Period) -> tuple[float, float]:
        """Upper and lower edge of what a period's answer names: a band, or two neighbours."""
        named = np.flatnonzero(period.judgement.named)
        return float(self.hours.edges_m[named[0]]), float(self.hours.edges_m[named[-1] + 1])

    def rather_m(self, period: Period) -> tuple[float, float] | None:
        """Edges of the likelier of two named neighbours; None where one alone is named."""
        band = period.judgement.rather
        if band is None:
            return None
        return float(self.hours.edges_m[band]), float(self.hours.edges_m[band + 1])

    @property
    def formula(self) -> str:
        """The fullest model in words of a formula, and what rods are compared with."""
        return self.fit.formula

    @property
    def draws(self) -> Array:
        """Draws of the coefficients (draws, columns), for what comes after."""
        return self.fit.draws

    @property
    def table(self) -> pd.DataFrame:
        """The table ``bands.csv`` of the contract, with ``judged``, ``p_near``, ``named_rate``."""
        return pd.concat([_rows(period, self.hours.edges_m) for period in self.periods])


def answer(
    exposure: Exposure,
    temperature_at: TemperatureAt,
    edges_m: Array,
    rng: np.random.Generator,
    *,
    choice: Choice | None = None,
    checked: bool = True,
    effects: bool = True,
    apart: Collection[str] | None = None,
    lures: bool = False,
    depth_unit: str = "m",
    log_caps: tuple[Cap, ...] = (),
    refits: int = REFITS,
    draws: int = DRAWS,
    whole_only: bool = False,
) -> Answer:
    """Choose and fit a model, and judge the bands of the season and of each month.

    Parameters
    ----------
    exposure : Exposure
    temperature_at : callable
        See `analysis.rates.standardised.TemperatureAt`.
    edges_m : (bands + 1,) array
    rng : numpy.random.Generator
    choice : Choice, optional
        A model chosen before, such as the season's for one species; chosen here if absent.
    checked : bool
        Whether to run the checks.
    effects : bool
        Whether to tell what each term does; bands need none of it.
    apart : collection of str, optional
        Terms that get a fit of their own where too few draws of the average have them; all by
        default.
    lures : bool
        Whether each lure has an effect of its own.
    depth_unit : str
        Unit in which the checks name bands.
    log_caps : tuple of Cap
        What the logs lack so that no verdict may be ``clear``.
    refits : int
        Refits that carry the doubt of smoothing and depth; fewer are quicker, and their intervals
        less smooth.
    draws : int
        Draws that are kept by their weight.
    whole_only : bool
        Whether to judge the bands of the exposure as a whole, and leave out its months and the
        effects that need fits of their own: what a person who waits at a control asks for.

    Returns
    -------
    Answer
    """
    exposure = learn_water(exposure, rng)
    chosen = choose_model(exposure, lures=lures) if choice is None else choice
    centres: dict[RateModel, Centre | None] = {}
    fit = fit_average(
        *(exposure, chosen.model, chosen.members, rng),
        refits=refits,
        each=TO_WEIGH,
        centres=centres,
    )
    fit = with_background(exposure, weigh(exposure, fit, rng, draws).fit, rng.spawn(1)[0])
    go_on()
    fully = effects and not whole_only
    names = _hardly_held(fit) if fully else []
    names = [name for name in names if apart is None or name in apart]
    aside = rng.spawn(1)[0]

    def asked_apart() -> dict[str, Fit]:
        return _asked_apart(exposure, chosen, names, aside, centres)

    with beside(asked_apart, worth=bool(names)) as asked:
        hours = BoatHours.of(exposure, edges_m, temperature_at).averaged(fit.waters[fit.refit])
        levels = trip_levels(exposure, fit, rng)
        spans = [SEASON, *([] if whole_only else sorted(set(hours.period)))]
        groups = [np.isin(hours.period, [name]) | (name == SEASON) for name in spans]
        at_depth = depth_draws(fit, levels, hours, groups)
        caps = (*log_caps, *_caps(exposure, chosen, fit))
        told = _told(fit, chosen)
        periods = tuple(
            _period(name, exposure, edges_m, found, caps, fit.strikes, told=told)
            for name, found in zip(spans, at_depth, strict=True)
        )
        speed = fit_speed(exposure, fit, levels.weight, rng) if fully else None
        surface = None
        if not fit.model.warm and fully:
            surface = fit_within_trips(exposure, fit, levels.weight, "surface_temp_c", rng)
        checks: tuple[Check, ...] = ()
        if checked:
            judged = periods[0].judged
            told_of = exposure, fit, levels, chosen, hours, judged, rng
            checks = tuple(check_fit(*told_of, depth_unit=depth_unit))
        instead = asked.result()
    found = pd.DataFrame(columns=list(COLUMNS))
    if effects:
        found = effect_table(exposure, fit, speed, surface, instead=instead)
    return Answer(
        exposure=exposure,
        choice=chosen,
        fit=fit,
        levels=levels,
        speed=speed,
        hours=hours,
        periods=periods,
        checks=checks,
        effects=found,
        caps=caps,
        log_caps=log_caps,
    )


def _told(fit: Fit, choice: Choice) -> bool:
    enough = fit.strikes >= FEWEST_STRIKES and fit.trips >= FEWEST_TRIPS
    return bool(enough and choice.tells_depth)


def _hardly_held(fit: Fit) -> list[str]:
    """Curves of the water that too few draws of the average have to tell their effect from."""
    curves = [term.name for term in fit.model.water.terms if isinstance(term, Smooth)]
    least = LEAST_HELD * len(fit.draws)
    return [name for name in curves if len(draws_of_term(fit, name)) < least]


def _asked_apart(
    exposure: Exposure,
    choice: Choice,
    names: list[str],
    rng: np.random.Generator,
    centres: dict[RateModel, Centre | None],
) -> dict[str, Fit]:
    """Fit anew, by the models that have it, each of some terms."""
    found: dict[str, Fit] = {}
    for name in names:
        members = holding(choice.members, name)
        apart = fit_average(exposure, choice.model, members, rng, each=TO_WEIGH, centres=centres)
        found[name] = with_background(exposure, weigh(exposure, apart, rng).fit, rng)
    return found


def _caps(exposure: Exposure, choice: Choice, fit: Fit) -> tuple[Cap, ...]:
    """Return what keeps a verdict from being clear."""
    found: list[Cap] = []
    hours = exposure.table["hours"].to_numpy()
    known = np.isfinite(exposure.table["lure_temp_c"].to_numpy(dtype=float))
    if hours[known].sum() <= 0.5 * hours.sum():
        found.append(Cap(code="water-unknown"))
    elif not choice.model.warm:
        found.append(Cap(code="water-alike"))
    elif exposure.water_unseen:
        if max(exposure.latent.followed, 1.0 - exposure.latent.followed) < CLEAR:
            found.append(Cap(code="follower-unknown"))
    else:
        doubt_m = (exposure.layer_doubt * exposure.depth_m)[known]
        if np.average(doubt_m**2, weights=hours[known]) > MOST_LAYER_DOUBT_M**2:
            found.append(Cap(code="layers-unknown"))
    if not choice.tells_depth:
        found.append(Cap(code="foretells-nothing", name=choice.as_good))
    if fit.status != "fitted":
        found.append(Cap(code="not-fitted", name=fit.status))
    if fit.strikes < FEWEST_FOR_CLEAR:
        found.append(Cap(code="few-strikes", count=fit.strikes))
    if 0 < fit.trips < FEWEST_TRIPS:
        found.append(Cap(code="few-trips", count=fit.trips))
    if apart := boats_apart(exposure, fit):
        found.append(Cap(code="boats-apart", boat=labels.listing(apart)))
    return tuple(found)


def _period(
    name: str,
    exposure: Exposure,
    edges_m: Array,
    at_depth: Array,
    caps: tuple[Cap, ...],
    strikes: int,
    *,
    told: bool,
) -> Period:
    draws = at_depth.mean(axis=1)
    table = exposure.table
    depth = exposure.depth_m
    within = (table["period"] == name).to_numpy() | (name == SEASON)
    here = np.isfinite(depth) & within
    count = len(edges_m) - 1
    band = band_of(np.where(here, depth, np.nan), edges_m)
    inside = band >= 0
    hours, struck = (
        np.bincount(band[inside], table[what].to_numpy(dtype=float)[inside], count).astype(float)
        for what in ("hours", "strikes")
    )
    # a season of one month is that month: by other hours the same bands would be another's answer
    of_months = name == SEASON and len(table["period"].unique()) > 1
    enough = SEASON_HOURS if of_months else MONTH_HOURS
    judged = (hours >= enough) & np.isfinite(draws).all(axis=1)
    may_be_named = strikes >= 1
    on_spread = spread_share(table.loc[within])
    may_be_clear = not caps and on_spread <= MOST_ON_SPREAD
    judgement = judge(
        draws,
        judged & may_be_named,
        may_be_clear=may_be_clear,
        clear=CLEAR_UNSEEN if exposure.water_unseen else CLEAR,
    )
    if not told:
        judgement = judgement.as_open()
    return Period(
        name=name,
        at_depth=at_depth,
        rod_hours=hours,
        strikes=struck,
        judged=judged,
        judgement=judgement,
        on_spread=on_spread,
    )


def _rows(period: Period, edges_m: Array) -> pd.DataFrame:
    """Rows of the bands that were fished at all, or could have been judged between them."""
    used = np.flatnonzero(period.rod_hours > 0)
    shown = slice(used[0], used[-1] + 1) if len(used) else slice(0, 0)
    hours = period.rod_hours
    raw = np.divide(period.strikes, hours, out=np.full(len(hours), np.nan), where=hours > 0)
    fished = hours > 0
    quantiles = np.full((3, len(hours)), np.nan)
    told = fished & np.isfinite(period.draws).all(axis=1)
    quantiles[:, told] = np.quantile(period.draws[told], (0.5, *BOUNDS), axis=1)
    verdict = period.judgement
    named_rate, named_low, named_high = period.named_rate
    return pd.DataFrame(
        {
            "period": period.name,
            "band_low_m": edges_m[:-1],
            "band_high_m": edges_m[1:],
            "rod_hours": hours,
            "strikes": period.strikes.astype(int),
            "raw_rate": raw,
            "rate": quantiles[0],
            "rate_low": quantiles[1],
            "rate_high": quantiles[2],
            "p_best": verdict.p_best,
            "named": verdict.named,
            "p_named": verdict.p_named,
            "verdict": verdict.verdict,
            "judged": period.judged,
            "p_near": verdict.p_near,
            "named_rate": named_rate,
            "named_rate_low": named_low,
            "named_rate_high": named_high,
        }
    )[shown]
