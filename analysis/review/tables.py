"""Owns what a season review holds beside rates and effects: every further table."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.decision.answer import Answer
from analysis.diagnostics.checks import Check
from analysis.rates.build_exposure import BoatSeason
from analysis.rates.standardised import TemperatureAt
from analysis.review.cost import cost_table
from analysis.review.course.areas import areas_table
from analysis.review.course.best_water import best_water_table, week_draws
from analysis.review.course.certainty import certainty_table
from analysis.review.course.clock import hours_table
from analysis.review.course.section import fished_depths, strike_depths, thermometers
from analysis.review.course.strip import busiest_trip
from analysis.review.course.thermometers_worth import worth_table
from analysis.review.gear_effects import gear_effects
from analysis.review.landing import Landing, landing
from analysis.review.lure_effects import lure_effects
from analysis.review.season_course import profile_table, trips_table, week_of, weeks_table
from analysis.review.species import (
    species_answers,
    species_bands,
    species_table,
)
from analysis.review.step_plot import Steps, influence_table, shares_table, steps_of
from analysis.review.strikes import all_strikes
from analysis.review.tangles import tangled_pairs, troubles_table
from analysis.review.year_on_year import before_table
from analysis.spread.line_outs import advised_lines, spread_table
from analysis.spread.plan import Plan, plan_spread
from analysis.stats.beside import Errand, share_out
from analysis.units import Units


@dataclass(frozen=True, kw_only=True)
class Review:
    """The further tables of a season, and what its sentences are made of.

    Attributes
    ----------
    tables : mapping of str to DataFrame
        By the name of the result file.
    steps : Steps
    strikes : DataFrame
        All strikes of the season.
    kinds : (placed strikes,) array of str
        Species of each.
    by_species : mapping of str to Answer
    landing : Landing
    plan : Plan
    checks : tuple of Check
        Of the models of hook-up and landing.
    """

    tables: Mapping[str, pd.DataFrame]
    steps: Steps
    strikes: pd.DataFrame
    kinds: NDArray[np.object_]
    by_species: Mapping[str, Answer]
    landing: Landing
    plan: Plan
    checks: tuple[Check, ...]


def review(
    answer: Answer,
    before: Answer | None,
    seasons: Sequence[BoatSeason],
    temperature_at: TemperatureAt,
    units: Units,
    *,
    seed: int,
    rods: int | None = None,
    gears: Collection[str] | None = None,
    plan_for: str | None = None,
    also: Sequence[Errand[Any]] = (),
) -> Review:
    """Work out everything that a review tells of a season beside its bands and effects.

    Parameters
    ----------
    answer : Answer
        Of the season reviewed.
    before : Answer or None
        Of the season before.
    seasons : sequence of BoatSeason
        Season folders of the season reviewed, in the order of ``answer.exposure``.
    temperature_at : callable
        See `analysis.rates.standardised.TemperatureAt`.
    units : Units
        To write depths and lengths in.
    seed : int
        Of every draw.
    rods, gears, plan_for
        See `analysis.spread.plan.plan_spread`.
    also : sequence of Errand
        Of the caller, shared out with those of the review.

    Returns
    -------
    Review
    """
    rng = np.random.default_rng([seed, 1])
    strikes = all_strikes(seasons)
    trips = trips_table(seasons)
    week = week_of(trips["date"])
    profile = profile_table(seasons, trips, temperature_at)
    kinds = strikes.loc[strikes["row"] >= 0, "kind"].to_numpy(dtype=object)
    # Errands that are done in either process have generators of their own.
    of_areas = rng.spawn(1)[0]
    species = species_answers(answer, kinds, temperature_at, rng)

    def lines() -> tuple[pd.DataFrame, Plan]:
        advised = [
            list(advised_lines(answer, season, log, answer.periods))
            for log, season in enumerate(seasons)
        ]
        plan = plan_spread(
            answer, seasons, rods=rods, gears=gears, plan_for=plan_for, advised=advised
        )
        return spread_table(answer, seasons, advised), plan

    def chances() -> tuple[pd.DataFrame, Landing]:
        return cost_table(answer, seasons, rng), landing(strikes, units, rng)

    tables: dict[str, Errand[pd.DataFrame]] = {
        "areas": Errand(lambda: areas_table(answer, seasons, of_areas)),
        "certainty": Errand(lambda: certainty_table(answer)),
        "worth": Errand(lambda: worth_table(seasons)),
        "gear_effects": Errand(lambda: gear_effects(answer, seasons)),
        "tangled": Errand(lambda: tangled_pairs(seasons)),
        "troubles": Errand(lambda: troubles_table(seasons, units)),
        "hours": Errand(lambda: hours_table(answer.exposure, seasons)),
        "thermometers": Errand(lambda: thermometers(seasons)),
        "before": Errand(lambda: before_table(answer, before)),
    }
    steps = Errand(lambda: steps_of(answer))
    drawn = Errand(lambda: week_draws(answer, trips, week))
    spread, fate = Errand(lines, stays=True), Errand(chances)
    share_out([*species.values(), spread, fate, steps, *also, drawn, *tables.values()])
    by_species = {kind: errand.made for kind, errand in species.items()}
    made = {name: errand.made for name, errand in tables.items()}
    box = fate.made[1]
    return Review(
        tables={
            "species": species_table(strikes),
            "species_bands": species_bands(by_species),
            "trips": trips,
            "weeks": weeks_table(answer, trips, profile, drawn.made),
            "best_water": best_water_table(answer, trips, week, drawn.made),
            "trip_tracks": busiest_trip(answer.exposure.table, seasons),
            **{name: made[name] for name in ("areas", "hours", "thermometers", "worth")},
            "certainty": made["certainty"],
            "strike_depths": strike_depths(strikes, answer.exposure.table, seasons),
            "fished_depths": fished_depths(answer.exposure.table, seasons),
            "profile": profile,
            "shares": shares_table(answer.table),
            "influence": influence_table(steps.made, answer),
            "cost": fate.made[0],
            "outcomes": box.outcomes,
            "hookups": box.hookups,
            **{name: made[name] for name in ("troubles", "tangled", "gear_effects")},
            "lure_effects": lure_effects(answer),
            "spread": spread.made[0],
            "plan": spread.made[1].table,
            "clearance": spread.made[1].clearance,
            "before": made["before"],
        },
        steps=steps.made,
        strikes=strikes,
        kinds=kinds,
        by_species=by_species,
        landing=box,
        plan=spread.made[1],
        checks=(*box.landing.checks, *box.hookup.checks),
    )
