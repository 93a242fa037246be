"""Owns the form of the evening's typing: fields in, what `check` says and a running count out.

A row is what stood in its fields when Add was pressed, however late the kernel hears of it. The
press closes the fields in the browser itself, before any message: nothing can be typed into them
until the row is read. Each field tells its closing behind all that was typed into it (a widget's
messages keep their order, those of two widgets do not), so that a row is whole once all fields
said that they are closed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path

import ipywidgets as widgets

from analysis.errors import LogError
from analysis.keeping.entry import Evening, Judged, clock
from analysis.log.schema import ENDINGS, OUTCOMES, WHATS, fields_of
from analysis.show.base.html import bullets, paragraph

FIELDS = {
    "trips": ("trip", "date", "start", "end", "area", "spread", "note"),
    "changes": (
        *("time", "rod", "what", "line_out", "setting", "lure", "leader_length"),
        *("gear", "lead", "ended_by", "note"),
    ),
    "strikes": ("time", "rod", "species", "outcome", "length", "weight", "note"),
}
"""Fields of each form, those typed most first."""
_LABELS = {"leader_length": "leader"}
_CLOCKS = ("time", "start", "end")
_STAYS = ("date", "area", "spread")
_NEEDED = {"trips": ("trip", "date", "start", "end"), "changes": ("rod",)}
_NEEDED["strikes"] = ("time", "rod")
_TITLES = {"trips": "Trip", "changes": "Change", "strikes": "Strike"}


def evening(folder: str | Path) -> widgets.Widget:
    """Return the form for a season folder, or what keeps its tables from being added to."""
    try:
        return EntryForm(Evening.open(folder, datetime.now().astimezone())).widget
    except LogError as error:
        return widgets.HTML(paragraph(str(error)).html)


class EntryForm:
    """The form for one season folder.

    Parameters
    ----------
    evening : analysis.keeping.entry.Evening
        What it types into.

    Attributes
    ----------
    trip : ipywidgets.Dropdown
        The trip that changes and strikes are of.
    fields : dict
        Table -> field -> its widget.
    add_buttons : dict
        Table -> the ipywidgets.ToggleButton that adds its row; down until the row is read.
    undo : ipywidgets.Button
    tally, message : ipywidgets.HTML
        The running count; what `check` says of what stands in the form, or was added.
    """

    def __init__(self, evening: Evening) -> None:
        self.evening = evening
        self._clearing = False
        self.trip = widgets.Dropdown(description="Trip", options=evening.trips())
        self.tally, self.message = widgets.HTML(), widgets.HTML()
        self.fields = {
            table: {name: self._field(table, name) for name in names}
            for table, names in FIELDS.items()
        }
        self.add_buttons = {table: self._button(table) for table in FIELDS}
        self.undo = widgets.Button(description="Take back the last row")
        self.undo.layout.width = "auto"
        self.undo.on_click(lambda _: self.take_back())
        self.trip.observe(lambda _: self._count(), names="value")
        forms = [
            widgets.HBox([*self.fields[table].values(), self.add_buttons[table]])
            for table in FIELDS
        ]
        for table in FIELDS:
            self._wire(table)
        for form in forms:
            form.layout.flex_flow = "row wrap"
        self.tabs = widgets.Tab(children=forms, titles=[_TITLES[table] for table in FIELDS])
        self.tabs.selected_index = 1 if self.trip.options else 0
        self.widget = widgets.VBox(
            [widgets.HBox([self.trip, self.undo]), self.tally, self.tabs, self.message]
        )
        self._refresh()

    def _field(self, table: str, name: str) -> widgets.Widget:
        known = {
            "what": ("", *WHATS),
            "outcome": ("", *OUTCOMES),
            "ended_by": ("", *ENDINGS),
            "gear": ("", *self.evening.boat.gears),
        }
        words = _LABELS.get(name, name.replace("_", " "))
        if name in known:
            made = widgets.Dropdown(description=words, options=known[name])
        elif name in ("rod", "species", "spread"):
            made = widgets.Combobox(description=words, continuous_update=False)
        else:
            made = widgets.Text(description=words, continuous_update=False)
            made.placeholder = self._hint(table, name)
        made.layout.width = "15em"
        made.style.description_width = "6em"
        made.observe(lambda _: self._check(table), names="value")
        return made

    def _hint(self, table: str, name: str) -> str:
        """Say in an empty field how it is written: a number's unit, a short time."""
        quantity = next(field.quantity for field in fields_of(table) if field.name == name)
        unit = self.evening.boat.units.of(quantity) if quantity else ""
        return "0740" if name in _CLOCKS else "2026-07-04" if name == "date" else unit

    def _button(self, table: str) -> widgets.ToggleButton:
        return widgets.ToggleButton(description=f"Add {_TITLES[table].lower()}")

    def _boxes(self, table: str) -> list[widgets.Widget]:
        """Return all that a row of a table is read from."""
        return [*self.fields[table].values(), self.trip]

    def _wire(self, table: str) -> None:
        """Close a form in the browser while its button is down; read it once all is closed."""
        button, boxes = self.add_buttons[table], self._boxes(table)
        others = [other for name, other in self.add_buttons.items() if name != table]
        for part in (*boxes, *others, self.undo, button):
            widgets.jsdlink((button, "value"), (part, "disabled"))
        for part in boxes:
            part.observe(lambda _: self._read(table), names="disabled")
        button.observe(lambda _: self._read(table), names="value")

    def _read(self, table: str) -> None:
        """Add the row of a form that is closed, and open the form for the next."""
        boxes, button = self._boxes(table), self.add_buttons[table]
        if not button.value or not all(box.disabled for box in boxes):
            return
        try:
            self.add(table)
        finally:
            for part in (*boxes, *self.add_buttons.values(), self.undo):
                part.disabled = False
            button.value = False
            next(iter(self.fields[table].values())).focus()

    def row(self, table: str) -> dict[str, str]:
        """Return what stands in a form, times typed short written out."""
        typed = {name: str(made.value).strip() for name, made in self.fields[table].items()}
        row = {name: clock(cell) if name in _CLOCKS else cell for name, cell in typed.items()}
        return row if table == "trips" else {"trip": str(self.trip.value or ""), **row}

    def add(self, table: str) -> None:
        """Add what stands in a form, unless it would be set aside."""
        row = self.row(table)
        if not self._complete(table, row):
            needed = ", ".join(_NEEDED[table])
            self._say([f"Not added. Write at least: {needed}."])
            return
        try:
            judged = self.evening.add(table, row)
        except LogError as error:
            self._say([f"Not added. {error}"])
            return
        if judged.refused:
            self._say(["Not added.", *judged.refused])
            return
        self._clear(table)
        self._refresh(row["trip"], row.get("time", ""))
        shown = ", ".join(cell for cell in row.values() if cell)
        self._say([f"Added to {table}.csv: {shown}.", *judged.told])

    def take_back(self) -> None:
        """Take back the last row added here."""
        try:
            said = self.evening.undo()
        except LogError as error:
            said = str(error)
        self._refresh(self.trip.value)
        self._say([said])

    def _check(self, table: str) -> None:
        """Say what `check` would say of what stands in the form."""
        row = self.row(table)
        if self._clearing or self.add_buttons[table].value or not self._complete(table, row):
            return
        try:
            judged = self.evening.check(table, row)
        except LogError as error:
            judged = Judged(refused=(str(error),), told=())
        self._say(["As it stands:", *judged.refused, *judged.told] if any(_all(judged)) else [])
        self._count(row.get("time", ""))

    def _complete(self, table: str, row: Mapping[str, str]) -> bool:
        return all(row[name] for name in _NEEDED[table]) and bool(row["trip"])

    def _clear(self, table: str) -> None:
        """Empty a form for the next row; what a season's trips share stays."""
        self._clearing = True
        for name, made in self.fields[table].items():
            if name not in _STAYS:
                made.value = ""
        self._clearing = False

    def _refresh(self, trip: str | None = None, time: str = "") -> None:
        """Offer what the log knows by now, and count anew."""
        trips = tuple(self.evening.trips())
        if trips != self.trip.options:
            self.trip.options = trips
        if trips:
            self.trip.value = trip if trip in trips else trips[-1]
        rods = self.evening.rods()
        self.fields["changes"]["rod"].options = [*rods, "all"]
        self.fields["strikes"]["rod"].options = rods
        self.fields["strikes"]["species"].options = self.evening.species()
        self.fields["trips"]["spread"].options = self.evening.spreads()
        self._count(time)

    def _count(self, time: str = "") -> None:
        self.tally.value = paragraph(self.evening.tally(str(self.trip.value or ""), time)).html

    def _say(self, lines: Sequence[str]) -> None:
        self.message.value = bullets(list(lines)).html


def _all(judged: Judged) -> tuple[str, ...]:
    return judged.refused + judged.told
