"""Owns the tests of gaps: each is found where it is, and not where it is not."""

from dataclasses import replace

import numpy as np
import pytest

from analysis.effort import count_effort, coverage
from analysis.effort.gaps import Further, without_hours
from analysis.log import read_log


@pytest.fixture
def gaps(costs):
    """Return the gaps of the usual season, changed as told, as texts of what is missing."""

    return lambda **changes: list(costs(**changes))


@pytest.fixture
def costs(counted):
    """Return the same gaps as texts of what is missing to texts of what it costs."""

    def of(doubt_m=0.5, **changes):
        log, effort = counted(**changes)
        doubt = np.broadcast_to(doubt_m, len(effort.slices))
        found = coverage(log, effort, doubt)
        for gap in found:
            assert all([gap.what, gap.cost, gap.remedy])
        return {gap.what: gap.cost for gap in found}

    return of


# six of 17 h 50 min: the night trip has ground speed, the rigger no leader length
USUAL = [
    "no species in 1 of 3 strikes",
    "only speed over ground for 34 % of rod-hours",
    "no leader length for 34 % of rod-hours",
]


def test_usual_season(gaps):
    assert gaps() == USUAL


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"sets": None}, "no trip has set records"),
        ({"doubt_m": np.nan}, "no temperature casts"),
        ({"soaks": None}, "no soaks: no gear of this boat was measured with a depth logger"),
        ({"readings": None}, "no speed for all rod-hours"),
        ({"readings": None}, "no surface temperature for all rod-hours"),
        ({"strikes": "trip,time,rod\n"}, "the log has no strike"),
    ],
)
def test_absent_tables(gaps, changes, what):
    assert what in gaps(**changes)


def without(text, *starts):
    lines = text.splitlines(keepends=True)
    return "".join(line for line in lines if not line.startswith(starts))


def test_partial_gaps(gaps, season_files):
    files = season_files
    assert "1 of 2 trips have no set records" in gaps(sets=without(files.SETS, "T2"))
    assert "no soaks of rigger" in gaps(soaks=without(files.SOAKS, "rigger"))
    assert "no speed for 34 % of rod-hours" in gaps(readings=without(files.READINGS, "T2"))
    assert "no leader length for 67 % of rod-hours" in gaps(
        sets=files.SETS.replace("120,,8,", "120,,,")
    )
    assert "no lure for 34 % of rod-hours" in gaps(sets=files.SETS.replace("blue plug", ""))
    assert "no outcome in 1 of 3 strikes" in gaps(strikes=files.STRIKES.replace("missed", ""))


def test_rows_that_cost(gaps, season_files):
    files = season_files
    assert "1 of 5 sets cannot be used (line_out: missing)" in gaps(
        sets=files.add("sets", "T1,P2,port,diver,1,,,6,spoon,06:00,08:00,")
    )
    assert "1 set reaching into the rod's next set or out of the trip" in gaps(
        sets=files.add("sets", "T1,S1,starboard,rigger,,70,,,plug,10:00,11:00,end")
    )
    assert "1 of 4 strikes fell when no set of their rod was down" in gaps(
        strikes=files.add("strikes", "T1,08:05,P1,lake trout,missed,,,")
    )
    assert "1 strike in the file cannot be used" in gaps(
        strikes=files.add("strikes", "T1,dawn,P1,lake trout,missed,,,")
    )
    assert "1 of 3 trips cannot be used" in gaps(
        trips=files.add("trips", "T3,2026-07-12,dawn,12:00,,,")
    )


def test_layers_in_doubt_are_told_with_how_far_they_may_lie_off(gaps):
    told = [gap for gap in gaps(doubt_m=2.5) if "layers" in gap]
    assert told == [
        "no cast near enough in time for all rod-hours: the water's layers may lie about 8 ft off"
        " where they are taken to be"
    ]


def test_what_further_thermometers_would_buy_is_told_in_the_boats_unit(counted):
    log, effort = counted()
    further = Further(
        now_m=3.048, fortnight_m=2.1336, probe_m=1.2192, logger_m=0.9144, each_trip_m=0.6096
    )
    doubt = np.full(len(effort.slices), np.nan)
    found = coverage(log, effort, doubt, further=further, unseen=True)
    (gap,) = [gap for gap in found if gap.what.startswith("no temperature casts, nor")]
    assert "read from the strikes themselves" in gap.cost
    assert gap.remedy == (
        "the thermometers leave the layers' depth in doubt by about 10 ft; a cast a fortnight"
        " would leave 7 ft, a probe at the ball on each trip 4 ft, a logger on one line on"
        " each trip 3 ft, a cast on each trip 2 ft"
    )
    units = replace(log.boat.units, depth="m")
    metric = replace(log, boat=replace(log.boat, units=units))
    (gap,) = [
        gap
        for gap in coverage(metric, effort, doubt, further=further, unseen=True)
        if gap.what.startswith("no temperature casts, nor")
    ]
    assert "about 3.0 m; a cast a fortnight would leave 2.1 m" in gap.remedy
    assert gap.remedy.endswith("on each trip 0.9 m, a cast on each trip 0.6 m")


