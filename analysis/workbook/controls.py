"""Owns the explorer's controls: what each may be set to, its name, and the wish it stands for."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets as widgets

from analysis import labels
from analysis.units import DEFAULT_BAND, to_si
from analysis.weeks import monday_of
from analysis.workbook.counted import Counted
from analysis.workbook.narrowing import choices

ALL = "all"
_WIDE: dict[str, Any] = {
    "style": {"description_width": "6.6em"},
    "layout": widgets.Layout(width="19em", margin="1px"),
}
NAMES = {
    "boat": "Boat",
    "week": "Week",
    "area": "Area",
    "species": "Species",
    "gear": "Gear",
    "setting": "Setting",
    "lure": "Lure",
    "outcome": "Outcome",
}
HEIGHTS = {"ft": (5.0, 10.0, 15.0, 20.0), "m": (1.0, 2.0, 3.0, 5.0)}


class Controls:
    """The controls over a season, each under a name that is read out.

    Attributes
    ----------
    by_name : dict of str to widget
        What `wishes` reads.
    band : Dropdown
        Height of the bands, in the boat's unit.
    widget : VBox
        All of them, and the button that sets them back.
    """

    def __init__(self, counted: Counted, moved: Callable[[], None]) -> None:
        units = counted.units
        self._moved = moved
        self._quiet = False
        self._months = choices(counted, "month")
        self.by_name: dict[str, widgets.Widget] = {
            name: widgets.Dropdown(
                options=[
                    (ALL, ALL),
                    *((_short(name, one), one) for one in choices(counted, name)),
                ],
                description=text,
                **_WIDE,
            )
            for name, text in NAMES.items()
        }
        self.by_name["month"] = widgets.SelectionRangeSlider(
            options=[(labels.short_month(month), month) for month in self._months],
            index=(0, len(self._months) - 1),
            description="Months",
            **_WIDE,
        )
        hour = counted.hourly.table["hour"]
        self._day = (int(hour.min()), int(hour.max()) + 1)
        self.by_name["hours"] = widgets.IntRangeSlider(
            value=self._day, min=self._day[0], max=self._day[1], description="Hours", **_WIDE
        )
        self.by_name["hours"].readout = False
        self.hours_words = widgets.HTML(layout=widgets.Layout(margin="0 0 0 7.5em"))
        unit = units.depth
        self.band = widgets.Dropdown(
            options=[(f"{height:g} {unit}", height) for height in HEIGHTS[unit]],
            value=DEFAULT_BAND[unit],
            description="Band height",
            **_WIDE,
        )
        self.reset = widgets.Button(
            description="Set all back", layout=widgets.Layout(width="9em", margin="2px 0 0 6.8em")
        )
        self.reset.on_click(lambda _: self.set_back())
        order = (
            "boat",
            "month",
            "week",
            "hours",
            "area",
            "species",
            "outcome",
            "gear",
            "setting",
            "lure",
        )
        shown = [self.by_name[name] for name in order]
        shown.insert(order.index("hours") + 1, self.hours_words)
        self.widget = widgets.VBox(
            [*shown, self.band, self.reset], layout=widgets.Layout(flex="0 0 20.5em")
        )
        for control in (*self.by_name.values(), self.band):
            control.observe(lambda _: self._tell(), names="value")
        self._say_hours()

    @property
    def wishes(self) -> dict[str, Any]:
        """What the controls ask for, as `Season.where` takes it; None for all."""
        chosen = {name: self.by_name[name].value for name in NAMES}
        asked: dict[str, Any] = {
            name: None if value == ALL else value for name, value in chosen.items()
        }
        first, last = self.by_name["month"].value
        months = self._months[self._months.index(first) : self._months.index(last) + 1]
        asked["month"] = None if months == self._months else months
        hours = tuple(self.by_name["hours"].value)
        asked["hours"] = None if hours == self._day else hours
        return asked

    @property
    def band_m(self) -> float:
        """Height of the bands in metres."""
        options = dict((value, text) for text, value in self.band.options)
        return float(to_si(self.band.value, "depth", options[self.band.value].split()[-1]))

    def set_back(self) -> None:
        """Ask for everything again."""
        self._quiet = True
        for name in NAMES:
            self.by_name[name].value = ALL
        self.by_name["month"].index = (0, len(self._months) - 1)
        self.by_name["hours"].value = self._day
        self._quiet = False
        self._tell()

    def _tell(self) -> None:
        self._say_hours()
        if not self._quiet:
            self._moved()

    def _say_hours(self) -> None:
        first, last = self.by_name["hours"].value
        self.hours_words.value = f"{first:02d}:00 to {last:02d}:00, local time"


def _monday(week: str) -> str:
    return labels.day(monday_of(week), year=False)


def _short(name: str, one: str) -> str:
    told = f"{labels.week(one)}, from {_monday(one)}" if name == "week" else one
    return told if len(told) <= 34 else f"{told[:33]}…"
