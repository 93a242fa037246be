"""Owns dates and times of a log: what each column says as a whole, and each cell by that."""

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from analysis.errors import LogError
from analysis.log.reading.clocks import OURS, read_clock, without_half
from analysis.log.reading.dates import Written, read_date, yearless
from analysis.log.reading.draft import Draft
from analysis.log.schema import fields_of
from analysis.log.wording.settings import OFF, Wording

_OUR_DATE = r"\d{4}-\d{1,2}-\d{1,2}"
_OUR_MOMENT = rf"(?:{_OUR_DATE})?(?:[ T]*{OURS})?"
_LONGEST_SEASON_DAYS = 400
_SAID = {
    "day-month": "day first",
    "month-day": "month first",
    "year-month": "year first",
}


def read_moments(drafts: Sequence[Draft], wording: Wording) -> list[str]:
    """Bring dates and times into our form; say which order the numbers of a date have.

    Parameters
    ----------
    drafts : sequence of Draft
        The tables, changed in place.
    wording : analysis.log.wording.settings.Wording

    Returns
    -------
    list of str
        Notes, one for each column whose dates had to be decided.

    Raises
    ------
    LogError
        Where the dates of a column can be read in two ways, or have no year.
    """
    year = int(wording.reading["year"]) if "year" in wording.reading else None
    columns = [_Column(draft, name, kind, year) for draft in drafts for name, kind in _timed(draft)]
    orders: dict[int, str] = {}
    notes: list[str] = []
    if wording.reads("dates"):
        told = wording.reading.get("dates")
        orders, notes = _decide(columns, told)
    for at, column in enumerate(columns):
        column.put(orders.get(at), dates=wording.reads("dates"), clocks=wording.reads("clocks"))
    return notes


def _timed(draft: Draft) -> list[tuple[str, str]]:
    return [
        (field.name, field.kind)
        for field in fields_of(draft.name)
        if field.kind in ("date", "time") and field.name in draft.frame
    ]


class _Column:
    """A column of dates or times, its foreign cells read as far as they can be."""

    def __init__(self, draft: Draft, name: str, kind: str, year: int | None) -> None:
        self.draft, self.name, self.kind = draft, name, kind
        text = draft.frame[name]
        every = pd.Series(text.unique(), dtype="str")
        self.words = every[~every.str.fullmatch(_OUR_MOMENT)].tolist()
        self.foreign = text.isin(self.words).to_numpy(dtype=bool)
        # a time of 0520 is no date, and a date of 05.20 is no time
        clocks = set() if kind == "date" else {w for w in self.words if read_clock(w)[0]}
        self.dates: dict[str, Written] = {}
        for word in self.words:
            if word not in clocks and (found := read_date(word, year)) is not None:
                self.dates[word] = found
        if year is None and kind == "date":
            self._want_year(text)

    def _want_year(self, text: "pd.Series[str]") -> None:
        short = [word for word in self.words if yearless(word)]
        # one date without a year among others is a slip of its row
        if not short or self.dates or not self.foreign.all():
            return
        row = int(self.draft.frame["line"][(text == short[0]).to_numpy()].iloc[0])
        msg = f"{len(short)} dates have no year"
        remedy = "write year = 2026, or whichever it was, under [reading] in boat.toml"
        raise LogError(
            msg, file=self.draft.file, row=row, column=self.name, value=short[0], remedy=remedy
        )

    @property
    def place(self) -> str:
        return f"{self.draft.name}.{self.name}"

    def open_words(self) -> list[str]:
        """Return the dates whose order is not certain by themselves."""
        return [word for word, date in self.dates.items() if not date.certain and len(date.days)]

    def deciding(self) -> dict[str, list[str]]:
        """Return the orders that single cells leave as the only one, and those cells."""
        found: dict[str, list[str]] = {}
        for word, date in self.dates.items():
            if len(date.days) == 1 and not date.certain:
                found.setdefault(next(iter(date.days)), []).append(word)
        return found

    def fitting(self) -> list[str]:
        """Return the orders by which all dates lie within one season."""
        words = self.open_words()
        shared = set.intersection(*(set(self.dates[word].days) for word in words))
        fits = []
        for order in _SAID:
            if order in shared:
                days = [self.dates[word].days[order] for word in words]
                if (max(days) - min(days)).days <= _LONGEST_SEASON_DAYS:
                    fits.append(order)
        return fits

    def rows_of(self, words: Sequence[str], most: int = 3) -> str:
        """Show some cells with their lines."""
        text = self.draft.frame[self.name]
        lines = self.draft.frame["line"].to_numpy()
        shown = [
            f"line {lines[(text == word).to_numpy()][0]}: {word}" for word in sorted(words)[:most]
        ]
        return ", ".join(shown)

    def put(self, order: str | None, *, dates: bool, clocks: bool) -> None:
        """Write the foreign cells as a log of ours has them."""
        halves = clocks and any(
            read_clock(self.dates[w].clock if w in self.dates else w)[1] for w in self.words
        )
        ours, how = {}, {}
        for word in self.words:
            ours[word], how[word] = self._ours(word, order, dates=dates, clocks=clocks)
        text = self.draft.frame[self.name]
        if self.words:
            new = text.map(lambda word: ours.get(word, word)).to_numpy(dtype=object)
            reason = text.map(lambda word: how.get(word, "")).to_numpy(dtype=object)
            self.draft.put(self.name, new, reason)
        if halves:
            written = self.draft.table.frame.get(self.name, text)
            open_half = written.map(lambda w: _leaves_half(w, self.dates)).to_numpy(dtype=bool)
            self.draft.doubt(
                self.name,
                open_half,
                "morning or afternoon? The column tells them with AM and PM, this row does not",
                "write AM or PM behind it",
            )

    def _ours(self, word: str, order: str | None, *, dates: bool, clocks: bool) -> tuple[str, str]:
        date = self.dates.get(word)
        if date is None or not dates:
            clock, half = read_clock(word) if clocks and self.kind == "time" else ("", False)
            if not clock:
                return word, ""
            return clock, "a clock of 12 hours, read as one of 24" if half else "read as a clock"
        chosen = order if order in date.days else None
        if date.certain:
            chosen = next(iter(date.days))
        if chosen is None:
            return word, ""
        day = date.days[chosen].isoformat()
        how = "read as a date" if date.certain else f"read as a date, {_SAID[chosen]}"
        if not date.clock:
            return day, how
        clock = read_clock(date.clock)[0] if clocks else date.clock
        return (f"{day} {clock}", how) if clock else (word, "")


