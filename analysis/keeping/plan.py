"""Owns what a new season begins with: boat, units, waters, and the rods with their gear."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from analysis.errors import UsageError
from analysis.log.wording.spelling import nearest
from analysis.units import UNITS, Units

GEARS = {
    "diver": "diver",
    "rigger": "rigger",
    "leadcore": "weighted line",
    "flat": "flat line",
}
"""Gears that a new boat.toml can describe -> their kinds."""
SIDES = {"P": "port", "S": "starboard", "C": "centre"}
"""What the first letter of a rod's label says of its side."""
USUAL_RODS = "P1 diver, P2 diver, PR rigger, SR rigger, S2 diver, S1 diver"
USUAL_UNITS = "ft, mph, F"
_METRIC = {"m": ("m", "cm", "kg"), "ft": ("ft", "in", "lb")}


@dataclass(frozen=True, kw_only=True)
class UsualRod:
    """A rod as it is usually put in; what the captain did not say is empty."""

    rod: str
    side: str
    gear: str
    setting: str = ""
    line_out: str = ""


@dataclass(frozen=True, kw_only=True)
class Plan:
    """What a new season folder is made from."""

    boat: str
    club: str
    time_zone: str
    units: Units
    water: str
    rods: tuple[UsualRod, ...]

    @property
    def gears(self) -> tuple[str, ...]:
        """The gears towed, in the order of the rods."""
        return tuple(dict.fromkeys(rod.gear for rod in self.rods))


@dataclass(frozen=True, kw_only=True)
class Question:
    """One thing to ask for: the option that tells it, the words, and what is taken unsaid."""

    option: str
    words: str
    default: str


def questions(folder: Path) -> tuple[Question, ...]:
    """Return what to ask for a season folder, in order."""
    name = " ".join(re.sub(r"[-_]|\b(19|20)\d\d\b", " ", folder.resolve().name).split())
    return (
        Question(option="boat", words="Name of the boat", default=name.title() or "My boat"),
        Question(option="club", words="Its club (empty for none)", default=""),
        Question(option="zone", words="Time zone of the clock aboard", default=local_zone()),
        Question(
            option="units",
            words="Units of length, speed and temperature, such as 'm, km/h, C'",
            default=USUAL_UNITS,
        ),
        Question(option="water", words="Name of the water fished (empty for many)", default=""),
        Question(
            option="rods",
            words=f"Rods as usually put in, in that order: label and gear ({', '.join(GEARS)}),"
            " then, where known, setting and line-out, such as 'P1 diver 2 90, PR rigger 50'",
            default=USUAL_RODS,
        ),
    )


def ask(
    asked: tuple[Question, ...], told: dict[str, str | None], answer: Callable[[str], str] | None
) -> dict[str, str]:
    """Return an answer to each question: what was told, else typed, else the default.

    Parameters
    ----------
    asked : tuple of Question
    told : dict
        By option, None for what was not told.
    answer : callable or None
        Shows a prompt and returns what was typed; None takes every default.

    Raises
    ------
    UsageError
        Where nobody answers.
    """
    found = {}
    for question in asked:
        given = told.get(question.option)
        if given is None and answer is not None:
            shown = f" [{question.default}]" if question.default else ""
            try:
                given = answer(f"{question.words}{shown}: ").strip() or None
            except EOFError as error:
                msg = "nobody answers here. Remedy: add --yes to take what is in brackets."
                raise UsageError(msg) from error
        found[question.option] = question.default if given is None else given.strip()
    return found


def plan_of(answers: dict[str, str]) -> Plan:
    """Make a plan of the answers.

    Raises
    ------
    UsageError
        For a time zone, unit, gear or rod that cannot be, with the remedy.
    """
    return Plan(
        boat=answers["boat"] or "My boat",
        club=answers["club"],
        time_zone=_zone(answers["zone"]),
        units=_units(answers["units"]),
        water=answers["water"],
        rods=usual_rods(answers["rods"]),
    )


