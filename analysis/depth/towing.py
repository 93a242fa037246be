"""Owns one gear of a boat as it is towed: each way to tow it solved once, at a few line-outs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from analysis.depth.columns import Columns
from analysis.depth.march import Array
from analysis.depth.uncertainty import GearBelief

KNOTS = 16
"""Line-outs at which depth is solved; between them it is smooth in the logs of both."""
SHORTEST_M = 3.0
_FASTER = 0.1
"""Step of log speed over which depth's answer to it is looked at."""

Way = tuple[str, float | None, float, float]
"""Lure that dives or none, setting (None for gear without a dial), speed, longest line-out."""


@dataclass(frozen=True, kw_only=True)
class Knots:
    """Lines of one way to tow a gear.

    Attributes
    ----------
    line_out_m : (knots,) array
    depth_m : (knots,) array
        By the model and the soaks; NaN where the line does not run.
    by_speed : (knots,) array
        Change of log depth by log speed.
    shared : (knots, errors) array
        Change of log depth by each error that sets share, as `GearBelief.loadings` has it.
    bend : (knots, errors) array
        Its second difference to each of them.
    own_sd : (knots,) array
        Standard deviation of log depth from set to set.
    """

    line_out_m: Array
    depth_m: Array
    by_speed: Array
    shared: Array
    bend: Array
    own_sd: Array


@dataclass(frozen=True, kw_only=True)
class Towing:
    """One gear of a boat, with the ways to tow it that were solved so far.

    Attributes
    ----------
    belief : GearBelief
    tip_height_m : float
        Of the boat's rods, on average.
    rigs : mapping
        Name of a lure that dives and that the gear fished -> what columns say of a line with it.
    known : dict
        What was solved: strikes change nothing of it, so that fits of all species share it.
    """

    belief: GearBelief
    tip_height_m: float
    rigs: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    known: dict[Way, Knots] = field(default_factory=dict)

    def knots(
        self, setting: Array, speed_mps: Array, longest_m: float, lure: str = ""
    ) -> list[Knots]:
        """Return lines of several ways to tow them, those not known yet all solved at once.

        Parameters
        ----------
        setting, speed_mps : (ways,) arrays
            A setting is NaN for gear without a dial.
        longest_m : float
            Longest line-out that is asked for.
        lure : str
            One of `rigs`; by default one that does not dive.
        """
        longest_m = max(float(longest_m), 2 * SHORTEST_M)
        asked: list[Way] = [
            (lure, None if np.isnan(one) else float(one), float(speed), longest_m)
            for one, speed in zip(setting, speed_mps, strict=True)
        ]
        new = list(dict.fromkeys(way for way in asked if way not in self.known))
        if new:
            self._solve(new)
        return [self.known[way] for way in asked]

    def _solve(self, ways: list[Way]) -> None:
        """Solve ways with one lure and one longest line-out."""
        lure, _, _, longest_m = ways[0]
        line_out_m = np.geomspace(SHORTEST_M, longest_m, KNOTS)
        columns = Columns.of(
            setting=np.repeat([np.nan if way[1] is None else way[1] for way in ways], KNOTS),
            line_out_m=np.tile(line_out_m, len(ways)),
            speed_mps=np.repeat([way[2] for way in ways], KNOTS),
            tip_height_m=self.tip_height_m,
            **self.rigs.get(lure, {}),
        ).for_gear(self.belief.gear)
        step = np.repeat(np.exp([0.0, _FASTER, -_FASTER]), columns.size)
        three = columns.take(np.tile(np.arange(columns.size), 3))
        three = replace(three, speed_mps=three.speed_mps * step)
        depth, fast, slow = self.belief.solve(three).depth_m.reshape(3, len(ways), KNOTS)
        with np.errstate(invalid="ignore"):
            by_speed = np.nan_to_num(np.log(fast / slow)) / (2 * _FASTER)
        found = self.belief.loadings(columns)
        shared, bend = (x.reshape(len(ways), KNOTS, -1) for x in (found.shared, found.bend))
        own_sd = found.own_sd.reshape(len(ways), KNOTS)
        for place, way in enumerate(ways):
            self.known[way] = Knots(
                line_out_m=line_out_m,
                depth_m=depth[place],
                by_speed=by_speed[place],
                shared=shared[place],
                bend=bend[place],
                own_sd=own_sd[place],
            )
