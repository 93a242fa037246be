"""Owns the species of a season: spellings gathered, strikes counted, bands judged for each."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from difflib import SequenceMatcher
from functools import partial

import numpy as np
import pandas as pd

from analysis.decision.answer import Answer, answer
from analysis.rates.model_averaging import Member
from analysis.rates.standardised import TemperatureAt
from analysis.result_schema import RESULTS
from analysis.stats.beside import Errand

ALIKE = 0.85
"""Likeness (difflib, 0 to 1) at which a rarer spelling is taken for a more frequent one."""
FEWEST_STRIKES = 60
"""Strikes that compare rods which a species needs for bands of its own."""
REFITS, DRAWS = 8, 200
"""Half of the season's: what a species likes is read to fewer digits."""
OUTCOMES = ("landed", "released", "lost", "missed")


def spellings(names: Iterable[str]) -> dict[str, str]:
    """Gather the spellings of species by the stated rule (`RULE`).

    Parameters
    ----------
    names : iterable of str
        The species of every strike as logged; an empty one stays empty.

    Returns
    -------
    dict
        Each name as logged to the name of its species.

    Examples
    --------
    >>> found = spellings(["lake trout"] * 9 + ["Lake  Trout", "lake truot", "lk trout", "trout"])
    >>> sorted(name for name, species in found.items() if species == "lake trout")
    ['Lake  Trout', 'lake trout', 'lake truot', 'lk trout', 'trout']
    >>> spellings(["lake trout", "brown trout", "trout"])["trout"]
    'trout'
    """
    counts = Counter(names)
    plain: dict[str, Counter[str]] = {}
    for name, count in counts.items():
        plain.setdefault(_words(name), Counter())[name.strip()] += count
    # The most frequent come first, so that each rarer one can be taken for one of those.
    order = sorted(plain, key=lambda words: (-plain[words].total(), words))
    heads: list[str] = []
    of: dict[str, str] = {}
    for words in order:
        of[words] = _alike(words, heads) or words
        if words and of[words] == words:
            heads.append(words)
    # The longest first: 'salmon' must find that 'landl. salmon' is no second salmon.
    for short in sorted(heads, key=lambda words: (-len(words), words)):
        longer = {of[long] for long in heads if long != short and _shortens(short, long)}
        longer.discard(of[short])
        if len(longer) == 1:
            one = longer.pop()
            kept, gone = sorted((one, of[short]), key=order.index)
            of = {words: kept if head == gone else head for words, head in of.items()}
    title = {words: _title(plain[words]) for words in of.values()}
    return {name: title[of[_words(name)]] for name in counts}


def _title(counted: Counter[str]) -> str:
    """Return the spelling used most; of equals the first by the alphabet."""
    return min(counted, key=lambda name: (-counted[name], name))


def _words(name: str) -> str:
    """Return a name in small letters, its punctuation turned into single spaces."""
    return " ".join(re.findall(r"[^\W_]+", name.casefold()))


def _alike(words: str, heads: list[str]) -> str | None:
    """Return the more frequent name that this one is most like, if it is like enough."""
    letters = words.replace(" ", "")
    likeness = [SequenceMatcher(None, letters, head.replace(" ", "")).ratio() for head in heads]
    best = int(np.argmax(likeness)) if likeness else 0
    return heads[best] if likeness and likeness[best] >= ALIKE else None


def _shortens(short: str, long: str) -> bool:
    """Whether each word of a name begins a word of a longer one, in the same order."""
    rest = iter(long.split())
    return all(any(word.startswith(part) for word in rest) for part in short.split())


def species_table(strikes: pd.DataFrame) -> pd.DataFrame:
    """Count what became of the strikes of each species, and find the biggest fish.

    Parameters
    ----------
    strikes : DataFrame
        All kept strikes with ``species`` as logged, ``kind`` the species it is taken for,
        ``outcome``, ``length_m`` and ``weight_kg``; also those that no rate can use.

    Returns
    -------
    DataFrame
        ``species`` (empty for fish not seen), ``spelt_as`` (every spelling with its count),
        ``strikes``, one column an outcome, ``not_logged`` (strikes without outcome),
        ``biggest_length_m``, ``biggest_weight_kg``; most strikes first.
    """
    rows = []
    for kind, group in strikes.groupby("kind", sort=False):
        outcome = Counter(group["outcome"])
        counted = Counter(group["species"])
        rows.append(
            {
                "species": kind,
                "spelt_as": "; ".join(f"{name} ({n})" for name, n in counted.most_common()),
                "strikes": len(group),
                **{name: outcome[name] for name in OUTCOMES},
                "not_logged": len(group) - sum(outcome[name] for name in OUTCOMES),
                "biggest_length_m": group["length_m"].max(),
                "biggest_weight_kg": group["weight_kg"].max(),
            }
        )
    table = pd.DataFrame(rows, columns=RESULTS["species"].unworded)
    return table.sort_values(["strikes", "species"], ascending=[False, True], ignore_index=True)


def species_answers(
    season: Answer, kinds: np.ndarray, temperature_at: TemperatureAt, rng: np.random.Generator
) -> dict[str, Errand[Answer]]:
    """Ask to judge the bands of each species with enough strikes, by the season's fullest model.

    One model, not the season's mixture: its curves shrink away where a species' strikes do not
    ask for them, and a mixture weighed by all species says nothing of one.

    Parameters
    ----------
    season : Answer
        The answer for all species; the terms are fitted anew to each species' strikes.
    kinds : (strikes,) array of str
        Species of each placed strike, in the order of ``season.exposure.strike_row``.
    temperature_at : callable
    rng : numpy.random.Generator

    Returns
    -------
    dict of str to Errand
        Species named and with at least ``FEWEST_STRIKES`` placed strikes, most strikes first. A
        single species has none: its answer is the season's.
    """
    counted = Counter(str(kind) for kind in kinds if kind)
    enough = [kind for kind, count in counted.most_common() if count >= FEWEST_STRIKES]
    if len(counted) < 2:
        return {}
    alone = {"fullest": Member(model=season.choice.model, weight=1.0)}
    choice = replace(season.choice, members=alone)
    seeds = rng.spawn(len(enough))

    def judged(kind: str, draws: np.random.Generator) -> Answer:
        chosen = season.exposure.with_strikes(kinds == kind)
        edges = season.hours.edges_m
        return answer(
            chosen,
            temperature_at,
            edges,
            draws,
            choice=choice,
            checked=False,
            effects=False,
            log_caps=season.log_caps,
            refits=REFITS,
            draws=DRAWS,
        )

    return {
        kind: Errand(partial(judged, kind, draws))
        for kind, draws in zip(enough, seeds, strict=True)
    }


def species_bands(answers: Mapping[str, Answer]) -> pd.DataFrame:
    """Return the bands of each species: the columns of ``bands.csv`` after ``species``."""
    frames = [found.table.assign(species=kind) for kind, found in answers.items()]
    if not frames:
        return pd.DataFrame(columns=list(RESULTS["species_bands"].names))
    table = pd.concat(frames, ignore_index=True)
    return table[["species", *table.columns.drop("species")]]
