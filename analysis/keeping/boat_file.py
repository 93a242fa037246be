"""Owns the text of a new boat.toml: every key with a comment that says what it is for."""

import json

from analysis.keeping.plan import Plan

_GEAR = {
    "diver": """\
kind = "diver"                     # a directional diver: a disc that pulls down and to its side
roll_deg = { "0" = 0.0, "1" = 20.5, "2" = 38.5, "3" = 47.0 }  # dial mark = tilt of the disc
line_diameter_mm = 0.30            # of the line from the rod to the disc; thicker runs shallower
lure_drag_area_m2 = 0.0005         # pull of the lure; a flasher or big plug has about 0.002
""",
    "rigger": """\
kind = "rigger"                    # a ball on a cable, the line in a release clip
ball_mass_kg = 4.536               # of the ball in air; 4.536 is 10 lb
cable_diameter_mm = 0.9            # thicker cable blows back more
pulley_height_m = 1.2              # of the pulley above the water
counter_zero = "pulley"            # or "surface": where the ball hung when the counter read 0
""",
    "leadcore": """\
kind = "weighted line"             # line that sinks by itself, in parts from the lure up
lure_drag_area_m2 = 0.0003         # pull of the lure
lure_weight_n = 0.02               # weight of the lure in water
parts = [                          # the last part may leave its length open
  { name = "leader", length_m = 6.0, diameter_mm = 0.30 },
  { name = "core", length_m = 45.72, diameter_mm = 0.85, weight_n_per_m = 0.0098 },
  { name = "backing", diameter_mm = 0.35 },
]
""",
    "flat": """\
kind = "flat line"                 # plain line, with a weight pinched on or without
lure_drag_area_m2 = 0.0002         # pull of the lure
lure_weight_n = 0.02               # weight of the lure in water
parts = [                          # lump_weight_n: of the weight at the leader's upper end
  { name = "leader", length_m = 2.0, diameter_mm = 0.30, lump_weight_n = 0.27 },
  { name = "line", diameter_mm = 0.30 },
]
""",
}


def boat_toml(plan: Plan) -> str:
    """Return a boat.toml for a plan.

    The gears' numbers are the defaults: not measured, plausible. The file says so.
    """
    units = plan.units
    rods = ", ".join(rod.rod for rod in plan.rods)
    lines = [
        "# What the season's tables are written in, and what is towed. Text stands in quotation",
        "# marks; what follows a # is for you and is not read.",
        "",
        _key("boat", plan.boat, "the boat's name"),
        _key("club", plan.club, "its club, for the club's weekly report")
        if plan.club
        else '# club = "..."                     # its club, for the club\'s weekly report',
        _key("time_zone", plan.time_zone, "zone of every time in the log; summer time is known"),
        "",
        "[units]                            # what the tables are written in",
        _key("length", units.length, "ft or m: line_out, lead, leader_length"),
        _key("depth", units.depth, "ft or m: casts, probes, soaks, and the bands of the review"),
        _key("speed", units.speed, "mph, kn, km/h or m/s"),
        _key("temperature", units.temperature, "F or C"),
        _key("fish_length", units.fish_length, "in or cm"),
        _key("fish_weight", units.fish_weight, "lb or kg"),
        "",
        f"[rods]                             # yours: {rods}",
        "tip_height_m = 1.5                 # of rod tips above the water, or each: { P1 = 1.8 }",
        "# counter_scale = { P1 = 1.04 }    # true line over counter reading, where measured",
        "",
        "[habits]                           # what the short log leaves out",
        "reset_minutes = 8                  # from a strike until the rod fishes again",
        "minutes_per_rod = 3                # between two rods when lines go in and come out",
        "# move_minutes = 0                 # that a rod is out of the water when it is changed",
        "",
        "[water]",
        *_water(plan.water),
        "density_kg_m3 = 999.7              # fresh water; the sea has about 1025",
        "",
        "[sharing]",
        "name_boat = false                  # may a club's report name this boat?",
        "name_areas = false                 # may it name the waters you fished?",
    ]
    for gear in plan.gears:
        lines += [
            "",
            f"[gear.{gear}]",
            "# these numbers were not measured: a few trials with a depth",
        ]
        lines += ["# logger (table soaks) put them right"]
        lines += [_GEAR[gear].rstrip()]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _water(name: str) -> list[str]:
    if not name:
        return ['# name = "..."                     # logs of one water share their temperatures']
    return [_key("name", name, "logs that name the same water share their temperatures")]


def _key(key: str, value: str, comment: str) -> str:
    """Write a key, its text as TOML takes it (a JSON string is one), and a comment."""
    return f"{f'{key} = {json.dumps(value, ensure_ascii=False)}':<34} # {comment}"
