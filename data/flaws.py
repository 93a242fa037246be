"""Plants the flaws of real logs in tables of text, and keeps a list of where each one is."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

ASIDE = "row set aside"
EMPTIED = "field left empty, row kept"
READ = "read all the same"
KEPT = "row kept as it is"
CUT = "cut when rod-hours are counted"
NO_RATE = "strike kept, counted in no rate"

FLAW_COLUMNS = ("season", "table", "line", "column", "value", "flaw", "fate")

SPELLINGS = {
    "lake trout": ("Lake Trout", "lake  trout", "LAKE TROUT", "laketrout", "lake truot"),
    "brown trout": ("Brown trout", "brown-trout", " brown trout", "brwn trout"),
    "landlocked salmon": ("Landlocked Salmon", "landlocked salmon.", "Landl. salmon", "salmon"),
}
SHORTER = ("Landl. salmon", "salmon")


@dataclass
class Planter:
    """Plants flaws, one a row, and remembers them by the row's label.

    `tables` are frames of text whose index labels are unique and stay with their rows; a
    label becomes a file line only when the list is made, after rows have been put in.
    """

    tables: dict[str, pd.DataFrame]
    rng: np.random.Generator
    planted: list[tuple[str, int, str, str, str, str]] = field(default_factory=list)

    def note(self, table: str, label: int, column: str, flaw: str, fate: str) -> None:
        """Put a flaw on the list."""
        value = str(self.tables[table].loc[label, column]) if column else ""
        self.planted.append((table, label, column, value, flaw, fate))

    def pick(self, table: str, suits: pd.Series | None = None) -> int:
        """Return the label of a row without a flaw, and with none beside it on its rod."""
        frame = self.tables[table]
        taken = {row[1] for row in self.planted if row[0] == table}
        near = taken | {x + 1 for x in taken} | {x - 1 for x in taken}
        fit = ~frame.index.isin(list(near))
        if suits is not None:
            fit &= suits.reindex(frame.index).to_numpy(dtype=bool)
        return int(self.rng.choice(frame.index[fit]))

    def write(
        self,
        table: str,
        column: str,
        value: str,
        flaw: str,
        fate: str,
        suits: pd.Series | None = None,
    ) -> int:
        """Write a value over one cell of a row that suits."""
        label = self.pick(table, suits)
        self.tables[table].loc[label, column] = value
        self.note(table, label, column, flaw, fate)
        return label

    def duplicate(self, table: str) -> None:
        """Write a row down twice."""
        label = self.pick(table)
        frame = self.tables[table]
        new = int(frame.index.max()) + 1000
        twice = frame.loc[[label]].set_axis([new])
        at = frame.index.get_loc(label) + 1
        self.tables[table] = pd.concat([frame.iloc[:at], twice, frame.iloc[at:]])
        self.note(table, new, "", "the row before it, written down twice", ASIDE)

    def listed(self, season: str) -> pd.DataFrame:
        """Return the list of flaws with file lines, header included in the count."""
        rows = []
        for table, label, column, value, flaw, fate in self.planted:
            line = self.tables[table].index.get_loc(label) + 2
            rows.append((season, table, line, column, value, flaw, fate))
        frame = pd.DataFrame(rows, columns=list(FLAW_COLUMNS))
        return frame.sort_values(["table", "line"], ignore_index=True)


def plant_common(p: Planter, *, bare_times: bool, feet: bool) -> None:
    """Plant what any boat's log has."""
    _species(p)
    sets = p.tables["sets"]
    diver = sets["setting"] != ""
    label = p.pick("sets", (_minutes(sets) > 20) & ~_last_of_rod(sets))
    ends = ["time_in", "time_out"]
    sets.loc[label, ends] = sets.loc[label, ends[::-1]].to_numpy()
    p.note("sets", label, "time_out", "time in and time out swapped", ASIDE)
    p.write("sets", "line_out", "", "line-out not written down", ASIDE)
    gear = str(p.rng.choice(sorted(set(sets["gear"]))))
    spelt = gear[:2] + gear[1:]
    p.write("sets", "gear", spelt, "gear misspelt", READ, sets["gear"] == gear)
    p.write("sets", "setting", "", "a diver's setting not written down", ASIDE, diver)
    label = p.pick("sets", sets["line_out"] != "")
    sets.loc[label, "line_out"] = "-" + sets.loc[label, "line_out"]
    p.note("sets", label, "line_out", "a stray minus", ASIDE)
    label = p.pick("sets", (sets["leader_length"] != "") & diver)
    sets.loc[label, "leader_length"] = "6,5" if feet else "2,4"
    p.note("sets", label, "leader_length", "decimal comma", READ)
    p.duplicate("sets")
    p.duplicate("strikes")
    _overlap(p, bare_times=bare_times)
    _not_down(p)
    strikes = p.tables["strikes"]
    p.write("strikes", "weight", "abt 5", "a guess in words", EMPTIED, strikes["weight"] != "")
    p.write("readings", "speed", "251", "decimal point forgotten", EMPTIED)
    p.write("readings", "surface_temp", "", "not read", KEPT)


