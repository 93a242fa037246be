"""Owns the way from a season folder to a `SeasonLog`: clean frames, and what was set aside."""

import hashlib
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from analysis.depth.columns import refusals
from analysis.errors import LogError
from analysis.log.boat import Boat, read_boat
from analysis.log.files.folder import files_within, named, read_tables, season_files
from analysis.log.files.tables import TextTable
from analysis.log.files.unread import Unread, unread_files
from analysis.log.files.words import all_alike, coded, in_order, under_each_other
from analysis.log.fixes import corrections
from analysis.log.instruments.recorded import Recorded
from analysis.log.lost import lost_rows, lost_sets
from analysis.log.placing import TripBook, place_trips
from analysis.log.reading.rod_columns import unfold
from analysis.log.reading.translate import translate
from analysis.log.reading.whole_rows import whole_rows
from analysis.log.rods import usual_spellings
from analysis.log.schema import LOGGERS, blank_table
from analysis.log.short_form import ShortForm, follow, vet_spreads
from analysis.log.soaks import towed_in
from analysis.log.times import parse
from analysis.log.vetting.rows import Vetting, problem_frame
from analysis.log.vetting.values import judge_gears, judge_values
from analysis.log.wording.spelling import nearest

_IN_SETS = ("gear", "setting", "line_out", "leader_length", "lure")

_ORDER = {
    "trips": ["start", "trip"],
    "sets": ["trip", "rod", "time_in", "time_out"],
    "spreads": ["spread", "line"],
    "changes": ["trip", "time", "rod"],
    "strikes": ["time", "trip", "rod", "species", "outcome"],
    "readings": ["trip", "time"],
    "casts": ["trip", "time", "depth_m"],
    "soaks": ["gear", "setting", "line_out_m", "depth_m"],
    "loggers": ["trip", "rod", "time_in", "file"],
}


@dataclass(frozen=True, kw_only=True)
class SeasonLog:
    """One boat's season: clean tables in SI and UTC, and everything that was set aside.

    Every table has the column ``line``, the line of its file; texts are stripped and empty where
    nothing is written, numbers are NaN there. Extra columns are kept as text. The rows' order
    follows from what they say, not from where they stand in the file. Text of sets and stretches
    is categories in order of the alphabet, for there are many of them; that of other tables is
    plain.

    Parameters
    ----------
    folder : pathlib.Path
        The season folder.
    boat : analysis.log.boat.Boat
        From boat.toml.
    trips, strikes : pandas.DataFrame
        The required tables; columns as in `analysis.names`.
    sets, spreads, changes, readings, casts, soaks, loggers : pandas.DataFrame or None
        The others, None where the folder does not have them. ``line_out_m`` is true line: the
        rod's counter scale is in it (soaks have no rod, and a change may name several). Readings
        hold those of tracks too, their ``line`` 0, and soaks those of loggers.
    stretches : pandas.DataFrame
        Every set of the season, written in full or following from the short form: the columns of
        sets, ``table`` and ``line`` of the row that says what the rod fished, ``set``, a number
        unique in the season, and ``source``: ``sets``, ``changes`` or ``spread``.
    turns : pandas.DataFrame
        How fast the boat turned: see `analysis.log.instruments.turning.turns_of`.
    logged : pandas.DataFrame
        What loggers on lines measured: see `analysis.log.instruments.loggers.Hung`.
    set_aside : pandas.DataFrame
        `analysis.errors.SET_ASIDE_COLUMNS`, one row a row that was set aside.
    changed : pandas.DataFrame
        The same columns, one row a field that was emptied or read in another way than written
        while its row was kept.
    rows : pandas.DataFrame
        ``table, read, kept, set_aside``; read = kept + set aside. Blank lines are no rows.
    hashes : dict of str to str
        File name -> SHA-256.
    notes : list of str
        How whole tables and columns were read, and which columns are not there, in sentences.
    trips_with_sets : frozenset of str
        Kept trips that have rows in sets, a change or a spread, usable or not.
    lost_sets : pandas.DataFrame
        The sets set aside: see `analysis.log.lost.lost_sets`.
    unread : tuple of analysis.log.files.unread.Unread
        Files of the folder that are not read.
    lost_rows : pandas.DataFrame
        What is still known of every row set aside: see `analysis.log.lost.lost_rows`.
    """

    folder: Path
    boat: Boat
    trips: pd.DataFrame
    sets: pd.DataFrame | None
    spreads: pd.DataFrame | None
    changes: pd.DataFrame | None
    stretches: pd.DataFrame
    strikes: pd.DataFrame
    readings: pd.DataFrame | None
    casts: pd.DataFrame | None
    soaks: pd.DataFrame | None
    loggers: pd.DataFrame | None
    turns: pd.DataFrame
    logged: pd.DataFrame
    set_aside: pd.DataFrame
    changed: pd.DataFrame
    rows: pd.DataFrame
    hashes: dict[str, str]
    notes: list[str]
    trips_with_sets: frozenset[str]
    lost_sets: pd.DataFrame
    unread: tuple[Unread, ...]
    lost_rows: pd.DataFrame

    @property
    def year(self) -> int:
        """Year of the season: that of its first trip."""
        return int(self.trips["date"].min().year)


