"""Owns the controls of one rod: gear, setting, line-out, leader, speed and day in, rate out."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets
import numpy as np
import pandas as pd
from IPython.display import display

from analysis.errors import RodhoursError, UsageError
from analysis.report.accessible import Named, with_field
from analysis.show.base.html import paragraph
from analysis.show.workbook import bars, what_if_words
from analysis.units import from_si
from analysis.workbook.background import Newest
from analysis.workbook.season import Season

_WIDE = {"description_width": "9em"}
_STEP = {"ft": 5, "m": 1}
_LONGEST_LEADER_M = 8.0
_SPEEDS_MPS = (0.4, 2.5)
FIRST_WORDS_S = 60.0


class RodControls:
    """Sliders of one rod, and what they are expected to bring.

    Parameters
    ----------
    season : Season

    Attributes
    ----------
    boat, rod, gear, setting, line_out, leader, speed, day
        The controls.
    answer, spread : widgets.HTML
        What they change: words, and the spread from behind and above.
    newest : Newest
        Draws the newest wish of a knob that is dragged.
    """

    def __init__(self, season: Season) -> None:
        self.season, units = season, season.units
        self.newest = Newest()
        slider = {
            "style": _WIDE,
            "layout": widgets.Layout(width="34em", max_width="100%"),
        }
        self.boat = widgets.Dropdown(options=season.boats, description="Boat", style=_WIDE)
        self.rod = widgets.Dropdown(description="Rod", style=_WIDE)
        self.gear = widgets.Dropdown(description="Gear", style=_WIDE)
        self.setting = widgets.Dropdown(description="Setting", style=_WIDE)
        step = _STEP[units.length]
        self.line_out = widgets.IntSlider(
            description=f"Line-out, {units.length}", min=step, max=100 * step, step=step, **slider
        )
        most = round(float(from_si(_LONGEST_LEADER_M, "length", units.length)))
        self.leader = widgets.FloatSlider(
            description=f"Leader, {units.length}", min=0.5, max=most, step=0.5, **slider
        )
        low, high = (round(float(v), 1) for v in from_si([*_SPEEDS_MPS], "speed", units.speed))
        self.speed = widgets.FloatSlider(
            description=f"Speed, {units.speed}", min=low, max=high, step=0.1, **slider
        )
        self.day = widgets.SelectionSlider(options=[""], description="Day", **slider)
        self.answer, self.spread = widgets.HTML(), widgets.HTML()
        typed = [with_field(slider) for slider in (self.line_out, self.leader, self.speed)]
        chosen = [widgets.HBox([self.boat, self.rod]), widgets.HBox([self.gear, self.setting])]
        self.widget = Named([*chosen, *typed, self.day, self.answer, self.spread], in_sight=True)
        self._quiet = False
        self._take_boat()
        for control, moved in (
            (self.boat, self._take_boat),
            (self.rod, self._take_rod),
            (self.gear, self._take_gear),
            *(
                (control, self._show)
                for control in (self.setting, self.line_out, self.leader, self.speed, self.day)
            ),
        ):
            control.observe(lambda _, moved=moved: self._quiet or moved(), names="value")
        self.newest.wait_shown(FIRST_WORDS_S)

    def _ipython_display_(self) -> None:
        display(self.widget)  # type: ignore[no-untyped-call]

    def _take_boat(self) -> None:
        """Offer a boat's rods, gears and days."""
        asked = self.season.boat_to_ask(self.boat.value)
        trips = self.season.trips
        days = sorted(trips.loc[trips["boat"] == asked.name, "date"].unique())
        self._quiet = True
        self.rod.options = [slot.rod for slot in asked.slots]
        self.gear.options = list(asked.basis.gears)
        self.rod.index = self.gear.index = 0
        self.day.options = [(pd.Timestamp(day).strftime("%d %b"), day) for day in days]
        self.day.index = len(days) // 2
        self._quiet = False
        self._take_rod()

    def _take_rod(self) -> None:
        """Set every control as the rod was."""
        asked = self.season.boat_to_ask(self.boat.value)
        was, units = asked.usual(self.rod.value), self.season.units
        self._quiet = True
        self.gear.value = was.gear
        self._offer_dial()
        self.setting.value = None if np.isnan(was.setting) else was.setting
        for control, value, quantity in (
            (self.line_out, was.line_out_m, "length"),
            (self.leader, was.leader_m, "length"),
            (self.speed, was.speed_mps, "speed"),
        ):
            control.disabled = bool(np.isnan(value))
            if not control.disabled:
                shown = float(from_si(value, quantity, units.of(quantity)))
                shown = control.step * round(shown / control.step)
                control.value = type(control.value)(min(max(shown, control.min), control.max))
        self._as_was = {one: one.value for one in (self.line_out, self.leader, self.speed)}
        self._quiet = False
        self._show()

    def _take_gear(self) -> None:
        self._quiet = True
        self._offer_dial()
        self._quiet = False
        self._show()

    def _offer_dial(self) -> None:
        """Offer the settings that the gear was fished on; none where it has no dial."""
        dial = self.season.boat_to_ask(self.boat.value).basis.gears[self.gear.value].dial
        marks = [(f"{mark:g}", mark) for mark in dial if not np.isnan(mark)]
        self.setting.options = marks or [("no dial", None)]
        self.setting.index = 0
        self.setting.disabled = not marks

    @property
    def wishes(self) -> dict[str, Any]:
        """What the controls ask for, as `Season.what_if` takes it."""
        return {
            "boat": self.boat.value,
            "gear": self.gear.value,
            "setting": self.setting.value,
            "line_out": self._moved(self.line_out),
            "leader": self._moved(self.leader),
            "speed": self._moved(self.speed),
            "date": self.day.value,
        }

    def _moved(self, slider: widgets.Widget) -> float | None:
        """Return what a slider asks for; nothing where it stands, to its step, as the rod was."""
        if slider.disabled or abs(slider.value - self._as_was[slider]) < slider.step / 2:
            return None  # a browser sends 3.8 back where 38 steps of 0.1 were a little more
        return float(slider.value)

    def _show(self) -> None:
        rod, wishes = self.rod.value, self.wishes
        self.newest.do(lambda: self._tell(rod, wishes), self._failed)

    def _tell(self, rod: str, wishes: dict[str, Any]) -> None:
        """Say what is expected, and draw the spread."""
        try:
            found = self.season.what_if(rod, **wishes)
        except UsageError as error:
            self._failed(str(error))
            return
        self.answer.value = bars.whole(found.card.html)
        self.spread.value = what_if_words.spread(found).html

    def _failed(self, reason: str) -> None:
        self.answer.value, self.spread.value = paragraph(reason, "absent").html, ""


def rod_controls(season: Season) -> RodControls:
    """Return the controls of one rod of a season.

    Raises
    ------
    UsageError
        For anything but a season.
    RodhoursError
        Where the log has no rods, or no strike that compares them.
    """
    if not isinstance(season, Season):
        msg = f"rod_controls() takes a season, not {type(season).__name__}."
        raise UsageError(msg)
    if not season.boat_to_ask().slots:
        msg = "the log has no sets, so no rod is known. Remedy: write what each rod fished."
        raise RodhoursError(msg)
    return RodControls(season)
