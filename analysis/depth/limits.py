"""Owns the limits of what the depth model takes; the readers of tables and boat.toml use these.

They are limits of common sense (no source): wide enough for any boat that trolls, narrow enough
to find a slipped digit or a wrong unit.
"""

from typing import NamedTuple

DEFAULT_TIP_HEIGHT_M = 1.5
"""Height of a rod tip above the water where nothing is said (common practice, no source)."""

USUAL_SPEED_MPS = 1.1
"""Taken for depth where no speed is known; a diver's depth hardly depends on it."""


class Limit(NamedTuple):
    """A closed range; `above` leaves its lower end out."""

    low: float
    high: float
    above: bool = False


LINE_OUT_M = Limit(0.0, 500.0, above=True)
SPEED_MPS = Limit(0.0, 10.0, above=True)
LEADER_LENGTH_M = Limit(0.0, 50.0)
LEAD_M = Limit(0.0, 200.0)
TIP_HEIGHT_M = Limit(0.0, 10.0)
TIP_TO_SIDE_M = Limit(0.0, 15.0)
"""Of a rod tip from the middle of the boat; of a planer's board it is the rod's."""
