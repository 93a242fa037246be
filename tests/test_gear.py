"""Owns the checks of gear parameters: what boat.toml may say, and what is refused how."""

import tomllib
from dataclasses import FrozenInstanceError, fields

import pytest

from analysis.depth.kinds import Diver, FlatLine, Part, Rigger, WeightedLine, gear_from_toml
from analysis.depth.water import Water, water_from_toml
from analysis.errors import GearError

# The example of the shared physics page, which states every key with its default.
EXAMPLE = """
[water]
density_kg_m3 = 999.7
[gear.diver]
kind = "diver"
lift_area_m2 = 0.00625
drag_area_m2 = 0.0045
lure_drag_area_m2 = 0.0005
weight_n = 0.15
roll_deg = { "0" = 0.0, "1" = 20.5, "2" = 38.5, "3" = 47.0 }
line_diameter_mm = 0.30
normal_drag = 1.2
tangential_drag = 0.015
line_weight_n_per_m = 0.0
[gear.rigger]
kind = "rigger"
ball_mass_kg = 4.536
ball_density_kg_m3 = 11340.0
ball_drag = 0.47
lure_drag_area_m2 = 0.0005
cable_diameter_mm = 0.9
cable_weight_n_per_m = 0.0257
normal_drag = 1.2
tangential_drag = 0.015
clipped_line_diameter_mm = 0.35
clipped_normal_drag = 1.2
clipped_tangential_drag = 0.015
pulley_height_m = 1.2
counter_zero = "pulley"
[gear.leadcore]
kind = "weighted line"
lure_drag_area_m2 = 0.0003
lure_weight_n = 0.02
parts = [
  { name = "leader",  length_m = 6.0,   diameter_mm = 0.30 },
  { name = "core",    length_m = 45.72, diameter_mm = 0.85, weight_n_per_m = 0.0098 },
  { name = "backing",                   diameter_mm = 0.35 },
]
normal_drag = 1.2
tangential_drag = 0.015
[gear.flat]
kind = "flat line"
lure_drag_area_m2 = 0.0002
lure_weight_n = 0.02
[[gear.flat.parts]]
name = "leader"
length_m = 2.0
diameter_mm = 0.30
lump_weight_n = 0.27
lump_drag_area_m2 = 0.0001
[[gear.flat.parts]]
name = "line"
diameter_mm = 0.30
"""
PARTS = [{"name": "line", "diameter_mm": 0.3}]


def test_the_example_states_the_defaults():
    boat = tomllib.loads(EXAMPLE)
    assert water_from_toml(boat["water"]) == Water()
    gears = {name: gear_from_toml(name, table) for name, table in boat["gear"].items()}
    assert gears["diver"] == Diver()
    assert gears["rigger"] == Rigger()
    core, flat = gears["leadcore"], gears["flat"]
    assert core == WeightedLine(name="leadcore", parts=core.parts)
    assert flat == FlatLine(name="flat", parts=flat.parts)
    assert [part.name for part in core.parts] == ["leader", "core", "backing"]
    assert flat.parts[0].lump_weight_n == 0.27


@pytest.mark.parametrize("kind", ["diver", "rigger"])
def test_a_kind_alone_is_enough_for_the_defaults(kind):
    assert gear_from_toml(kind, {"kind": kind}) == {"diver": Diver(), "rigger": Rigger()}[kind]


def test_the_dial_is_sorted_and_keeps_fractions():
    gear = gear_from_toml("disc", {"kind": "diver", "roll_deg": {"2.5": 40, "0": 0, "1": 20}})
    assert gear.roll_deg == ((0.0, 0.0), (1.0, 20.0), (2.5, 40.0))


def test_parameters_do_not_change_after_the_check():
    with pytest.raises(FrozenInstanceError, match="cannot assign"):
        Diver().weight_n = 3.0


