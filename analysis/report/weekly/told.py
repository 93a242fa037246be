"""Owns what reports of a folder told of each week, and what may be told beside them."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from analysis.report.fingerprints import digest
from analysis.report.weekly.store import Figures, read_json
from analysis.weeks import same_week_last_year, week_before

_WORDS = {
    "boats": "boats",
    "trips": "trips",
    "rod_hours": "rod-hours",
    "strikes": "strikes",
    "landed": "landed",
    "released": "let go",
    "placed": "strikes with rod-hours",
    "species": "species",
    "bands": "depths",
    "unknown_hours": "rod-hours of unknown depth",
    "kinds": "gear",
    "lures": "lures",
}
"""Figures that are sums over boats, as a message calls them. Rates and line-outs come from a model
and quarter points of speed are no sums: no subtraction leaves one boat's."""
_OF_A_BAND = ("low_m", "high_m", "shallower", "deeper", "depth_unknown", "rod_hours")
_SAME = {"rod_hours": 0.5, "unknown_hours": 0.5}
"""Rod-hours are told whole."""
_SAME_ELSE = 0.01


@dataclass(frozen=True, kw_only=True)
class Telling:
    """What one file told of one week: its sums over boats."""

    file: str
    sums: Figures


Tellings = Mapping[str, Sequence[Telling]]
"""Week -> what each file told of it."""


def tellings(out_dir: Path, leaving: Collection[str] = ()) -> Tellings:
    """Read what reports told of each week, whatever their files are called, in all subfolders.

    A report tells of its own week, of the week before and of the same week a year before.

    Parameters
    ----------
    out_dir : Path
    leaving : collection of str
        Names of files that are about to be replaced, and were not handed out.
    """
    found: dict[str, list[Telling]] = {}
    for path in sorted(out_dir.rglob("*.json")):
        file = path.relative_to(out_dir)
        if str(file) in leaving or any(part.startswith(".") for part in file.parts):
            continue
        content = read_json(path)
        if content is None or not _is_report(content):
            continue
        for week, sums in _of(content).items():
            found.setdefault(week, []).append(Telling(file=str(file), sums=sums))
    return found


def _is_report(content: Figures) -> bool:
    return isinstance(content.get("week"), str) and "status" in content and "counts" in content


def _of(report: Figures) -> dict[str, Figures]:
    """Return the sums a report tells, week by week."""
    week = report["week"]
    depth = report.get("depth") or {}
    bands = [{key: band.get(key) for key in _OF_A_BAND} for band in depth.get("bands", [])]
    own = {
        **(report["counts"] or {}),
        "bands": bands,
        "unknown_hours": depth.get("unknown_hours"),
        "kinds": report.get("kinds"),
        "lures": report.get("lures"),
    }
    told = {week: own}
    for key, other in _compared(week).items():
        if report.get(key) is not None:
            told[other] = report[key]
    return told


def _compared(week: str) -> dict[str, str]:
    """Return the weeks that a report compares with, by their key."""
    year_before = same_week_last_year(week)
    return {"last_week": week_before(week)} | ({"last_year": year_before} if year_before else {})


def beside(content: Figures, told: Tellings) -> Figures:
    """Return what may be told of a week beside what was told before.

    Whoever has two reports of a week that differ by one late trip, one log or the height of the
    bands subtracts one from the other and has what one boat did. So a week of which other sums
    were told is held back; and the weeks that it compares with are told as they were before.

    Parameters
    ----------
    content : dict
        A week's figures.
    told : Tellings

    Returns
    -------
    dict
        The figures; or ``week``, ``problem`` (why it is held back) and ``beside`` (a fingerprint
        of what was told of that week).
    """
    week = content["week"]
    before = told.get(week, ())
    for telling in before:
        words = _differing(telling.sums, _of(content)[week])
        if words:
            problem = _problem(week, telling.file, words)
            return {"week": week, "problem": problem, "beside": fingerprint(before)}
    changed = dict(content)
    for key, other in _compared(week).items():
        for telling in told.get(other, ()):
            if content[key] is not None and _differing(telling.sums, content[key]):
                changed[key] = {name: telling.sums.get(name) for name in content[key]}
                break
    return changed


def fingerprint(before: Sequence[Telling]) -> str:
    """Return a fingerprint of what was told of a week."""
    return digest(f"{telling.file}: {telling.sums}" for telling in before)


def _problem(week: str, file: str, words: Sequence[str]) -> str:
    remedy = (
        "run again with --replace"
        if file == f"{week}.json"
        else "take it out of the folder, or make its week anew in the same run with --replace"
    )
    return (
        f"not replaced: {file} told other figures of this week ({', '.join(words)}). Whoever has "
        "both could subtract one from the other and be left with what one boat did. Remedy: if "
        f"that report was not handed out, {remedy}."
    )


def _differing(old: Figures, new: Figures) -> list[str]:
    """Name the sums that both tell, and tell differently."""
    return [words for key, words in _WORDS.items() if _differs(key, old.get(key), new.get(key))]


def _differs(key: str, old: Any, new: Any) -> bool:
    if old is None or new is None:
        return False  # one of them tells nothing
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        return any(_differs(name, old[name], new[name]) for name in old.keys() & new.keys())
    if isinstance(old, list | tuple) and isinstance(new, list | tuple):
        if not (old and new):
            return False
        pairs = zip(old, new, strict=False)
        return len(old) != len(new) or any(_differs(key, a, b) for a, b in pairs)
    if isinstance(old, int | float) and isinstance(new, int | float):
        return abs(old - new) > _SAME.get(key, _SAME_ELSE)
    return bool(old != new)
