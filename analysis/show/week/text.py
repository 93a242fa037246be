"""Owns the weekly report as plain text: short, and without anything a message board obeys."""

import unicodedata
from math import isnan

from analysis import labels
from analysis.show.week import words as week_words
from analysis.show.week.tables import line_out_range, line_outs_for
from analysis.units import Units
from analysis.weekly.figures import Counts, LineOut, WeekReport

MOST_CHARACTERS = 1200
"""The text stays below this."""

_DEFUSED = str.maketrans(
    {"<": "‹", ">": "›", "[": "(", "]": ")", "{": "(", "}": ")", "&": "+", "@": "(at)"}
    | dict.fromkeys("*_~`#|\\", "'")
)
"""Signs that boards read as markup, links or mentions, and what stands in their place."""

_CAUTION = (
    "Past fishing, no advice on safety. Weather, flotation, limits, licences and eating fish: see "
    "the report's cautions."
)


def plain(text: str) -> str:
    """Return typed-in text on one line without anything a message board would obey.

    Examples
    --------
    >>> plain("<b>Silver</b> & [url=x]Co[/url]")
    '‹b›Silver‹/b› + (url=x)Co(/url)'
    >>> plain("two" + chr(10) + "lines" + chr(0x202E) + chr(27) + "(31m")
    'two lines(31m'
    """
    kept = "".join(
        " " if char.isspace() else char
        for char in text
        if char.isspace() or unicodedata.category(char)[0] != "C"
    )
    return " ".join(kept.split()).translate(_DEFUSED).replace("://", ": //")


def text(week: WeekReport) -> str:
    """Return the week as a text of fewer than `MOST_CHARACTERS` characters.

    Lines that say least are left out first where it would be longer; whole lines, never half.
    """
    lines = [plain(line) for line in _lines(week) if line]
    # What is left out first, by what a line begins with; the headline and the caution stay.
    for start in ("Not known", "Last week", "Strikes", "Try", "Line-out", "Depth"):
        if _length(lines) < MOST_CHARACTERS:
            break
        lines = [line for line in lines if not line.startswith(start)]
    head = lines[0]
    if _length(lines) >= MOST_CHARACTERS:
        room = len(head) - (_length(lines) - MOST_CHARACTERS) - 2
        lines[0] = f"{head[: max(room, 20)]}…"
    return "\n".join(lines) + "\n"


def _length(lines: list[str]) -> int:
    return sum(len(line) + 1 for line in lines)


def _lines(week: WeekReport) -> list[str]:
    lines = [week_words.subject(week), week_words.headline(week)]
    if week.counts is None:
        tries = week_words.try_next(week)
        return [*lines, *(f"Try: {line}" for line in tries[:1]), _CAUTION]
    lines += [week_words.tally(week.counts), week_words.species(week.counts)]
    lines += _compared(week)
    sure = " ".join(line for line in (week_words.certainty(week), week_words.caps(week)) if line)
    lines.append(f"Depth: {sure}" if sure else "")
    lines += _line_outs(week)
    lines += [f"Try: {line}" for line in week_words.try_next(week)[:3]]
    lines += [f"Not known: {line}" for line in week_words.not_known(week)[:2]]
    return [*lines, _CAUTION]


def _brought(counts: Counts) -> str:
    """Say the strikes and rod-hours of a week, or which of them may not be told."""
    hours = "" if counts.rod_hours is None else f"{labels.number(counts.rod_hours)} rod-hours"
    strikes = "" if counts.strikes is None else labels.count(counts.strikes, "strike")
    if hours and strikes:
        return f"{strikes} in {hours}"
    secret = "strikes" if hours else "rod-hours" if strikes else "strikes and rod-hours"
    return f"{hours or strikes} ({secret} not told)".strip()


def _compared(week: WeekReport) -> list[str]:
    """Say what last week and the same week last year brought."""
    told = []
    for counts, when in ((week.last_week, "last week"), (week.last_year, "same week last year")):
        if counts is not None:
            told.append(f"{when} {_brought(counts)}")
    line = ", ".join(told)
    return [f"{line[0].upper()}{line[1:]}."] if line else []


def _line_outs(week: WeekReport) -> list[str]:
    """Say what the commonest settings let out; all of them stand in the report."""
    if not week.line_outs:
        return []
    units = week_words.units_of(week)
    told = [
        _line_out(line, units.first)
        for line in week.line_outs
        if not isnan(line.line_out_m) and line.setting in (None, 1.0, 2.0, 3.0)
    ]
    if not told:
        return []
    ranged = any(line.endswith(")") for line in told)
    other = "nine times in ten" if week.target_why == "water" else "these do as well"
    brackets = f" (in brackets, {other})" if ranged else ""
    return [f"{line_outs_for(week)}, {units.first.length}{brackets}: {', '.join(told)}."]


def _line_out(line: LineOut, units: Units) -> str:
    """Write a line-out and its range in figures alone."""
    setting = "" if line.setting is None else f" set {line.setting:g}"
    out = labels.line_outs(line.line_out_m, line.line_out_m, units).partition(" ")[0]
    ends = labels.line_outs(*line_out_range(line), units).partition(" ")[0]
    return f"{line.gear}{setting} {out}" + (f" ({ends})" if ends != out else "")
