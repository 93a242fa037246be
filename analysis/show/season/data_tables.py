"""Owns the tables of the data page: what was read, set aside, missing, checked, and with what."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence

import pandas as pd

from analysis import labels
from analysis.result_rows import Check, Choice, Found, Gap, RowsRead, Way, records
from analysis.show.base.html import Fragment, bullets, fold, paragraph
from analysis.show.base.tables import Table, by_log, from_rows
from analysis.show.season.log_words import cost_words, kept_of
from analysis.summary import Summary
from analysis.units import Units

_IN_SIGHT = 5
"""Findings that are not folded away, of all logs together."""
_MOST_PROBLEMS = 200
"""Lines of a table of problems; what is more stands in the result file only."""


def rows_read(rows: pd.DataFrame) -> Table:
    """Return how many rows of each table were kept of those read, one line a log."""
    return by_log(
        {(row.log, row.table): kept_of(row.kept, row.read) for row in records(RowsRead, rows)},
        "Rows kept of those read",
    )


def findings(tables: Mapping[str, pd.DataFrame]) -> Fragment:
    """Return what reading the logs found: what to correct first as one short list, all folded.

    Parameters
    ----------
    tables : mapping
        The result tables; those made before there were findings say so.
    """
    if "findings" not in tables:
        return paragraph("These results do not list findings.", "absent")
    rows = records(Found, tables["findings"])
    if not rows:
        nothing = "Every row of the log counts and is read as it is written."
        return paragraph(nothing, "absent")
    logs = {
        log: [row for row in rows if row.log == log] for log in dict.fromkeys(r.log for r in rows)
    }
    each = max(_IN_SIGHT // len(logs), 1)
    first = [row for found in logs.values() for row in found[:each] if row.severity != "cosmetic"]
    page = Fragment()
    if first:
        page += paragraph("To correct first:") + bullets([_to_correct(row) for row in first])
    for log, found in logs.items():
        whole = f"{log}: {labels.count(len(found), 'finding')} of its reading ({_sum(found)})"
        page += fold(whole, _findings(found[:_MOST_PROBLEMS], whole).html)
    return page + paragraph("set_aside.csv and changed.csv in the folder tables list every row.")


def _to_correct(row: Found) -> str:
    """Say where a finding is and what to do about it."""
    cost = cost_words(row.rod_hours, row.strikes)
    found = _what(row)
    return (
        f"{row.log}, {_where(row)}{f' ({found})' if found else ''}: {row.remedy}"
        f"{f'; {cost}' if cost else ''}."
    )


def _where(row: Found) -> str:
    return f"{row.table}, line {_first_lines(list(map(int, row.lines.split())))}"


def _what(row: Found) -> str:
    """Write a finding's cell, and how many more there are alike."""
    more = f" and {labels.number(row.count - 1)} more" if row.count > 1 else ""
    value = f" {row.value!r}" if row.value else ", empty"
    return f"{row.column}{value}{more}" if row.column else more.strip()


_KINDS = {"stops": "Stops", "changes": "Changes the answer", "cosmetic": "Cosmetic"}


def _kind(row: Found) -> str:
    return "In doubt" if row.doubted else _KINDS[row.severity]


def _sum(rows: Sequence[Found]) -> str:
    """Count findings by what they do."""
    counts = Counter(_kind(row).lower() for row in rows)
    return ", ".join(f"{kind}: {count}" for kind, count in counts.items())


def _findings(rows: Sequence[Found], caption: str) -> Table:
    """List findings, a line each."""
    told = []
    for row in rows:
        cost = cost_words(row.rod_hours, row.strikes)
        on_it = " rest on it" if row.doubted else ""
        weight = f"{_kind(row)}: {cost}{on_it}" if cost else _kind(row)
        told.append((_where(row), _what(row), row.reason, weight, row.remedy))
    return from_rows(caption, ("Where", "Found", "Why", "What it costs", "Remedy"), told)


def _first_lines(numbers: list[int], most: int = 3) -> str:
    """Write the first runs of lines."""
    runs = lines(numbers).split(", ")
    return ", ".join(runs[:most]) + (", ..." if len(runs) > most else "")


def _of_log(logs: Sequence[str], mark: str) -> Callable[[str], str]:
    """Return how a place is prefixed with its log: not at all where there is one log only."""
    several = len(set(logs)) > 1
    return lambda log: f"{log}{mark}" if several else ""


def lines(numbers: list[int]) -> str:
    """Write lines of a file, runs of them as a range.

    Examples
    --------
    >>> lines([7, 3, 4, 5])
    '3–5, 7'
    """
    runs: list[list[int]] = []
    for line in sorted(numbers):
        if runs and line == runs[-1][-1] + 1:
            runs[-1].append(line)
        else:
            runs.append([line])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in runs)


