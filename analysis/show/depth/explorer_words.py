"""Owns the sentences of the depth explorer: where a line runs, what a gear's season adds up to."""

from dataclasses import dataclass

import pandas as pd

from analysis import labels
from analysis.show.base.html import Fragment, Told, bullets, paragraph
from analysis.units import Units, from_si, in_boat_units

NO_LURE = "one that does not dive"


@dataclass(frozen=True, kw_only=True)
class LineAt:
    """One line as set, and where it runs.

    Parameters
    ----------
    gear : str
        Name of the gear.
    lure : str
        The lure that dives, by its name in boat.toml; empty for one that does not.
    setting : float
        Dial setting; NaN for gear without a dial.
    line_out_m, speed_mps : float
        As set.
    depth_m, depth_sd_m, lateral_m, setback_m : float
        Where the deep end runs, sideways and astern of the rod tip; NaN with a `reason`.
    reason : str
        Why there is no depth, else empty.
    top : str
        What holds the line, such as the rod tip; distances are from there.
    trials : int
        Depth-logger trials behind the gear's numbers.
    """

    gear: str
    lure: str
    setting: float
    line_out_m: float
    speed_mps: float
    depth_m: float
    depth_sd_m: float
    lateral_m: float
    setback_m: float
    reason: str
    top: str
    trials: int

    @property
    def name(self) -> str:
        """The gear with its setting, if it has a dial, and its lure, if that dives."""
        gear = self.gear if pd.isna(self.setting) else f"{self.gear} on {self.setting:g}"
        return f"{gear} with {self.lure}" if self.lure else gear


def where_it_runs(line: LineAt, units: Units) -> Fragment:
    """Say where a line runs and how sure that is, all typed-in names escaped."""
    length = labels.amount(line.line_out_m, "length", units)
    speed = labels.amount(line.speed_mps, "speed", units, 1)
    head = f"{line.name}, {length} out at {speed}"
    if line.reason:
        return paragraph(f"{head}: no answer. {in_boat_units(line.reason, units)}.", "absent")
    # Low and high are never told above the surface.
    low = max(line.depth_m - labels.Z90 * line.depth_sd_m, 0.0)
    high = line.depth_m + labels.Z90 * line.depth_sd_m
    deep = labels.number(float(from_si(line.depth_m, "depth", units.depth)))
    told = [
        f"{deep} {labels.unit_of('depth', units)} deep "
        f"(± {labels.amount(line.depth_sd_m, 'depth', units)}, one standard deviation; "
        f"nine times in ten between {_ends(low, high, units)})",
        f"{labels.amount(abs(line.lateral_m), 'length', units)} to the side of the {line.top}",
        f"{labels.amount(line.setback_m, 'length', units)} astern of the {line.top}",
    ]
    return paragraph(f"{head}:") + bullets(told) + paragraph(resting_on(line.trials), "note")


def _ends(low_m: float, high_m: float, units: Units) -> str:
    ends = from_si([low_m, high_m], "depth", units.depth)
    low, high = (labels.number(float(end)) for end in ends)
    return f"{low} and {high} {labels.unit_of('depth', units)}"


def resting_on(trials: int) -> str:
    """Say what a gear's depths rest on."""
    if trials:
        return f"Calibrated by {labels.count(trials, 'depth-logger trial')} of this season folder."
    return "Not calibrated: no depth-logger trial of this gear in the season folder."


def told_line(line: LineAt, units: Units) -> Told:
    """Return the words that go with the picture of one line."""
    missing = "There is no line to draw."
    if line.reason:
        return Told(alt=missing, missing=missing)
    where = (
        f"{labels.amount(line.depth_m, 'depth', units)} deep, "
        f"{labels.amount(abs(line.lateral_m), 'length', units)} to the side and "
        f"{labels.amount(line.setback_m, 'length', units)} astern"
    )
    return Told(
        alt=f"Path of the {line.name} from the {line.top}, from the side and from behind: {where}.",
        caption=f"Square: the {line.top}. Dot: the deep end, with the 90 % interval of its "
        "depth. Up, down and along are on one scale.",
        missing=missing,
    )


def told_counts(counts: pd.DataFrame, gear: str, units: Units) -> Told:
    """Return the words that go with strikes and rod-hours by depth and month."""
    missing = f"No rod-hour with {gear} has a modelled depth."
    if counts.empty:
        return Told(alt=missing, missing=missing)
    bands = counts.groupby(["band_low_m", "band_high_m"], as_index=False)[["strikes", "rod_hours"]]
    most = bands.sum().nlargest(1, "rod_hours").iloc[0]
    band = labels.band(float(most["band_low_m"]), float(most["band_high_m"]), units)
    return Told(
        alt=f"{gear}: strikes and rod-hours by depth and month, side by side. Most rod-hours lie "
        f"at {band}: {labels.number(most['rod_hours'])}, with "
        f"{labels.count(most['strikes'], 'strike')}.",
        caption="Left: strikes. Right: the rod-hours they took. White: not fished.",
        missing=missing,
    )


def season_with(counts: pd.DataFrame, gear: str, unplaced_hours: float) -> Fragment:
    """Say what one gear's season adds up to, and what has no depth."""
    told = (
        f"{gear}: {labels.count(counts['strikes'].sum(), 'strike')} in "
        f"{labels.count(round(counts['rod_hours'].sum()), 'rod-hour')}. These are plain counts: "
        "rods sit where fish were caught before, so a depth with many strikes may only be a depth "
        "with many rod-hours. The season review compares depths at equal conditions."
    )
    out = paragraph(told)
    if unplaced_hours >= 0.5:
        lost = labels.count(round(unplaced_hours), "rod-hour")
        out += paragraph(f"{lost} more have no modelled depth and are not in the picture.", "note")
    return out
