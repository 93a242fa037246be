"""The invented Ostermere Trolling Club: its fish, its three boats and what is true of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from data.boat import FEET, METRES, Boat
from data.captain import Habits
from data.plan import Night
from data.scenario import Casts, Scenario, Species
from data.tackle import GEARS, Gears, Rod, Tackle

MARKUP_LURE = "<b>Silver</b> & Co <img src=x onerror=alert(1)>"

FISH = (
    Species(
        name="landlocked salmon",
        share=1.0,
        best_temp_c=10.5,
        temp_width_c=(1.7, 2.0),
        best_depth_m=14.0,
        depth_width_m=(18.0, 20.0),
        length_cm=(56.0, 7.0),
        weight_at_mean_kg=1.9,
        landed=0.60,
    ),
    Species(
        name="lake trout",
        share=0.6,
        best_temp_c=8.0,
        temp_width_c=(1.5, 1.8),
        best_depth_m=24.0,
        depth_width_m=(16.0, 25.0),
        length_cm=(66.0, 10.0),
        weight_at_mean_kg=3.1,
        landed=0.74,
    ),
    Species(
        name="brown trout",
        share=0.5,
        best_temp_c=12.5,
        temp_width_c=(2.0, 2.2),
        best_depth_m=9.0,
        depth_width_m=(18.0, 14.0),
        length_cm=(52.0, 8.0),
        weight_at_mean_kg=1.7,
        landed=0.70,
    ),
)

SPEED = (1.10, 0.33)  # best speed and width, m/s
LEADER = (0.15, 0.40)  # slope and curvature of the log rate in log(leader / 8 ft)
LANDING_LEADER = 0.5  # slope of the log odds of landing a fish in log leader length
GEAR_EFFECT = {
    "diver": 0.0,
    "rigger": -0.15,
    "core": 0.20,
    "disc": 0.10,
    "ball": -0.15,
    "copper": 0.15,
    "flat": -0.10,
}


def _changed(gear: dict[str, Any], **changes: Any) -> dict[str, Any]:
    return {**gear, **changes}


DIVER, RIGGER, CORE = GEARS["diver"], GEARS["rigger"], GEARS["core"]
DISC = _changed(
    DIVER,
    lift_area_m2=0.0080,
    drag_area_m2=0.0056,
    weight_n=0.20,
    roll_deg={"0": 0.0, "1": 18.0, "2": 36.0, "2.5": 42.0, "3": 48.0},
    line_diameter_mm=0.34,
)
BALL = _changed(RIGGER, ball_mass_kg=5.4, cable_diameter_mm=0.8, pulley_height_m=1.0)
COPPER: dict[str, Any] = {
    "kind": "weighted line",
    "parts": [
        {"name": "leader", "length_m": 3.0, "diameter_mm": 0.30},
        {"name": "copper", "length_m": 90.0, "diameter_mm": 0.90, "weight_n_per_m": 0.022},
        {"name": "backing", "diameter_mm": 0.35},
    ],
}
FLAT: dict[str, Any] = {
    "kind": "flat line",
    "parts": [
        {
            "name": "leader",
            "length_m": 2.4,
            "diameter_mm": 0.30,
            "lump_weight_n": 0.27,
            "lump_drag_area_m2": 0.0001,
        },
        {"name": "line", "diameter_mm": 0.30},
    ],
}


def _core(weight: float) -> dict[str, Any]:
    leader, core, backing = CORE["parts"]
    return _changed(CORE, parts=[leader, _changed(core, weight_n_per_m=weight), backing])


# What the gear really is, where that differs from what the crews believe and wrote down.
DUNLIN_TRUE: Gears = {
    "diver": _changed(
        DIVER,
        drag_area_m2=0.0050,
        normal_drag=1.30,
        roll_deg={"0": 0.0, "1": 24.0, "2": 40.0, "3": 49.5, "3.5": 53.0},
    ),
    "rigger": _changed(RIGGER, normal_drag=1.35),
    "core": _core(0.0091),
}
PETREL_TRUE: Gears = {
    "disc": _changed(
        DISC,
        lift_area_m2=0.0084,
        normal_drag=1.10,
        roll_deg={"0": 0.0, "1": 16.5, "2": 33.0, "2.5": 39.5, "3": 46.0},
    ),
    "ball": _changed(BALL, normal_drag=1.1),
    "copper": COPPER,
}
WHIMBREL_TRUE: Gears = {
    "diver": _changed(
        DIVER,
        lift_area_m2=0.0059,
        normal_drag=1.28,
        roll_deg={"0": 0.0, "1": 21.5, "2": 41.0, "3": 50.5, "3.5": 54.0},
    ),
    "rigger": RIGGER,
    "core": _core(0.0101),
    "flat": FLAT,
}


def _pairs(*gear: tuple[str, str, float | None]) -> tuple[Rod, ...]:
    """Return rods in pairs, port and starboard; a label is a letter and the pair's number."""
    rods = []
    for label, name, setting in gear:
        for side, letter in (("port", "P"), ("starboard", "S")):
            rods.append(Rod(rod=f"{letter}{label}", side=side, gear=name, setting=setting))
    return tuple(rods)


_DUNLIN_RODS = _pairs(
    ("1", "diver", 1.0), ("R", "rigger", None), ("2", "diver", 2.0), ("3", "diver", 3.0),
    ("W", "core", None),
)  # fmt: skip
_PETREL_RODS = _pairs(
    ("B", "ball", None), ("1", "disc", 1.0), ("2", "disc", 2.5), ("W", "copper", None),
    ("0", "disc", 0.0),
)  # fmt: skip
_WHIMBREL_RODS = (
    *_pairs(("1", "diver", 1.0), ("2", "diver", 2.0), ("R", "rigger", None)),
    Rod(rod="PW", side="port", gear="core"),
    Rod(rod="SF", side="starboard", gear="flat"),
)

