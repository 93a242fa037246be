"""Why a rod is set as it is, and why two lines may tangle: numbers, no words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from analysis.units import Units


@dataclass(frozen=True, kw_only=True)
class RodReason:
    """Why a rod of a starting spread stands where it does.

    Attributes
    ----------
    band_m : tuple of float
        Edges of the band, or the two, that it covers or explores.
    units : Units
        The boat's own.
    explores : str
        The period whose rod-hours were too few, where it explores; empty where it covers.
    rod_hours : float or None
        Fished in the band then; None where nothing is known of it.
    chance : float
        That the band is as good as the best one on a day.
    all_do_m : tuple of float or None
        Line-outs between which all do nearly as well, where known and not the same.
    short : bool
        Whether its gear does not reach the band, and runs where it catches best of what it reaches.
    apart : bool
        Whether it stands apart from where it would stand alone, to hedge what the rods share.
    beyond : str
        ``shallower`` or ``deeper`` where it then runs clear of the band; empty where it does not.
    lure : str
        The lure that dives which it fishes, and for which its line-out is; empty for none.
    counter, counter_scale : float
        What its counter shows, in the boat's unit of length, and the true line on one of it.
    """

    band_m: tuple[float, float]
    units: Units
    explores: str = ""
    rod_hours: float | None = None
    chance: float = 0.0
    all_do_m: tuple[float, float] | None = None
    short: bool = False
    apart: bool = False
    beyond: Literal["", "shallower", "deeper"] = ""
    lure: str = ""
    counter: float = 0.0
    counter_scale: float = 1.0


@dataclass(frozen=True, kw_only=True)
class NearReason:
    """Why two lines of a spread may tangle.

    Attributes
    ----------
    how : str
        ``cross``; ``divers``, two of a side that run too near each other; ``pass``, two lines
        that come too near.
    limit_m : float
        The distance that they do not keep.
    units : Units
        The boat's own.
    """

    how: Literal["cross", "divers", "pass"]
    limit_m: float
    units: Units
