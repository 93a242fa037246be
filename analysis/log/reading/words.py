"""Owns words as people type them: sides, outcomes, endings, gears, species, in our spelling."""

from collections import Counter
from collections.abc import Collection, Mapping, Sequence

import numpy as np

from analysis.log.reading.draft import Draft
from analysis.log.rods import SIDES_IN_SHORT
from analysis.log.schema import fields_of
from analysis.log.wording.settings import Wording
from analysis.log.wording.spelling import bare, surely

# what an English log says in short (common practice, no source); other languages by [values]
_SHORT: Mapping[str, Mapping[str, str]] = {
    "side": SIDES_IN_SHORT,
    "outcome": {
        **dict.fromkeys(("boated", "inboat", "kept", "netted", "inthebox"), "landed"),
        **dict.fromkeys(("rel", "letgo", "cr", "catchandrelease", "putback"), "released"),
        **dict.fromkeys(("off", "cameoff", "gotoff", "lostit", "threwhook"), "lost"),
        **dict.fromkeys(("miss", "nohookup", "nohook", "shortstrike"), "missed"),
    },
    "ended_by": {
        **dict.fromkeys(("hit", "fish", "bite"), "strike"),
        **dict.fromkeys(("move", "changed", "reset"), "moved"),
        **dict.fromkeys(("tangled", "fouled"), "tangle"),
        **dict.fromkeys(("falserel", "release"), "false release"),
        **dict.fromkeys(("done", "endoftrip", "linesout", "pulled"), "end"),
    },
    "what": {"out": "out", "down": "in"},
    "speed_kind": {"stw": "water", "sog": "ground", "gps": "ground", "throughwater": "water"},
}
_RARE = 3
_LONG_ENOUGH = 6


def read_words(drafts: Sequence[Draft], wording: Wording, gears: Collection[str]) -> None:
    """Bring words that we know into our spelling, each by itself; what may be two stays.

    Parameters
    ----------
    drafts : sequence of Draft
        The tables, changed in place.
    wording : analysis.log.wording.settings.Wording
    gears : collection of str
        Names of the boat's gears.
    """
    if not wording.reads("words"):
        return
    for draft in drafts:
        for field in fields_of(draft.name):
            if field.name not in draft.frame:
                continue
            if field.kind == "choice":
                _choices(draft, field.name, field.choices)
            elif field.name == "gear":
                _choices(draft, "gear", gears)
            elif field.name == "species":
                _species(draft)


def _choices(draft: Draft, column: str, known: Collection[str]) -> None:
    short = _SHORT.get(column, {})

    def read(word: str) -> tuple[str, str]:
        if not word or word in known:
            return word, ""
        meant = [short[bare(word)]] if bare(word) in short else surely(word, known)
        # capitals alone are told only for gears: the four outcomes are the same in any
        how = f"read as {meant[0]}" if len(meant) == 1 else ""
        return (meant[0], how) if how else (word, "")

    draft.each(column, read)
    _tell_rivals(draft, column, known)


def _tell_rivals(draft: Draft, column: str, known: Collection[str]) -> None:
    """Set aside the rows of a word that may be two of those known."""
    text = draft.frame[column]
    for word in set(text.unique()) - {*known, ""}:
        rivals = surely(str(word), known)
        if len(rivals) > 1:
            reason = f"this may be {' or '.join(rivals)}"
            remedy = f'write which, or "{word}" = "..." under [values.{column}] in boat.toml'
            draft.doubt(column, (text == word).to_numpy(), reason, remedy)


def _species(draft: Draft) -> None:
    """Spell each species as the log mostly does; a slip of one letter is one where it is rare."""
    text = draft.frame["species"]  # a name without letters or digits is left as it is
    counts = Counter(
        {str(word): int(n) for word, n in text.value_counts().items() if bare(str(word))}
    )
    usual: dict[str, str] = {}
    for word, _ in sorted(counts.items(), key=lambda item: (-item[1], item[0])):
        usual.setdefault(bare(word), word)
    weights: Counter[str] = Counter()
    for word, number in counts.items():
        weights[usual[bare(word)]] += number
    ours = {word: _slip_of(usual[bare(word)], weights) for word in counts}
    new = text.map(lambda word: ours.get(word, word)).to_numpy(dtype=object)
    how = np.array([f"read as {word}, as this log mostly spells it" for word in new], dtype=object)
    draft.put("species", new, how)


def _slip_of(word: str, weights: Counter[str]) -> str:
    """Return the one frequent name of which a rare one is a slip of one letter, else itself."""
    if len(word) < _LONG_ENOUGH:
        return word
    frequent = [
        name
        for name, weight in weights.items()
        if weight >= _RARE * weights[word] and _one_apart(bare(word), bare(name))
    ]
    return frequent[0] if len(frequent) == 1 else word


def _one_apart(one: str, other: str) -> bool:
    """Whether one letter more, less, other or swapped makes one word the other.

    Examples
    --------
    >>> _one_apart("lake trout", "lake trouit"), _one_apart("brown trout", "brook trout")
    (True, False)
    """
    short, long = sorted((one, other), key=len)
    start = next(
        (i for i, (a, b) in enumerate(zip(short, long, strict=False)) if a != b), len(short)
    )
    if len(short) == len(long):
        swapped = short[:start] + short[start + 1 : start + 2] + short[start : start + 1]
        return short[start + 1 :] == long[start + 1 :] or swapped + short[start + 2 :] == long
    return len(long) == len(short) + 1 and short[start:] == long[start + 1 :]