DUNLIN = Boat(
    name="Dunlin",
    units=FEET,
    name_boat=True,
    counter_scale={"P2": 1.04},
    tackle=Tackle(
        rods=_DUNLIN_RODS,
        gears={"diver": DIVER, "rigger": RIGGER, "core": CORE},
        true_gears=DUNLIN_TRUE,
    ),
    lures=(
        "Tin Lantern 4",
        "Pale Smelt",
        "Copper Vole",
        MARKUP_LURE,
        "Old Ladle",
        "Night Porridge",
        "Ragged Moth",
        "Blue Heel",
    ),
)
PETREL = Boat(
    name="Petrel",
    units=METRES,
    tackle=Tackle(
        rods=_PETREL_RODS,
        gears={"disc": DISC, "ball": BALL, "copper": COPPER},
        true_gears=PETREL_TRUE,
    ),
    lures=("Grå Sild", "Mossy Spoon", "Ember 7", "Glass Thimble 9", "Quiet Uncle", "Brass Wren"),
    areas=("North Basin", "Kettle Bay", "Skerry Deep"),
)
WHIMBREL = Boat(
    name="Whimbrel",
    units={**FEET, "speed": "kn", "temperature": "C", "fish_length": "cm", "fish_weight": "kg"},
    headings={"strikes": {"Fish on": "time"}},
    tackle=Tackle(
        rods=_WHIMBREL_RODS,
        gears={"diver": DIVER, "rigger": RIGGER, "core": CORE, "flat": FLAT},
        true_gears=WHIMBREL_TRUE,
    ),
    lures=("Tin Lantern 4", "Barn Door", "Half Penny", "Dusk Button", "Pale Smelt", "Green Wick"),
    areas=("The Narrows", "South Basin"),
)


# Dunlin's captain trusts in his depth, Petrel's goes where fish were, Whimbrel's fishes high.
DUNLIN_HABITS = Habits(11.0, 0.04, 8.0, -2.0, 0.35)
PETREL_HABITS = Habits(11.0, 0.06, 8.5, 2.0, 0.7)
WHIMBREL_HABITS = Habits(8.0, 0.06, 7.5, -1.5, 0.5)


@dataclass(frozen=True, kw_only=True)
class ClubSeason:
    """One boat's season in the demo."""

    boat: Boat
    year: int
    seed: int
    trips: int
    rods: tuple[int, int]
    strikes: int
    casts: Casts
    nights: tuple[Night, ...]
    habits: Habits
    ground_speed: bool = False
    soaks: int = 0
    probe: bool = False
    bare_times: bool = False
    from_a_spreadsheet: bool = False
    strikes_only_month: str | None = None

    @property
    def folder(self) -> str:
        """The name of its folder, such as `dunlin-2025`."""
        return f"{self.boat.name.lower()}-{self.year}"

    @property
    def lake_seed(self) -> int:
        """Boats share the lake of a year."""
        return 7000 + self.year

    def scenario(self) -> Scenario:
        """Return the season's switches: fish follow temperature, captains chase."""
        return Scenario(
            name=self.folder,
            follow="temperature",
            chasing=True,
            confounded=True,
            set_depth_error=0.05,
            ground_speed=self.ground_speed,
            casts=self.casts,
            strikes=self.strikes,
            species=FISH,
            speed=SPEED,
            leader=LEADER,
            gear_effect=GEAR_EFFECT,
            landing_leader=LANDING_LEADER,
        )


SEASONS = (
    ClubSeason(
        boat=DUNLIN,
        habits=DUNLIN_HABITS,
        year=2025,
        seed=101,
        trips=88,
        rods=(6, 10),
        strikes=310,
        casts="trip",
        nights=(("2025-10-25T23:30", 330),),
        soaks=8,
    ),
    ClubSeason(
        boat=DUNLIN,
        habits=DUNLIN_HABITS,
        year=2026,
        seed=102,
        trips=84,
        rods=(6, 10),
        strikes=340,
        casts="trip",
        nights=(("2026-08-14T20:40", 330), ("2026-10-24T23:10", 340)),
        soaks=12,
    ),
    ClubSeason(
        boat=PETREL,
        habits=PETREL_HABITS,
        year=2025,
        seed=103,
        trips=96,
        rods=(6, 10),
        strikes=430,
        casts="week",
        nights=(("2025-07-18T20:20", 345),),
        ground_speed=True,
        bare_times=True,
    ),
    ClubSeason(
        boat=PETREL,
        habits=PETREL_HABITS,
        year=2026,
        seed=104,
        trips=92,
        rods=(6, 10),
        strikes=400,
        casts="week",
        nights=(("2026-07-03T20:45", 320),),
        ground_speed=True,
        bare_times=True,
        soaks=8,
        probe=True,
    ),
    ClubSeason(
        boat=WHIMBREL,
        habits=WHIMBREL_HABITS,
        year=2025,
        seed=105,
        trips=64,
        rods=(6, 8),
        strikes=190,
        casts="sparse",
        nights=(("2025-08-08T21:00", 300),),
        from_a_spreadsheet=True,
        strikes_only_month="2025-05",
    ),
    ClubSeason(
        boat=WHIMBREL,
        habits=WHIMBREL_HABITS,
        year=2026,
        seed=106,
        trips=70,
        rods=(6, 8),
        strikes=210,
        casts="sparse",
        nights=(("2026-06-19T21:10", 300),),
        from_a_spreadsheet=True,
    ),
)