def plant_in_casts(p: Planter, *, fahrenheit: bool) -> None:
    """Plant a missing temperature and, where the log is in F, one cast written in C."""
    casts = p.tables["casts"]
    p.write("casts", "temp", "", "temperature not written down", ASIDE)
    if not fahrenheit:
        return
    label = p.pick("casts")
    one = (casts["trip"] == casts.loc[label, "trip"]) & (casts["time"] == casts.loc[label, "time"])
    for row in casts.index[one]:
        celsius = (float(casts.loc[row, "temp"]) - 32) / 1.8 if casts.loc[row, "temp"] else np.nan
        if celsius == celsius:
            casts.loc[row, "temp"] = f"{celsius:.1f}"
            p.note("casts", int(row), "temp", "this cast is in C, the log in F", ASIDE)


def plant_dated(p: Planter) -> None:
    """Plant what shows only where times carry their date."""
    strikes, trips = p.tables["strikes"], p.tables["trips"].set_index("trip")
    label = p.pick("strikes")
    start = pd.Timestamp(trips.loc[strikes.loc[label, "trip"], "start"])
    early = (start - pd.Timedelta(minutes=75)).strftime("%Y-%m-%d %H:%M")
    strikes.loc[label, "time"] = early
    p.note("strikes", label, "time", "a strike before its trip", ASIDE)
    sets = p.tables["sets"]
    label = p.pick("sets", _last_of_rod(sets) & (sets["ended_by"] == "end"))
    end = pd.Timestamp(trips.loc[sets.loc[label, "trip"], "end"])
    sets.loc[label, "time_out"] = (end + pd.Timedelta(minutes=50)).strftime("%Y-%m-%d %H:%M")
    p.note("sets", label, "time_out", "a set that runs on after its trip", CUT)
    p.write("strikes", "trip", "D0O7", "letter O for a zero in the trip id", ASIDE)
    p.write("strikes", "outcome", "landd", "outcome misspelt", READ)


def _minutes(sets: pd.DataFrame) -> pd.Series:
    clock = [pd.to_timedelta(sets[c].str[-5:] + ":00") for c in ("time_in", "time_out")]
    return (clock[1] - clock[0]).dt.total_seconds() / 60


def _last_of_rod(sets: pd.DataFrame) -> pd.Series:
    return ~sets.duplicated(["trip", "rod"], keep="last")


def _overlap(p: Planter, *, bare_times: bool) -> None:
    """Let one set run on into the next one of its rod."""
    sets = p.tables["sets"]
    again = sets.groupby(["trip", "rod"])["time_out"].shift(-1)
    long = _minutes(sets).shift(-1) > 25
    plain = ~sets["time_in"].str[-5:-3].isin(["00", "01", "02", "03", "22", "23"])
    label = p.pick("sets", again.notna() & long & plain & (sets["ended_by"] == "moved"))
    pos = sets.index.get_loc(label)
    begun = sets["time_in"].iloc[pos + 1]
    late = pd.Timestamp(f"2000-01-01 {begun}" if bare_times else begun)
    late += pd.Timedelta(minutes=15)
    sets.loc[label, "time_out"] = late.strftime("%H:%M" if bare_times else "%Y-%m-%d %H:%M")
    p.note("sets", label, "time_out", "it overlaps the rod's next set", CUT)


def _not_down(p: Planter) -> None:
    """Write a strike to a rod that was not down on that trip."""
    sets, strikes = p.tables["sets"], p.tables["strikes"]
    rods = sorted(set(sets["rod"]))
    down = sets.groupby("trip")["rod"].agg(set)
    fewer = strikes["trip"].map(lambda t: 0 < len(down.get(t, ())) < len(rods))
    label = p.pick("strikes", fewer)
    up = [rod for rod in rods if rod not in down[strikes.loc[label, "trip"]]]
    strikes.loc[label, "rod"] = up[0]
    p.note("strikes", label, "rod", "a strike on a rod that was not down", NO_RATE)


def _species(p: Planter) -> None:
    """Spell a sixth of the species in other ways."""
    strikes = p.tables["strikes"]
    other = p.rng.random(len(strikes)) < 1 / 6
    for label in strikes.index[other & (strikes["species"] != "")]:
        usual = strikes.loc[label, "species"]
        spelt = str(p.rng.choice(SPELLINGS[usual]))
        strikes.loc[label, "species"] = spelt
        # a shorter name may be another fish, and blanks at the ends are nobody's spelling
        fate = KEPT if spelt in SHORTER or spelt.strip() == usual else READ
        p.note("strikes", int(label), "species", "species spelt in another way", fate)
