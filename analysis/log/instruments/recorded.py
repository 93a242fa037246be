"""Owns what the folders `loggers` and `tracks` of a season give to its tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pandas as pd

from analysis.log.boat import Boat
from analysis.log.files.folder import within_folder
from analysis.log.files.tables import TextTable
from analysis.log.files.unread import Unread, idle_loggers, idle_tracks
from analysis.log.instruments.loggers import hang, named_file
from analysis.log.instruments.outing import with_outings
from analysis.log.instruments.tracks import (
    FOLDER,
    Tracks,
    courses_of_tracks,
    is_track,
    read_tracks,
    readings_of_tracks,
    within,
)
from analysis.log.instruments.turning import LONGEST_GAP_S, headings_of, turns_of
from analysis.log.schema import LOGGERS
from analysis.log.vetting.rows import Vetting


@dataclass(frozen=True, kw_only=True)
class Given:
    """What instruments gave beside rows of readings and soaks.

    Parameters
    ----------
    logged : pandas.DataFrame
        See `analysis.log.instruments.loggers.Hung`.
    rows : pandas.DataFrame
        ``table, read, kept, set_aside`` of each file.
    aside, changed : list of dict
        As everywhere.
    hashes : mapping
        Name within the season folder -> SHA-256.
    notes : tuple of str
    turns : pandas.DataFrame
        See `analysis.log.instruments.turning.turns_of`.
    """

    logged: pd.DataFrame
    rows: pd.DataFrame
    aside: list[dict[str, Any]]
    changed: list[dict[str, Any]]
    hashes: Mapping[str, str]
    notes: tuple[str, ...]
    turns: pd.DataFrame


@dataclass(frozen=True, kw_only=True)
class Recorded:
    """The two folders of a season.

    Parameters
    ----------
    loggers : mapping
        What lies in the folder of that name: name in small letters -> file.
    others : tuple of pathlib.Path
        What lies among the tracks and is none.
    tracks : analysis.log.instruments.tracks.Tracks
    """

    loggers: Mapping[str, Path]
    others: tuple[Path, ...]
    tracks: Tracks = field(repr=False)

    @classmethod
    def of(cls, files: Mapping[str, Path]) -> Recorded:
        """Find and read them among the files of a season folder, by name in small letters."""
        recorded = within_folder(files.get(FOLDER)).values()
        return cls(
            loggers=within_folder(files.get(LOGGERS)),
            others=tuple(file for file in recorded if not is_track(file)),
            tracks=read_tracks([file for file in recorded if is_track(file)]),
        )

    @property
    def untold(self) -> tuple[str, ...]:
        """Columns of trips that the log need not have."""
        return ("start", "end") if self.tracks else ()

    def fill_in(self, tables: dict[str, TextTable], zone: ZoneInfo) -> None:
        """Write start and end of trips that have none into the tables."""
        if self.tracks:
            trips = with_outings(tables["trips"], tables.get("sets"), self.tracks, zone)
            tables["trips"] = trips

    def add_to(
        self,
        clean: dict[str, pd.DataFrame],
        vet: Vetting | None,
        boat: Boat,
        stretches: pd.DataFrame,
        order: Mapping[str, list[str]],
    ) -> Given:
        """Put readings and soaks under those that were typed.

        Parameters
        ----------
        clean : dict
            Clean tables, changed in place.
        vet : analysis.log.vetting.rows.Vetting or None
            The table loggers; rows are set aside here.
        boat : analysis.log.boat.Boat
        stretches : pandas.DataFrame
            Every set of the season.
        order : mapping
            Table -> columns that its rows are ordered by.
        """
        tracks, turns = self.tracks, turns_of(headings_of(clean.get("readings")))
        if tracks:
            of, tracks = within(tracks, clean["trips"])
            courses = courses_of_tracks(tracks, of, clean["trips"])
            turns = pd.concat([turns, turns_of(courses[~courses["trip"].isin(turns["trip"])])])
            more = readings_of_tracks(tracks, of, clean["trips"], clean.get("readings"))
            clean["readings"] = _under(clean.get("readings"), more, order["readings"])
        hung = hang(vet, self.loggers, boat, clean["trips"], stretches, clean.get("readings"))
        if len(hung.soaks):
            clean["soaks"] = _under(clean.get("soaks"), hung.soaks, order["soaks"])
        return Given(
            logged=hung.logged,
            rows=pd.concat([hung.rows, tracks.rows], ignore_index=True),
            aside=[*hung.aside, *tracks.aside],
            changed=list(hung.changed),
            hashes={**hung.hashes, **tracks.hashes},
            notes=(*hung.notes, *_too_far_apart(clean.get("readings"), turns)),
            turns=turns.sort_values(["trip", "time"], ignore_index=True),
        )

    def unread(self, vet: Vetting | None) -> tuple[Unread, ...]:
        """Name the files of both folders that nothing was taken from."""
        named = set() if vet is None else {named_file(n, self.loggers) for n in vet.text["file"]}
        idle = [file for file in self.loggers.values() if file not in named]
        return (*idle_loggers(idle), *idle_tracks(self.others))


def _under(typed: pd.DataFrame | None, more: pd.DataFrame, order: list[str]) -> pd.DataFrame:
    """Put rows under those of a table, in the table's order; a boat's own columns stay empty."""
    whole = more
    if typed is not None and len(typed):
        whole = pd.concat([typed, more], ignore_index=True)
        for name in typed.columns.difference(more.columns):
            whole[name] = whole[name].fillna("").astype("str")
    return whole.sort_values([*order, "line"], ignore_index=True)


def _too_far_apart(readings: pd.DataFrame | None, turns: pd.DataFrame) -> list[str]:
    """Say of how many trips headings were written down that tell no turn."""
    headed = headings_of(readings).dropna(subset=["heading_deg"])
    untold = set(headed["trip"]) - set(turns["trip"])
    if not untold:
        return []
    trips = "one trip" if len(untold) == 1 else f"{len(untold)} trips"
    gap = f"{LONGEST_GAP_S:.0f} seconds"
    return [f"the headings of {trips} tell no turns: write one at least every {gap}"]