def _vet_trips(table: TextTable, boat: Boat) -> tuple[Vetting, TripBook]:
    """Vet the trips, without one of which nothing can be said."""
    vet = Vetting(table, boat.units)
    vet.duplicates()
    judge_values(vet)
    place_trips(vet, boat.time_zone)
    if not vet.read:
        msg = "this table has no trip"
        raise LogError(msg, file=table.file, remedy="write one row a trip")
    if not vet.kept.any():
        first = min(vet.aside, key=lambda problem: problem["row"])
        msg = f"no trip of {vet.read} in it can be used; the first: {first['reason']}"
        raise LogError(
            msg,
            file=table.file,
            row=first["row"],
            column=first["column"] or None,
            value=first["value"],
            remedy=first["remedy"],
        )
    kept = vet.clean.loc[vet.kept].astype({"trip": "str"}).set_index("trip")
    lines = vet.text.loc[~vet.kept].groupby("trip")["line"].first()
    lost = {str(trip): int(line) for trip, line in lines.items() if trip not in kept.index}
    return vet, TripBook(trips=kept, lost=lost, zone=boat.time_zone)


def _vet_other(table: TextTable, boat: Boat, book: TripBook, rods: dict[str, str]) -> Vetting:
    """Vet one of the tables that refer to trips or gear; `rods` are their usual spellings."""
    vet = Vetting(table, boat.units)
    if "rod" in vet.text and table.name != "changes":  # a change may name several
        vet.respell("rod", rods)
    # two trials may agree to the last digit; two identical rows of any other table are one
    if table.name != "soaks":
        vet.duplicates()
    judge_values(vet)
    if "gear" in vet.text:
        judge_gears(vet, boat.gears, needed=table.name in ("sets", "spreads", "soaks"))
    if table.name == "soaks":
        _date_soaks(vet)
        _vet_soaks(vet, boat)
        return vet
    if table.name == "spreads":
        vet_spreads(vet)
        _true_line(vet, boat)
        return vet
    book.belong(vet)
    if table.name == "sets":
        book.sets(vet)
    elif table.name == "strikes":
        book.strikes(vet)
    elif table.name == "changes":
        book.changes(vet)
        return vet
    elif table.name == LOGGERS:
        book.loggers(vet)
        return vet
    else:
        book.moments(vet)
    if table.name == "readings":
        _vet_readings(vet)
    if "rod" in vet.text:
        _true_line(vet, boat)
    return vet


def _true_line(vet: Vetting, boat: Boat) -> None:
    """Turn the counter's reading of each row's rod into true line."""
    codes, rods = coded(vet.text["rod"])
    scale = np.array([boat.counter_scale_of(rod) for rod in rods], dtype=float)
    vet.clean["line_out_m"] *= scale[codes]


def _name_spreads(trips: Vetting, spreads: Vetting | None) -> None:
    """Empty the spreads of trips that are not there."""
    names = [] if spreads is None else sorted(set(spreads.text["spread"]) - {""})
    named = trips.text["spread"]
    unknown = ((named != "") & ~named.isin(names)).to_numpy()
    remedies = np.full(len(named), "", dtype=object)
    for i in np.flatnonzero(unknown):
        like = nearest(named.iloc[i], names)
        remedies[i] = f"did you mean {like}?" if like else "write the spread's rods in spreads"
    field = next(f for f in trips.fields if f.name == "spread")
    trips.empty(unknown, field, "spreads has no spread of this name", remedies)