def gaps(frame: pd.DataFrame) -> Table:
    """Return what the logs lack, what that costs the answer, and what would fill it."""
    found = records(Gap, frame)
    of_log = _of_log([row.log for row in found], ": ")
    rows = [(of_log(row.log) + row.what, row.cost, row.remedy) for row in found]
    headings = ("Missing", "What it costs", "What would fill it")
    nothing = "The log has no gap that costs."
    return from_rows("Gaps in the log", headings, rows, nothing=nothing)


def checks(frame: pd.DataFrame) -> Table:
    """Return the checks of the fit, passed or not, each failure with its next step."""
    rows = [
        (
            row.name,
            "passed" if row.passed else "did not pass",
            row.finding if row.passed else f"{row.finding}. {row.next_step}",
        )
        for row in records(Check, frame)
    ]
    headings = ("Check", "Result", "Found, and what to do about it")
    return from_rows("Checks of the model", headings, rows, nothing="No model was fitted.")


def choice(frame: pd.DataFrame, why: str) -> Table:
    """Return how well each model predicted trips it had not seen, and its weight in the answer.

    Parameters
    ----------
    frame : pandas.DataFrame
        The result table ``choice``.
    why : str
        The rule of the choice and what came of it, as the summary has them.
    """
    models = records(Choice, frame)
    rows = [
        (
            row.model,
            f"{row.score:+.1f} ± {row.score_se:.1f}" if row.score_se > 0 else "–",
            labels.percent(row.weight) if row.weight > 0 else "not used",
        )
        for row in models
    ]
    headings = ("Model", "Gained per 100 strikes", "Weight")
    return from_rows(
        "What each model gained over a constant rate in telling which rod took a strike: log "
        "probability per 100 strikes of trips it had not seen, ± standard error. "
        f"{labels.opening(why)}",
        headings,
        rows,
        numbers=headings[1:],
        named=tuple(row.chosen for row in models),
        nothing=f"No models were compared: {why}.",
    )


WAYS = {
    "same time": "rods down at the same time (this review)",
    "trip hour": "rods of the same trip and hour",
    "trip": "rods of the same trip",
    "trip hour gamma": "all, each trip hour with a gamma effect",
    "season": "all days and hours pooled, as if alike",
    "poisson glm": "a Poisson GLM of bands and months, trips as clusters",
    "negative binomial glm": "a negative binomial GLM of bands and months",
}


def sensitivity(frame: pd.DataFrame, units: Units) -> Table:
    """Return the best band by each way to account for days and hours.

    Parameters
    ----------
    frame : pandas.DataFrame
        The result table ``sensitivity``; without rows where it was not asked for.
    units : Units
    """
    headings = ("What is compared", "Best band", "Over the usual", "90 % interval", "Chance")
    ways = records(Way, frame)
    best = [
        max((row for row in ways if row.strata == strata), key=lambda row: row.p_best)
        for strata in dict.fromkeys(row.strata for row in ways)
    ]
    rows = [
        (
            WAYS[row.strata],
            labels.band(row.band_low_m, row.band_high_m, units),
            labels.ratio(row.ratio),
            labels.interval(row.low, row.high, labels.ratio),
            labels.chance(row.p_best),
        )
        if row.status == "fitted"
        else (WAYS[row.strata], f"not told: {row.status}", "–", "–", "–")
        for row in best
    ]
    caption = (
        "The season's best band by the field's other models, its rate over the usual of the judged "
        "bands (their geometric mean), and the chance that it is the best. The lower a line, the "
        "more its model trusts that rods were not moved to where fish had just struck. Where the "
        "bands differ, rods followed the fish, or too few strikes tell: the answer of this review "
        "stays that of the first line."
    )
    return from_rows(
        caption,
        headings,
        rows,
        numbers=headings[2:],
        nothing="The field's other models were not fitted, or fewer than two bands could be "
        "judged: rodhours review --sensitivity compares them.",
    )


def provenance(summary: Summary, units: Units) -> Table:
    """Return with what the review was made: model, version and parameters."""
    parameters = summary["parameters"]
    rows = [
        ("Model or models used", summary["model"] or "none"),
        ("Formula, with the terms of all models used", summary["formula"] or "–"),
        ("Height of the bands", labels.amount(parameters["band_m"], "depth", units)),
        *((name, str(value)) for name, value in parameters.items() if name != "band_m"),
        ("Version of rodhours", summary["version"]),
    ]
    return from_rows("How the review was made", ("What", "Value"), rows)


def hashes(summary: Summary) -> Table:
    """Return the fingerprint of each file read, shortened to what tells files apart."""
    places = [(name.rpartition("/"), str(digest)[:8]) for name, digest in summary["hashes"].items()]
    cells = {(log, table): text for (log, _, table), text in places}
    return by_log(cells, "Files read: the first eight digits of their SHA-256")
