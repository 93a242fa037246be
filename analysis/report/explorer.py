"""Owns the depth explorer: sliders in, where a line runs in words and on a picture out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import ipywidgets as widgets
import matplotlib as mpl
import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analysis.depth import GearBelief, RodLine, believe, equal_depth_table, line_path
from analysis.depth.invert import LONGEST_LINE_OUT_M
from analysis.depth.limits import USUAL_SPEED_MPS
from analysis.depth.lures import lure_key
from analysis.errors import LogError, RodhoursError
from analysis.log.boat import Boat, read_boat
from analysis.rates.build_exposure import join
from analysis.report.accessible import Named, with_field
from analysis.season import read_seasons
from analysis.show.base.html import Fragment, Told, paragraph
from analysis.show.base.pictures import figure
from analysis.show.base.style import SETTINGS
from analysis.show.depth import explorer_figures, explorer_words
from analysis.show.depth import tables as depth_tables
from analysis.show.depth.explorer_words import LineAt
from analysis.stats.cells import band_of
from analysis.units import DEFAULT_BAND, from_si, to_si

PICTURE_IN = (8.0, 3.8)
START_M = {"line_out": 30.48, "wanted": 12.192}
START_SETTING = 1.0
SPEEDS_MPS = (0.4, 2.5)
TIPS_M = (0.0, 5.0)
DEEPEST_WANTED_M = 60.0
_WIDE = {"description_width": "9em"}
_COUNTS = ["month", "band_low_m", "band_high_m", "rod_hours", "strikes"]


@dataclass(frozen=True, kw_only=True)
class Waters:
    """What the explorer knows: a boat, its gears, and its season if there is a log.

    Attributes
    ----------
    boat
        Its boat.toml.
    beliefs
        Gear name to what is known of it, calibrated where the season has trials.
    dials
        Gear name to the settings that the season used, or the marks of its dial without a log;
        one that is no number for gear without a dial.
    season
        `gear, period, depth_m, hours, strikes`, a row a slice; empty without a log.
    note
        Why there is no season, else empty.
    """

    boat: Boat
    beliefs: Mapping[str, GearBelief]
    dials: Mapping[str, tuple[float, ...]]
    season: pd.DataFrame
    note: str


def read_waters(boat_toml: str | Path) -> Waters:
    """Read a boat and, if its folder holds a season's log, that log.

    Raises
    ------
    LogError
        For a boat.toml that cannot be read or that has no gear.
    """
    file = Path(boat_toml)
    boat, _ = read_boat(file)
    if not boat.gears:
        msg = "there is no gear to explore"
        raise LogError(msg, file=file, key="gear", remedy="describe one under [gear.NAME]")
    beliefs = {name: believe(gear, boat.water) for name, gear in boat.gears.items()}
    nothing = pd.DataFrame(columns=["gear", "period", "depth_m", "hours", "strikes"])
    try:
        (season,) = read_seasons([file.parent])
    except RodhoursError as error:
        note = f"There is no season to show: {error}"
        marks = {name: gear.dial or (np.nan,) for name, gear in boat.gears.items()}
        return Waters(boat=boat, beliefs=beliefs, dials=marks, season=nothing, note=note)
    return Waters(
        boat=boat,
        beliefs={name: season.belief(name) for name in boat.gears},
        dials={name: season.dial(name) for name in boat.gears},
        season=join([season]).table,
        note="",
    )


def counts_of(season: pd.DataFrame, gear: str, band_m: float) -> tuple[pd.DataFrame, float]:
    """Return strikes and rod-hours of a gear by month and depth, and its hours without depth.

    Parameters
    ----------
    season
        `gear, period, depth_m, hours, strikes`.
    gear
        A gear's name.
    band_m
        Height of a band.
    """
    mine = season[season["gear"] == gear]
    known = mine[mine["depth_m"].notna()]
    depth = known["depth_m"].to_numpy(dtype=float)
    deepest = float(depth.max(initial=0.0))
    place = band_of(depth, band_m * np.arange(np.floor(deepest / band_m) + 3.0))
    counts = (
        known.assign(month=known["period"].astype(str), place=place, rod_hours=known["hours"])
        .groupby(["month", "place"], as_index=False)[["rod_hours", "strikes"]]
        .sum()
    )
    counts["band_low_m"] = counts["place"] * band_m
    counts["band_high_m"] = (counts["place"] + 1.0) * band_m
    return counts[_COUNTS], float(mine["hours"].sum() - known["hours"].sum())


class Explorer:
    """Sliders and what they show, in the boat's own units.

    Parameters
    ----------
    waters
        The boat and its season.

    Attributes
    ----------
    gear, setting, lure, line_out, speed, tip_height, wanted, season_gear
        The controls.
    words, picture, table, season_words, season_picture
        What they change.
    one_line, wanted_depth, strikes
        The notebook's three parts, controls above what they change.
    """

    def __init__(self, waters: Waters) -> None:
        self.waters = waters
        boat, units = waters.boat, waters.boat.units
        self.gear = widgets.Dropdown(options=list(boat.gears), description="Gear", style=_WIDE)
        names = [lure.name for lure in boat.lures.values()]
        self.lure = widgets.Dropdown(
            options=[(explorer_words.NO_LURE, ""), *((name, name) for name in names)],
            description="Lure",
            style=_WIDE,
        )
        self.setting = widgets.SelectionSlider(
            options=[(f"{START_SETTING:g}", START_SETTING)], description="Setting", **_slider()
        )
        long = units.length == "ft"
        self.line_out = self._length(
            f"Line-out, {units.length}", 5 if long else 2, LONGEST_LINE_OUT_M, START_M["line_out"]
        )
        deep = units.depth == "ft"
        self.wanted = self._length(
            f"Wanted depth, {units.depth}", 5 if deep else 1, DEEPEST_WANTED_M, START_M["wanted"]
        )
        self.speed = self._tenths(f"Speed, {units.speed}", "speed", SPEEDS_MPS, USUAL_SPEED_MPS)
        height = boat.tip_height_m
        tip_m = float(np.mean(list(height.values()))) if isinstance(height, Mapping) else height
        self.tip_height = self._tenths(f"Rod-tip height, {units.length}", "length", TIPS_M, tip_m)
        self.season_gear = widgets.Dropdown(
            options=list(boat.gears), description="Gear", style=_WIDE
        )
        self.words, self.picture, self.table = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self.season_words, self.season_picture = widgets.HTML(), widgets.HTML()
        pace = (self.speed, self.tip_height)
        shown = [with_field(slider) for slider in pace]
        lure = [self.lure] if names else []
        setup = [self.gear, self.setting, *lure, with_field(self.line_out)]
        self.one_line = Named([*setup, *shown, self.words, self.picture])
        self.wanted_depth = Named([with_field(self.wanted), *lure, *shown, self.table])
        self.strikes = Named([self.season_gear, self.season_words, self.season_picture])
        self._take_gear()
        _on_change(self._take_gear, self.gear)
        for show, controls in (
            (self._show_line, (self.setting, self.lure, self.line_out, *pace)),
            (self._show_wanted, (self.wanted, self.lure, *pace)),
            (self._show_season, (self.season_gear,)),
        ):
            show()
            _on_change(show, *controls)

    def _length(self, name: str, step: int, most_m: float, start_m: float) -> widgets.FloatSlider:
        unit = self.waters.boat.units.length if "Line" in name else self.waters.boat.units.depth
        most, start = (float(from_si(value, "length", unit)) for value in (most_m, start_m))
        top, first = step * int(most // step), step * round(start / step)
        return widgets.FloatSlider(
            value=first, min=step, max=top, step=step, description=name, **_slider()
        )

    def _tenths(
        self, name: str, quantity: str, bounds: tuple[float, float], start: float
    ) -> widgets.FloatSlider:
        unit = self.waters.boat.units.of(quantity)
        low, high, first = (round(float(x), 1) for x in from_si([*bounds, start], quantity, unit))
        return widgets.FloatSlider(
            value=first,
            min=min(low, first),
            max=max(high, first),
            step=0.1,
            description=name,
            **_slider(),
        )

    def _take_gear(self) -> None:
        """Fit the dial to the gear, grey out what does not matter to it, and show its line."""
        gear = self.waters.boat.gears[self.gear.value]
        dial = self.waters.dials[self.gear.value]
        self.setting.disabled = not gear.dial
        # A height of its own does not follow the slider.
        self.tip_height.disabled = gear.top_height_m(0.0) == gear.top_height_m(1.0)
        self.setting.layout.display = None if gear.dial else "none"
        options = tuple((f"{setting:g}", setting) for setting in dial)
        if gear.dial and options != self.setting.options:
            kept = self.setting.value
            self.setting.options = options
            self.setting.value = next(
                (one for one in (kept, START_SETTING) if one in dial), dial[0]
            )
        self._show_line()

    @property
    def _pace(self) -> tuple[float, float]:
        """Speed and height of the rod tip, in SI."""
        units = self.waters.boat.units
        return (
            float(to_si(self.speed.value, "speed", units.speed)),
            float(to_si(self.tip_height.value, "length", units.length)),
        )

    @property
    def _rig(self) -> Mapping[str, float]:
        """What columns say of the lure chosen."""
        lure = self.waters.boat.lures.get(lure_key(str(self.lure.value)))
        return lure.columns if lure else {}

    def _show_line(self) -> None:
        units, name = self.waters.boat.units, str(self.gear.value)
        belief, (speed_mps, tip_height_m) = self.waters.beliefs[name], self._pace
        gear = belief.gear
        setting = float(self.setting.value) if gear.dial else np.nan
        line_out_m = float(to_si(self.line_out.value, "length", units.length))
        rod = RodLine(
            rod=name,
            belief=belief,
            line_out_m=line_out_m,
            side="starboard",
            setting=setting,
            speed_mps=speed_mps,
            tip_height_m=gear.top_height_m(tip_height_m),
            rig=self._rig,
        )
        path = line_path(rod)
        points = pd.DataFrame(path.points_m, columns=["astern_m", "across_m", "depth_m"])
        end = points.iloc[0] if len(points) else pd.Series(np.nan, index=points.columns)
        line = LineAt(
            gear=name,
            lure=str(self.lure.value),
            setting=setting,
            line_out_m=line_out_m,
            speed_mps=speed_mps,
            depth_m=path.depth_m,
            depth_sd_m=rod.depth_sd_m,
            lateral_m=float(end["across_m"]),
            setback_m=float(end["astern_m"]),
            reason=path.reason,
            top=gear.hangs_from,
            trials=belief.trials,
        )
        self.words.value = explorer_words.where_it_runs(line, units).html
        self.picture.value = _picture(
            explorer_figures.line_shape,
            points,
            rod.depth_sd_m,
            units,
            told=explorer_words.told_line(line, units),
        ).html

    def _show_wanted(self) -> None:
        units = self.waters.boat.units
        wanted_m = float(to_si(self.wanted.value, "depth", units.depth))
        speed_mps, tip_height_m = self._pace
        rows = equal_depth_table(
            self.waters.beliefs,
            depth_m=wanted_m,
            speed_mps=speed_mps,
            tip_height_m=tip_height_m,
            dials=self.waters.dials,
            rig=self._rig,
        )
        table = pd.DataFrame([vars(row) for row in rows])
        self.table.value = depth_tables.equal_depth(table, units).html

    def _show_season(self) -> None:
        name, units = str(self.season_gear.value), self.waters.boat.units
        if self.waters.note:
            self.season_words.value = paragraph(self.waters.note, "absent").html
            return
        band_m = float(to_si(DEFAULT_BAND[units.depth], "depth", units.depth))
        counts, unplaced = counts_of(self.waters.season, name, band_m)
        self.season_words.value = explorer_words.season_with(counts, name, unplaced).html
        told = explorer_words.told_counts(counts, name, units)
        picture = _picture(explorer_figures.strikes_and_hours, counts, units, told=told)
        self.season_picture.value = picture.html


def explore(boat_toml: str | Path) -> Explorer:
    """Return the explorer of a boat.toml.

    Raises
    ------
    LogError
        For a boat.toml that cannot be read or that has no gear.
    """
    return Explorer(read_waters(boat_toml))


def _slider() -> dict[str, Any]:
    """Return what all sliders share: they answer when let go, and are wide enough to aim."""
    return {
        "continuous_update": False,
        "style": _WIDE,
        "layout": widgets.Layout(width="34em", max_width="100%"),
    }


def _on_change(show: Callable[[], None], *controls: widgets.Widget) -> None:
    for control in controls:
        control.observe(lambda _: show(), names="value")


def _picture(draw: Callable[..., Axes], frame: pd.DataFrame, *args: Any, told: Told) -> Fragment:
    """Draw wider than a page's pictures: a notebook has the room, and two panels need it."""
    if frame.empty:
        return paragraph(told.missing, "absent")
    with mpl.rc_context(dict(SETTINGS)):
        fig = Figure(figsize=PICTURE_IN, layout="constrained")
        draw(frame, *args, ax=fig.subplots())
        return figure(fig, alt=told.alt, caption=told.caption)
