"""The sentences of a season: made where its results are put together, of typed answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pandas as pd

from analysis.decision.answer import Answer
from analysis.review.tables import Review
from analysis.show.sentences import plan, season, steps, tackle, year_before
from analysis.show.sentences.answer import best_rows, first_lines
from analysis.units import Units

__all__ = ["best_rows", "first_lines", "told", "worded"]


def worded(review: Review, units: Units) -> Mapping[str, pd.DataFrame]:
    """Return a review's tables, with those rows in words that a page shows so."""
    tables = dict(review.tables)
    return tables | {
        "before": year_before.worded(tables["before"], units),
        "influence": steps.worded(tables["influence"], units),
        "gear_effects": tackle.worded(tables["gear_effects"]),
        "plan": _reasons(tables["plan"], plan.rod_words),
        "clearance": _reasons(tables["clearance"], plan.near_words),
    }


def _reasons(table: pd.DataFrame, say: Callable[[Any], str]) -> pd.DataFrame:
    """Put the reasons of a table in words."""
    words = [say(why) for why in table["why"]]
    return table.assign(why=pd.Series(words, index=table.index, dtype=object))


def told(
    review: Review, answer: Answer, before: Answer | None, units: Units
) -> dict[str, list[str]]:
    """Return the sentences of each part of a review.

    Parameters
    ----------
    review : Review
    answer : Answer
        Of the season reviewed.
    before : Answer or None
        Of the season before.
    units : Units
        To write depths and lengths in.
    """
    tables = worded(review, units)
    strikes, found, box = review.strikes, review.by_species, review.landing
    merged = strikes["species"].nunique() > strikes["kind"].nunique()
    return {
        "season": season.season_sentences(tables["trips"], strikes, units),
        "shares": [steps.shares_sentence(review.steps, answer, units)],
        "cost": season.cost_sentences(tables["cost"], answer),
        "landing": [*tackle.landing_sentences(box, units), *tackle.landing_notes(box)],
        "troubles": tackle.trouble_sentences(tables["troubles"], tables["tangled"], units),
        "gear": [tackle.gear_sentence(tables["gear_effects"], units)],
        "plan": plan.plan_sentences(review.plan, answer, units),
        "species": [
            *season.species_sentences(found, units),
            *season.pooled_sentences(found, review.kinds),
            *([season.RULE] if merged else []),
        ],
        "before": year_before.before_sentences(tables["before"], answer, before, units),
    }