BAD = [
    # (table, key that must be named, words of the message)
    ({}, "gear.g.kind", "kind is missing"),
    ({"kind": "divr"}, "gear.g.kind", "'divr' is no kind of gear.*did you mean 'diver'"),
    ({"kind": 3}, "gear.g.kind", "'diver', 'rigger', 'weighted line', 'flat line'"),
    (
        {"kind": "diver", "line_diameter": 0.3},
        "gear.g.line_diameter",
        "no such key.*did you mean line_diameter_mm",
    ),
    ({"kind": "diver", "ball_drag": 0.5}, "gear.g.ball_drag", "no such key"),
    ({"kind": "diver", "line_diameter_mm": 0}, "gear.g.line_diameter_mm", "lies above 0"),
    ({"kind": "diver", "line_diameter_mm": -0.3}, "gear.g.line_diameter_mm", "lies above 0"),
    ({"kind": "diver", "line_diameter_mm": 300}, "gear.g.line_diameter_mm", "check the unit"),
    ({"kind": "diver", "line_diameter_mm": "0.3"}, "gear.g.line_diameter_mm", "is no number"),
    ({"kind": "diver", "line_diameter_mm": True}, "gear.g.line_diameter_mm", "is no number"),
    ({"kind": "diver", "weight_n": float("nan")}, "gear.g.weight_n", "is no number"),
    ({"kind": "diver", "lift_area_m2": 62.5}, "gear.g.lift_area_m2", "check the unit"),
    ({"kind": "diver", "roll_deg": {"1": 20.0}}, "gear.g.roll_deg", "at least two settings"),
    ({"kind": "diver", "roll_deg": 20.0}, "gear.g.roll_deg", "is no table"),
    ({"kind": "diver", "roll_deg": {"0": 0, "one": 20}}, "gear.g.roll_deg.one", "is a number"),
    ({"kind": "diver", "roll_deg": {"0": 0, "1": "a"}}, "gear.g.roll_deg.1", "in degrees"),
    ({"kind": "diver", "roll_deg": {"0": 0, "1": -20}}, "gear.g.roll_deg.1", "not a sign"),
    ({"kind": "diver", "roll_deg": {"1": 20, "1.0": 20}}, "gear.g.roll_deg", "rising order"),
    ({"kind": "diver", "reference": 5}, "gear.g.reference", "where the values come from"),
    ({"kind": "rigger", "counter_zero": "boat"}, "gear.g.counter_zero", '"pulley" or "surface"'),
    ({"kind": "rigger", "ball_density_kg_m3": 11.34}, "gear.g.ball_density_kg_m3", "the unit"),
    ({"kind": "flat line"}, "gear.g.parts", "no parts"),
    ({"kind": "flat line", "parts": "line"}, "gear.g.parts", "is no list"),
    ({"kind": "flat line", "parts": [3]}, r"gear.g.parts[0]", "is no table"),
    ({"kind": "rigger", "ball_mass_kg": 0}, "gear.g.ball_mass_kg", "lies above 0"),
    ({"kind": "flat line", "parts": [{"diameter_mm": 1}]}, "gear.g.parts[0].name", "no name"),
    ({"kind": "flat line", "parts": [{"name": "a"}]}, "gear.g.parts.a.diameter_mm", "missing"),
    (
        {"kind": "flat line", "parts": [{"name": "a", "diameter_mm": 0}]},
        "gear.g.parts.a.diameter_mm",
        "lies above 0",
    ),
    (
        {"kind": "flat line", "parts": [{"name": "a", "diamter_mm": 1, "diameter_mm": 1}]},
        "gear.g.parts.a.diamter_mm",
        "did you mean diameter_mm",
    ),
    (
        {"kind": "flat line", "parts": [{"name": "a", "diameter_mm": 1}, *PARTS]},
        "gear.g.parts.a.length_m",
        "only the last part may leave it open",
    ),
    (
        {"kind": "flat line", "parts": [{"name": "line", "diameter_mm": 1, "length_m": 2}, *PARTS]},
        "gear.g.parts",
        "two parts share a name",
    ),
]


@pytest.mark.parametrize(("table", "key", "words"), BAD)
def test_what_cannot_be_used_is_refused_with_key_and_remedy(table, key, words):
    with pytest.raises(GearError, match=words) as refusal:
        gear_from_toml("g", table)
    assert refusal.value.key == key
    assert f"key {key}: " in str(refusal.value)
    assert refusal.value.remedy


def test_water_is_checked_as_well():
    with pytest.raises(GearError, match="did you mean density_kg_m3"):
        water_from_toml({"density": 1000})
    with pytest.raises(GearError, match="check the unit"):
        Water(density_kg_m3=1.0)


@pytest.mark.parametrize("kind", [Water, Part, Diver, Rigger, WeightedLine, FlatLine])
def test_every_number_has_a_unit_and_a_meaning(kind):
    numbers = [spec for spec in fields(kind) if "low" in spec.metadata]
    assert numbers
    for spec in numbers:
        assert spec.metadata["unit"]
        assert spec.metadata["meaning"]