def _leaves_half(word: str, dates: dict[str, Written]) -> bool:
    """Whether a cell's clock may be of the morning or of the afternoon."""
    if word in dates:
        return without_half(dates[word].clock)
    return without_half(word.rsplit(" ", 1)[-1] if "-" in word else word)


def _decide(columns: list[_Column], told: str | None) -> tuple[dict[int, str], list[str]]:
    """Return the order of each column's dates, and a note of how it was decided."""
    orders: dict[int, str] = {}
    notes: list[str] = []
    waiting = []
    votes: Counter[str] = Counter()
    for at, column in enumerate(columns):
        if not column.open_words() or told == OFF:
            continue
        if told:
            orders[at] = told
            continue
        deciding = column.deciding()
        if len(deciding) > 1:
            raise _two_ways(column, list(deciding), deciding)
        if deciding:
            order, words = next(iter(deciding.items()))
            orders[at] = order
            votes[order] += 1
            notes.append(f"{column.place}: dates read {_SAID[order]}, for {column.rows_of(words)}")
        elif len(fits := column.fitting()) == 1:
            orders[at] = fits[0]
            why = "only so do they lie within one season"
            notes.append(f"{column.place}: dates read {_SAID[fits[0]]}; {why}")
        else:
            waiting.append(at)
    for at in waiting:
        if len(votes) != 1:
            fits = columns[at].fitting() or ["day-month", "month-day"]
            raise _two_ways(columns[at], fits, {})
        order = next(iter(votes))
        orders[at] = order
        shown = columns[at].rows_of(columns[at].open_words(), 1)
        why = f"as the other dates of this log, for its own fit both ({shown})"
        notes.append(f"{columns[at].place}: dates read {_SAID[order]}, {why}")
    return orders, notes


def _two_ways(column: _Column, orders: list[str], deciding: dict[str, list[str]]) -> LogError:
    """Ask which order the dates of a column have, with the rows that would decide."""
    if deciding:
        shown = "; ".join(f"{_SAID[o]} for {column.rows_of(w)}" for o, w in deciding.items())
        msg = f"its dates are written in two ways: {shown}"
    else:
        words = column.open_words()[:3]
        shown = "; ".join(
            f"{column.rows_of([word])} is "
            + " or ".join(
                column.dates[word].days[o].isoformat()
                for o in orders
                if o in column.dates[word].days
            )
            for word in words
        )
        msg = f"its dates can be read in two ways: {shown}"
    keys = " or ".join(f'dates = "{order}"' for order in orders)
    remedy = f"write {keys} under [reading] in boat.toml"
    return LogError(msg, file=Path(column.draft.file), column=column.name, remedy=remedy)
