"""Owns the tests of crafted broken logs: one fault each, and the one finding that it must give.

Rows that are kept are doubted (`doubts_of`); rows that cannot be used are set aside. A sound log
gives neither.
"""

import pytest
from crafted_logs import moved, of_trip, sound, written

from analysis.log.doubts import doubts_of


def a_digit_slipped(rows):
    rows["sets"][40]["line_out"] = "1040"


def one_line_out_in_metres(rows):
    for row in rows["sets"]:
        row["line_out"] = "100" if row["rod"] == "S1" else row["line_out"]
    rows["sets"][52]["line_out"] = "30"


def a_trip_in_metres(rows):
    for row in of_trip(rows, "sets", "T9"):
        row["line_out"] = f"{float(row['line_out']) * 0.3048:.0f}"


def a_leader_in_inches(rows):
    rows["sets"][12]["leader_length"] = "72"


def a_speed_without_its_point(rows):
    rows["readings"][30]["speed"] = "15"


def a_surface_with_swapped_digits(rows):
    rows["readings"][3]["surface_temp"] = "46"


def two_probes_that_disagree(rows):
    """Port and starboard ball at 40 ft: on one trip 5 F apart, on the next as probes are."""
    for trip, off in (("T4", 5.0), ("T5", 0.7)):
        port = of_trip(rows, "readings", trip)
        for row in port:
            row.update(depth_temp="52", probe_depth="40")
        rows["readings"] += [row | {"depth_temp": f"{52 + off}"} for row in port]


def a_fish_in_ounces(rows):
    rows["strikes"][5]["weight"] = "88"


def strikes_by_a_clock_an_hour_slow(rows):
    for row in of_trip(rows, "strikes", "T4"):
        row["time"] = moved(row["time"], -60)
    rows["trips"][3]["start"] = "05:30"


def readings_by_a_clock_an_hour_fast(rows):
    for row in of_trip(rows, "readings", "T4"):
        row["time"] = moved(row["time"], 60)


def a_trip_written_twice(rows):
    for table in rows:
        rows[table] += [row | {"trip": "T5b"} for row in of_trip(rows, table, "T5")]


def a_trip_copied_to_another_day(rows):
    for table in ("trips", "sets", "strikes"):
        rows[table] += [row | {"trip": "T99"} for row in of_trip(rows, table, "T5")]
    rows["trips"][-1]["date"] = "2026-08-30"


def hours_without_a_rod(rows):
    rows["trips"][6]["end"] = "12:10"


DOUBTS = [
    (a_digit_slipped, "sets", "line_out", "mostly near", 1),
    (one_line_out_in_metres, "sets", "line_out", "would fit in m", 1),
    (a_trip_in_metres, "sets", "line_out", "only in m", 12),
    (a_leader_in_inches, "sets", "leader_length", "leader of this gear is mostly near 6 ft", 1),
    (a_speed_without_its_point, "readings", "speed", "mostly near 2.4 mph", 1),
    (a_surface_with_swapped_digits, "readings", "surface_temp", "6 °C off", 1),
    (two_probes_that_disagree, "readings", "depth_temp", "2.8 °C apart on that trip", 18),
    (a_fish_in_ounces, "strikes", "weight", "far too heavy", 1),
    (strikes_by_a_clock_an_hour_slow, "strikes", "time", "an hour later", 6),
    (readings_by_a_clock_an_hour_fast, "readings", "time", "an hour earlier", 9),
    (a_trip_written_twice, "trips", "start", "and hours may count twice", 1),
    (a_trip_copied_to_another_day, "trips", "trip", "rod and time of those of line 6", 1),
    (hours_without_a_rod, "trips", "", "no rod was down for 130 minutes", 1),
]


@pytest.mark.parametrize(
    ("fault", "table", "column", "reason", "count"),
    DOUBTS,
    ids=lambda of: getattr(of, "__name__", ""),
)
def test_a_fault_of_kept_rows_is_doubted(read, fault, table, column, reason, count):
    rows = sound()
    fault(rows)
    log = read(casts=None, soaks=None, **written(rows))
    found = doubts_of(log)
    said = found.loc[(found["table"] == table) & found["reason"].str.contains(reason, regex=False)]
    assert (len(said), set(said["column"])) == (count, {column}), found["reason"].unique()
    assert log.set_aside.empty


def test_a_sound_log_is_not_doubted(read):
    log = read(casts=None, soaks=None, **written(sound()))
    assert doubts_of(log).empty
    assert log.set_aside.empty


def test_what_recurs_is_a_habit_and_no_doubt(read):
    rows = sound()
    for row in rows["sets"]:
        if row["rod"] == "C1" and row["time_in"] == "06:00":
            row["line_out"] = "8"  # a rigger just below the surface, at the start of every trip
    assert doubts_of(read(casts=None, soaks=None, **written(rows))).empty


def test_a_doubt_says_what_the_cell_would_be(read):
    rows = sound()
    one_line_out_in_metres(rows)
    (metres,) = doubts_of(read(casts=None, soaks=None, **written(rows))).to_dict("records")
    assert (metres["row"], metres["value"], metres["becomes"]) == (54, "30", "98.43")
    rows = sound()
    strikes_by_a_clock_an_hour_slow(rows)
    shifted = doubts_of(read(casts=None, soaks=None, **written(rows)))
    # T4 is of 10 June; its first strike was at 07:00, and was written as 06:00
    assert shifted.iloc[0][["value", "becomes"]].tolist() == [
        "2026-06-10 06:00",
        "2026-06-10 07:00",
    ]


def test_a_clock_off_just_after_clocks_changed_says_so(read):
    rows = sound()
    rows["trips"][0]["date"] = "2026-03-31"  # clocks of Oslo went forward on 29 March 2026
    for row in of_trip(rows, "readings", "T1"):
        row["time"] = moved(row["time"], 60)
    (remedy,) = set(doubts_of(read(casts=None, soaks=None, **written(rows)))["remedy"])
    assert "clocks were changed shortly before" in remedy
