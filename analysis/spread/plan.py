"""Owns next season's starting spread: the period it is for, and every boat's rods."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from analysis import labels
from analysis.decision.answer import Answer, Period
from analysis.decision.leads import what_they_follow
from analysis.errors import UsageError
from analysis.rates.standardised import SEASON
from analysis.result_schema import RESULTS
from analysis.spread.boat_plan import BoatFacts, BoatPlanner
from analysis.spread.depth_doubts import depth_doubts
from analysis.spread.exploring import learning
from analysis.spread.line_outs import Advised

if TYPE_CHECKING:
    from analysis.rates.build_exposure import BoatSeason

PLAN = RESULTS["plan"].names


@dataclass(frozen=True, kw_only=True)
class Plan:
    """A starting spread for each boat.

    Attributes
    ----------
    table : DataFrame
        ``boat, rod, gear, side, setting, line_out`` (what the rod's counter shows, in ``unit``),
        ``depth_m, depth_sd_m, lateral_m`` (negative to port)
        and ``setback_m`` of the rod tip (of the lure, its usual lead or leader in it),
        ``purpose`` (``best band``, ``explore`` or ``nearest``), ``why`` (a `RodReason`),
        ``line_out_m`` (true), ``tip_y_m`` (of the rod tip from mid-boat, negative to port),
        ``depth_unit`` (the boat's), ``period``; from port to starboard. Empty where no band is
        named.
    clearance : DataFrame
        ``boat, rod_a, rod_b, least_m, sideways_m, flagged, why``: neighbours, port to starboard;
        why they may tangle is a `NearReason`, or None.
    period : Period or None
        The period of the season reviewed that it is made for; None where none can be.
    boats : tuple of BoatFacts
    """

    table: pd.DataFrame
    clearance: pd.DataFrame
    period: Period | None
    boats: tuple[BoatFacts, ...]


def plan_period(answer: Answer, wanted: str | None = None) -> Period | None:
    """Return the period that a starting spread is made for.

    Parameters
    ----------
    answer : Answer
    wanted : str, optional
        ``season``, a month ``YYYY-MM`` or its English name. By default the month in which the
        season opened where the model knows the water's temperature, for then the best depth
        moves and a captain starts in that month; else the season.

    Returns
    -------
    Period or None
        The season in place of a default month that names no band; None where it names none
        either.

    Raises
    ------
    UsageError
        For a period that the season does not have.
    """
    if wanted is not None:
        name = _period_meant(wanted, [period.name for period in answer.periods])
        found = next(period for period in answer.periods if period.name == name)
        return found if _names(found) else None
    moves = answer.fit.model.warm and what_they_follow(answer) != "depth"
    tried = [answer.periods[1], answer.season] if moves and len(answer.periods) > 1 else []
    tried = tried or [answer.season]
    return next(filter(_names, tried), None)


def check_plan(
    seasons: Sequence[BoatSeason],
    months: Sequence[str],
    *,
    gears: Collection[str] | None,
    plan_for: str | None,
) -> None:
    """Refuse what no spread can be planned for, before anything is fitted.

    Parameters
    ----------
    seasons : sequence of BoatSeason
    months : sequence of str
        Those fished, as ``YYYY-MM``.
    gears, plan_for
        See `plan_spread`.

    Raises
    ------
    UsageError
        For an unknown period or gear.
    """
    _check_gears(seasons, gears)
    if plan_for is not None:
        _period_meant(plan_for, [SEASON, *months])


def _period_meant(wanted: str, names: Sequence[str]) -> str:
    """Return the period that a person named, by its own name or its month's."""
    by_name = {name: name for name in names}
    by_name |= {labels.month(name).casefold(): name for name in names if name != SEASON}
    found = by_name.get(wanted) or by_name.get(wanted.casefold())
    if found is None:
        msg = f"there is no period {wanted!r} to plan for. Choose one of {', '.join(names)}."
        raise UsageError(msg)
    return found


def _names(period: Period) -> bool:
    """Whether a period names a band, and had another to choose from."""
    return bool(period.judgement.named.any() and period.judged.sum() > 1)


def plan_spread(
    answer: Answer,
    seasons: Sequence[BoatSeason],
    *,
    rods: int | None = None,
    gears: Collection[str] | None = None,
    plan_for: str | None = None,
    advised: Sequence[Sequence[Advised]] | None = None,
) -> Plan:
    """Plan each boat's starting spread.

    Most rods stand where they are expected to catch best, at even steps among the line-outs that
    do nearly as well (`analysis.spread.expected`): the inner lines deepest and the outer ones
    shallowest, port and starboard alike, outer divers on the higher settings.
    One or two explore (`analysis.spread.exploring`) where there is anything to learn. A rod whose
    gear does not reach the band explores too, or runs where it catches best of what it reaches.

    Parameters
    ----------
    answer : Answer
    seasons : sequence of BoatSeason
    rods : int, optional
        Rods wanted; by default the number usually down, eight at most.
    gears : collection of str, optional
        Gears on board; by default all of boat.toml.
    plan_for : str, optional
        See `plan_period`.
    advised : sequence of sequences of Advised, optional
        What `advised_lines` found of each boat, in this period among others.

    Returns
    -------
    Plan

    Raises
    ------
    UsageError
        For an unknown period or gear.
    """
    _check_gears(seasons, gears)
    period = plan_period(answer, plan_for)
    plans, clear, facts = [], [], []
    if period is not None:
        teaches = learning(answer, period)
        for log, season in enumerate(seasons):
            name = season.log.boat.name
            known = None if advised is None else advised[log]
            boat = BoatPlanner.of(answer, period, teaches, season, log, gears, known)
            if not boat.slots:
                lacks = "sets" if season.effort.sets.empty else "rods"
                facts.append(BoatFacts(boat=name, units=season.log.boat.units, lacks=lacks))
                continue
            made = boat.plan(rods)
            unit = season.log.boat.units.depth
            doubts = depth_doubts(answer, season, log, made.table, period.name)
            table = made.table.assign(
                boat=name, period=period.name, depth_unit=unit, depth_sd_m=doubts
            )
            plans.append(table[list(PLAN)])
            clear.append(made.clearance.assign(boat=name))
            facts.append(boat.facts(made, rods))
    table = pd.concat(plans, ignore_index=True) if plans else pd.DataFrame(columns=list(PLAN))
    columns = ["boat", "rod_a", "rod_b", "least_m", "sideways_m", "flagged", "why"]
    clearance = pd.concat(clear, ignore_index=True) if clear else pd.DataFrame(columns=columns)
    return Plan(
        table=table,
        clearance=clearance,
        period=period,
        boats=tuple(facts),
    )


def _check_gears(seasons: Sequence[BoatSeason], gears: Collection[str] | None) -> None:
    """Refuse a gear that no boat has."""
    known = list(dict.fromkeys(gear for season in seasons for gear in season.log.boat.gears))
    for name in gears or ():
        if name not in known:
            msg = f"gear {name!r} is in no boat.toml; there are {', '.join(known)}. "
            msg += "Name some of these, or add its table to boat.toml."
            raise UsageError(msg)