def _stretches(sets: pd.DataFrame | None, short: ShortForm) -> pd.DataFrame:
    """Put the sets written in full and those of the short form together, each with a number."""
    if sets is None:
        sets = blank_table("sets")
        text = sets.select_dtypes(["str"]).columns
        sets = sets.assign(**{name: in_order(sets[name]) for name in text})
    named = all_alike("sets", len(sets))
    full = sets.assign(table=named, source=named, set=sets["line"])
    more = short.stretches.sort_values(["trip", "rod", "time_in"], ignore_index=True)
    first = int(full["line"].max()) + 1 if len(full) else 1
    more = more.assign(set=np.arange(first, first + len(more)))
    return under_each_other([full, more]) if len(more) else full


def _date_soaks(vet: Vetting) -> None:
    """Turn the dates of soaks into dates; a bad one is emptied."""
    field = next(f for f in vet.fields if f.name == "date")
    date_us = parse(vet.text["date"])["date_us"].to_numpy()
    vet.clean["date"] = pd.Series(date_us.view("datetime64[us]"), index=vet.clean.index)
    bad = vet.clean["date"].isna().to_numpy() & (vet.text["date"] != "").to_numpy()
    vet.empty(bad, field, "this is not a date", "write it as 2026-07-04")


def _vet_soaks(vet: Vetting, boat: Boat) -> None:
    """Set aside trials that their gear cannot have run: off the dial, or below the line's end."""
    clean = vet.clean
    reason = np.full(len(clean), "", dtype=object)
    deep = np.zeros(len(clean), dtype=bool)
    for name, gear in boat.gears.items():
        rows = np.flatnonzero((clean["gear"] == name).to_numpy() & vet.kept)
        columns = towed_in(clean.iloc[rows], boat.lures).for_gear(gear)
        reason[rows] = refusals(gear, columns)
        deep[rows] = clean["depth_m"].to_numpy()[rows] > columns.deepest_m
    dial = np.array(["setting" in text for text in reason], dtype=bool)
    vet.set_aside(dial, "setting", reason, "correct the setting, or the dial in boat.toml")
    other = (reason != "") & ~dial
    vet.set_aside(other, "line_out", reason, "correct the trial, or the gear in boat.toml")
    why = "the logger cannot have been deeper than the line is long"
    remedy = "correct depth or line-out, or their units in boat.toml"
    vet.set_aside(deep & vet.kept, "depth", why, remedy)


def _vet_readings(vet: Vetting) -> None:
    """Set aside readings that say nothing; a probe's temperature needs the probe's depth."""
    fields = {field.name: field for field in vet.fields}
    lost = vet.clean["depth_temp_c"].notna() & vet.clean["probe_depth_m"].isna()
    vet.empty(
        lost.to_numpy(),
        fields["depth_temp"],
        "a probe's temperature says nothing without its depth",
        "write the probe_depth",
    )
    told = ["speed_mps", "surface_temp_c", "depth_temp_c", "heading_deg"]
    said = vet.clean[told].notna().any(axis=1)
    vet.set_aside(
        ~said.to_numpy(),
        "",
        "the reading has no speed, no temperature and no heading",
        "write what was read",
    )