def test_gap_says_how_many_strikes_and_rod_hours_it_costs(costs, season_files):
    """The usual season: 17 h 50 min of sets, three strikes, all in them."""
    files = season_files
    assert "leaves out 3 strikes in 18 rod-hours" in costs(doubt_m=np.nan)["no temperature casts"]
    assert "told: 3 strikes in 18 rod-hours" in costs(readings=None)["no speed for all rod-hours"]
    # `rates.join` gives such a slice the boat's usual speed, so each rigger has a depth there
    assert "usual speed" in costs(readings=None)["no speed for all rod-hours"]
    night = costs(readings=without(files.READINGS, "T2"))["no speed for 34 % of rod-hours"]
    assert "told: 1 strike in 6 rod-hours" in night
    bare = costs(sets=without(files.SETS, "T2"))["1 of 2 trips have no set records"]
    assert bare.startswith("their 1 strike count")
    overlap = files.add("sets", "T1,S1,starboard,rigger,,70,,,plug,10:00,11:30,end")
    cut = costs(sets=overlap)["1 set reaching into the rod's next set or out of the trip"]
    assert cut.endswith(": 2.0 rod-hours less")  # 06:00 to 12:00, the next one in at 10:00
    lost = costs(
        trips=files.TRIPS.replace("2026-07-10 20:00", "dawn"),
    )["1 of 2 trips cannot be used"]
    assert lost.endswith("not the hours of their 1 set, not their 1 strike")


def test_log_whose_sets_are_all_of_no_use_says_why(counted, costs, season_files):
    sets = season_files.SETS
    lines = sets.splitlines()
    zero = "\n".join(
        [lines[0]]
        + [",".join([*row[:10], row[9], row[11]]) for row in (x.split(",") for x in lines[1:])]
    )
    what = "4 of 4 sets cannot be used (time_out: it lasts no time at all)"
    assert next(iter(costs(sets=zero))) == what
    assert without_hours(*counted(sets=zero)) == f"no rod-hours: {what}"
    assert without_hours(*counted(sets=None)) == "no rod-hours: no trip has set records"
    assert without_hours(*counted()) == ""


def test_commonest_reason_of_unusable_sets_is_told(gaps, season_files):
    bad = season_files.add(
        "sets",
        "T1,P2,port,diver,1,,,6,spoon,06:00,08:00,",
        "T1,P2,port,diver,1,,,6,spoon,08:00,09:00,",
        "T1,P2,port,oar,1,50,,6,spoon,10:00,11:00,",
    )
    assert "3 of 7 sets cannot be used (most often line_out: missing)" in gaps(sets=bad)


def rods(season_files, text):
    head, rest = season_files.BOAT.split("[rods]\n")
    return f"{head}[rods]\n{text}\n{rest[rest.index('[gear.diver]') :]}"


def test_entries_of_boat_toml_that_no_rod_has_are_told(costs, season_files):
    idle = costs(boat=rods(season_files, "counter_scale = { p1 = 1.1, P9 = 1.5 }"))
    what = "counter_scale in boat.toml names P9, which never fishes in this log"
    assert idle[what] == "the entry changes nothing"
    assert not any("p1" in gap for gap in idle)
    heights = costs(boat=rods(season_files, "tip_height_m = { s1 = 1.0, Q = 2.0 }"))
    assert "tip_height_m in boat.toml names Q, which never fishes in this log" in heights
    bare = heights["tip_height_m in boat.toml does not name P1"]
    assert bare == "1.5 m above the water is taken there"


def test_files_that_are_not_read_are_told(tmp_path, costs, season_files):
    folder = season_files.write(tmp_path / "Dunlin-2026")
    for name in ("sets.xlsx", "Sets - Sheet1.csv", "day.gpx"):
        (folder / name).write_text("")
    found = costs()
    told = "Sets - Sheet1.csv, sets.xlsx: beside the tables, and not read"
    assert found[told] == "nothing in it counts; sets.csv is read instead"
    assert "day.gpx: beside the tables, and not read" in found


def test_gears_without_soaks_are_told_with_their_own_doubt(counted):
    log, effort = counted(soaks=None)

    def cost(**untried):
        gaps = coverage(log, effort, np.zeros(len(effort.slices)), untried=untried)
        return [(gap.what, gap.cost) for gap in gaps if gap.what.startswith("no soaks")]

    rests = "depths rest on default parameters: uncertain by about"
    ((none, both),) = cost(diver=0.204, rigger=0.049)
    assert none == "no soaks: no gear of this boat was measured with a depth logger"
    assert both == f"{rests} 20 % for diver, 5 % for rigger"
    # a season given with it has soaks of the diver
    assert cost(rigger=0.049) == [("no soaks of rigger", f"their {rests} 5 % for rigger")]
    assert cost() == []


def test_rod_hours_on_a_spread_alone_are_told(counted):
    trips = (
        "trip,date,start,end,rods,spread\n"
        "T1,2026-07-04,06:00,12:00,2,\nT2,2026-07-10,20:00,23:00,2,two\n"
    )
    spreads = "spread,rod,gear,setting,line_out\ntwo,P1,diver,1,80\ntwo,S1,rigger,,50\n"
    log, effort = counted(trips=trips, spreads=spreads, strikes="trip,time,rod\n", sets=None)
    found = coverage(log, effort, np.zeros(len(effort.slices)))
    # 20:00-22:57 and 20:03-23:00
    assert any(gap.what == "6 of 6 rod-hours (1 trip) rest on a spread alone" for gap in found)
    assert effort.strikes_only_trips == ["T1"]


def test_a_lure_of_boat_toml_that_no_set_fishes_is_told(season_files, tmp_path):
    boat = season_files.BOAT + '[lures]\n"Blue Plug" = { diving = "deep" }\n'
    boat += '"Gren Plug" = { diving = "deep" }\n'
    log = read_log(season_files.write(tmp_path / "dunlin", boat=boat))
    effort = count_effort(log)
    told = [gap.what for gap in coverage(log, effort, np.full(len(effort.slices), np.nan))]
    (lures,) = [what for what in told if "boat.toml says how it dives" in what]
    assert lures.startswith("no set fished Gren Plug")
