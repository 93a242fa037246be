"""What a simulated season is made of: the fish, the captain's habits and the log's gaps."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any, Literal

FT = 0.3048

Follow = Literal["depth", "temperature", "nothing"]
Casts = Literal["trip", "week", "sparse", "none"]


@dataclass(frozen=True, kw_only=True)
class Species:
    """One kind of fish; `None` is drawn from the seed, once a season.

    A preference falls off as a bell on the log scale, with its own width on each side.
    ``depth_width_m`` and ``temp_width_c`` are (shallower or colder, deeper or warmer).
    """

    name: str = "lake trout"
    share: float = 1.0
    best_depth_m: float | None = None
    depth_width_m: tuple[float, float] | None = None
    best_temp_c: float | None = None
    temp_width_c: tuple[float, float] | None = None
    length_cm: tuple[float, float] = (62.0, 9.0)
    weight_at_mean_kg: float = 2.6
    landed: float = 0.68


@dataclass(frozen=True, kw_only=True)
class Scenario:
    """Switches of a season; every one composes with every other.

    Attributes
    ----------
    follow
        What the fish keep to: a depth, a water temperature, or nothing (a flat curve).
    chasing
        Captains move rods toward the depth of a strike and start a day where the last
        days' strikes came from.
    confounded
        More rods and longer days when fish bite, and other depths in good days and hours.
    shared_depth_error, set_depth_error
        Sd of log depth, against `boat.toml`'s gear: one draw per gear and setting (a
        rigger's is half: its cable is short and heavy), and one per set.
    ground_speed
        The log's speed is over ground; the fish and the gear feel speed through water.
    casts
        One or two a trip, a few a week, about one in ten days, or none.
    day_sd, hour_sd
        Sd of the log abundance of days and of the bite windows within them.
    speed
        Best speed and width of the bell in m/s; drawn where None.
    leader
        Slope and curvature of the log rate in log leader length; drawn where None.
    gear_effect
        Log rate of gears by name; drawn with sd `gear_sd` where left out.
    background
        Share of the best rate that is left at depths and temperatures that no fish likes.
    landing_leader
        Slope of the log odds of landing a fish in log leader length.
    light_m
        How much deeper the fish hold at noon than at dawn and dusk.
    school_m
        Sd of how far the school that passes in each half hour is from their usual depth.
    """

    name: str = "benign"
    follow: Follow = "depth"
    chasing: bool = False
    confounded: bool = False
    shared_depth_error: float = 0.0
    set_depth_error: float = 0.0
    ground_speed: bool = False
    casts: Casts = "trip"
    strikes: int = 300
    day_sd: float = 0.7
    hour_sd: float = 0.6
    gear_sd: float = 0.2
    lure_sd: float = 0.0
    speed: tuple[float, float] | None = None
    leader: tuple[float, float] | None = None
    gear_effect: dict[str, float] | None = None
    background: float = 0.0
    landing_leader: float = 0.0
    light_m: float = 0.0
    school_m: float = 0.0
    species: tuple[Species, ...] = field(default_factory=lambda: (Species(),))

    def but(self, **changes: Any) -> Scenario:
        """Return a copy with some switches changed."""
        return replace(self, **changes)


def _named() -> dict[str, Scenario]:
    plain = Scenario()
    captain: dict[str, Any] = {"chasing": True, "confounded": True}
    depth: dict[str, Any] = {"shared_depth_error": 0.10, "set_depth_error": 0.05}
    rows: dict[str, dict[str, Any]] = {
        "benign": {},
        "flat": {"follow": "nothing"},
        "chasing_confounded": captain,
        "temperature": {"follow": "temperature"},
        "temperature_chasing": {"follow": "temperature", **captain},
        "few_strikes": {"strikes": 50, **captain},
        "depth_error": {**captain, **depth},
        "ground_speed": {**captain, "ground_speed": True},
        "no_casts": {"follow": "temperature", **captain, "casts": "none"},
        "sparse_casts": {"follow": "temperature", **captain, "casts": "sparse"},
        "all_troubles": {
            "follow": "temperature",
            **captain,
            **depth,
            "ground_speed": True,
            "casts": "week",
        },
    }
    return {name: plain.but(name=name, **row) for name, row in rows.items()}


SCENARIOS = _named()