def local_zone() -> str:
    """Return this machine's time zone by name, ``UTC`` where it does not say."""
    named = os.environ.get("TZ", "").lstrip(":")
    if named in available_timezones():
        return named
    place = Path("/etc/localtime")
    parts = place.resolve().parts if place.is_symlink() else ()
    name = "/".join(parts[parts.index("zoneinfo") + 1 :]) if "zoneinfo" in parts else ""
    return name if name in available_timezones() else "UTC"


def _zone(name: str) -> str:
    try:
        return ZoneInfo(name).key
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        like = nearest(name, available_timezones())
        meant = f"did you mean {like}?" if like else "write one such as Europe/Oslo."
        msg = f"time zone {name!r} is not known. Remedy: {meant}"
        raise UsageError(msg) from error


def _units(text: str) -> Units:
    words = [word.strip() for word in text.split(",")]
    known = {unit.casefold(): unit for units in UNITS.values() for unit in units}
    found = {
        quantity: known.get(word.casefold(), word)
        for quantity, word in zip(("length", "speed", "temperature"), words, strict=False)
    }
    bad = [unit for quantity, unit in found.items() if unit not in UNITS[quantity]]
    if len(words) != 3 or bad:
        choices = "; ".join(", ".join(UNITS[name]) for name in ("length", "speed", "temperature"))
        msg = f"units {text!r} cannot be read. Remedy: one each of {choices}, as 'ft, mph, F'."
        raise UsageError(msg)
    depth, fish_length, fish_weight = _METRIC[found["length"]]
    return Units(depth=depth, fish_length=fish_length, fish_weight=fish_weight, **found)


def usual_rods(text: str) -> tuple[UsualRod, ...]:
    """Read rods with gear, and setting and line-out where known.

    Examples
    --------
    >>> [(r.rod, r.side, r.setting, r.line_out) for r in usual_rods("P1 diver 2 90, SR rigger 50")]
    [('P1', 'port', '2', '90'), ('SR', 'starboard', '', '50')]

    Raises
    ------
    UsageError
        Naming the rod, and what is wrong with it.
    """
    rods = [_rod(item) for item in text.split(",") if item.strip()]
    labels = [rod.rod.casefold() for rod in rods]
    twice = [rod.rod for rod in rods if labels.count(rod.rod.casefold()) > 1]
    if not rods or twice:
        problem = f"rod {twice[0]} stands twice" if twice else "there is no rod"
        msg = f"{problem}. Remedy: write each rod once, as '{USUAL_RODS}'."
        raise UsageError(msg)
    return tuple(rods)


def _rod(item: str) -> UsualRod:
    words = item.split()
    sides = [word.casefold() for word in words if word.casefold() in SIDES.values()]
    words = [word for word in words if word.casefold() not in SIDES.values()]
    label, gear, numbers = words[0], (words[1:2] or ["diver"])[0].casefold(), words[2:]
    side = sides[0] if sides else SIDES.get(label[0].upper(), "")
    problem = ""
    if gear not in GEARS:
        like = nearest(gear, GEARS)
        problem = f"gear {gear!r} is none of {', '.join(GEARS)}" + (f" ({like}?)" if like else "")
    elif not side:
        problem = "its label says no side; write port, starboard or centre behind it"
    elif any(not re.fullmatch(r"\d+([.]\d+)?", number) for number in numbers):
        problem = f"{' '.join(numbers)!r} are no numbers"
    elif len(numbers) > (2 if gear == "diver" else 1):
        problem = "only a diver has a setting: write label, gear, line-out"
    if problem:
        msg = f"rod {item.strip()!r}: {problem}. Remedy: write it as 'P1 diver 2 90'."
        raise UsageError(msg)
    setting = numbers[0] if gear == "diver" and numbers else ""
    line_out = numbers[-1] if numbers and (gear != "diver" or len(numbers) == 2) else ""
    return UsualRod(rod=label, side=side, gear=gear, setting=setting, line_out=line_out)