def read_log(folder: Path, leave_out: Collection[str] = ()) -> SeasonLog:
    """Read and vet a season folder.

    Parameters
    ----------
    folder : pathlib.Path
        A folder with boat.toml, trips.csv, strikes.csv and any of the other tables, and the
        folders ``loggers`` and ``tracks`` with what the boat's instruments recorded.
    leave_out : collection of str
        Tables to read as if they were not there, none of them required.

    Returns
    -------
    SeasonLog
        Clean tables and what was set aside.

    Raises
    ------
    LogError
        Naming file, place and remedy, when the season as a whole cannot be read: no folder, a
        missing file or column, text that is not UTF-8 or not separated by commas, a bad
        boat.toml, not one usable trip.
    """
    folder = named(Path(folder))
    files = season_files(folder)
    boat, toml = read_boat(files["boat.toml"])
    recorded = Recorded.of(files)
    as_written = read_tables(folder, files, boat.wording, recorded.untold)
    fixed = corrections(as_written, files)
    whole, of_rows = whole_rows(fixed.tables, boat.wording)
    long, of_cells = unfold(whole, boat.wording)
    told_of = {name: table for name, table in long.items() if name not in leave_out}
    tables, decided = translate(told_of, boat)
    recorded.fill_in(tables, boat.time_zone)
    trips, book = _vet_trips(tables["trips"], boat)
    labels = [t.frame["rod"] for t in tables.values() if "rod" in t.frame and t.name != "changes"]
    rods = usual_spellings(labels)
    vets = {"trips": trips}
    for name, table in tables.items():
        if name != "trips":
            vets[name] = _vet_other(table, boat, book, rods)
    _name_spreads(trips, vets.get("spreads"))
    written_sets = set(vets["sets"].text["trip"].unique()) if "sets" in vets else set()
    # two tables lose rows for what other tables say of them
    later = ("changes", LOGGERS)
    clean = {
        name: vet.result(_ORDER[name], words=name == "sets")
        for name, vet in vets.items()
        if name not in later
    }
    short = follow(
        clean["trips"],
        clean.get("spreads"),
        vets.get("changes"),
        clean["strikes"],
        boat,
        written_sets,
    )
    stretches = _stretches(clean.get("sets"), short)
    given = recorded.add_to(clean, vets.get(LOGGERS), boat, stretches, _ORDER)
    clean |= {name: vets[name].result(_ORDER[name]) for name in later if name in vets}
    clean = {name: frame for name, frame in clean.items() if name not in leave_out}
    for vet in vets.values():
        vet.name_cells()
    corrected = [p for p in fixed.told if p["table"] not in leave_out]
    told = [*corrected, *(p for vet in vets.values() for p in vet.changes()), *given.changed]
    changed = problem_frame(told)
    hashes = {files["boat.toml"].name: hashlib.sha256(toml).hexdigest()}
    sources = [*tables.values(), *fixed.source]
    hashes |= {table.file.name: table.sha256 for table in sources}
    hashes |= given.hashes
    rows = pd.DataFrame(
        {
            "table": list(vets),
            "read": np.array([vet.read for vet in vets.values()], dtype=np.int64),
            "kept": np.array([len(clean[name]) for name in vets], dtype=np.int64),
            "set_aside": np.array([len(vet.aside) for vet in vets.values()], dtype=np.int64),
        }
    )
    rows = pd.concat([rows, given.rows], ignore_index=True).astype(rows.dtypes)
    return SeasonLog(
        folder=folder,
        boat=boat,
        trips=clean["trips"],
        sets=clean.get("sets"),
        spreads=clean.get("spreads"),
        changes=clean.get("changes"),
        stretches=stretches,
        strikes=clean["strikes"],
        readings=clean.get("readings"),
        casts=clean.get("casts"),
        soaks=clean.get("soaks"),
        loggers=clean.get(LOGGERS),
        turns=given.turns,
        logged=given.logged,
        set_aside=problem_frame([*(p for vet in vets.values() for p in vet.aside), *given.aside]),
        changed=changed,
        rows=rows,
        hashes=hashes,
        notes=[
            *(note for table in tables.values() for note in table.notes),
            *of_rows,
            *of_cells,
            *decided,
            *given.notes,
            *_absent(vets),
        ],
        trips_with_sets=frozenset(written_sets & set(clean["trips"]["trip"])) | short.trips,
        lost_rows=lost_rows(vets),
        lost_sets=lost_sets(vets),
        unread=(
            *unread_files(
                files_within(folder),
                [files["boat.toml"], *(t.file for t in (*sources, *as_written.values()))],
            ),
            *(() if LOGGERS in leave_out else recorded.unread(vets.get(LOGGERS))),
        ),
    )


def _absent(vets: dict[str, Vetting]) -> list[str]:
    """Say which columns are not there, where they would matter."""
    notes = []
    for table in ("trips", "sets", "strikes"):
        absent = vets[table].absent if table in vets else []
        if table == "trips" and "spreads" not in vets:
            absent = [name for name in absent if name != "spread"]
        if table == "strikes" and not {"sets", "spreads", "changes"}.isdisjoint(vets):
            # what the rod was fishing stands there
            absent = [name for name in absent if name not in _IN_SETS]
        if absent:
            notes.append(f"{table} has no column {', '.join(absent)}")
    return notes
