"""Owns the tests of findings: one cause is one finding, and carries what followed from it."""

import pandas as pd

from analysis.errors import SET_ASIDE_COLUMNS
from analysis.log.findings import findings_of


def frame(*rows):
    return pd.DataFrame(rows, columns=list(SET_ASIDE_COLUMNS))


def found(aside, changed=(), **told):
    told = {"rod_hours": {}, "strikes": {}} | told
    return findings_of(frame(*aside), frame(*changed), **told)


def test_rows_of_one_cause_are_one_finding():
    casts = [
        ("casts", 40 - n, "temp", f"1{n}.2", "must be at least 28.4 F", "?") for n in range(25)
    ]
    (one,) = found(casts)
    assert one.count == 25
    assert one.lines == tuple(range(16, 41))
    assert one.severity == "changes"
    assert one.value == "124.2"  # that of the first line


def test_what_follows_is_counted_with_its_cause():
    aside = [
        ("trips", 3, "start", "x", "this is not a time", "write it"),
        ("sets", 7, "trip", "T2", "its trip was set aside (trips line 3)", "put it right"),
        ("strikes", 9, "time", "", "its set was set aside (sets line 7); so", "put it right"),
    ]
    (one,) = found(aside, rod_hours={("sets", 7): 2.5}, strikes={("strikes", 9): 1})
    assert (one.table, one.follows, one.rod_hours, one.strikes) == ("trips", 2, 2.5, 1)


def test_the_gravest_and_dearest_come_first():
    aside = [
        ("sets", 2, "gear", "a", "unknown", "r"),
        ("sets", 3, "line_out", "", "missing", "r"),
        ("strikes", 4, "", "", "duplicate row of line 3", "r"),
        ("casts", 5, "temp", "", "missing", "r"),
    ]
    changed = [("sets", 6, "line_out", "6,5", "decimal comma, read as a decimal point", "r")]
    order = found(
        aside,
        changed,
        rod_hours={("sets", 2): 1.0, ("sets", 3): 2.0},
        stopping=frozenset({"casts"}),
    )
    assert [(one.severity, one.table, one.lines[0]) for one in order] == [
        ("stops", "casts", 5),
        ("changes", "sets", 3),
        ("changes", "sets", 2),
        ("cosmetic", "sets", 6),
        ("cosmetic", "strikes", 4),
    ]


def test_a_reading_that_was_not_believed_changes_the_answer():
    why = "this cast has the heavier water on top, as if its depths were turned round: not believed"
    (one,) = found([], [("casts", 2, "temp", "5.0 C", why, "turn it round")])
    assert one.severity == "changes"
