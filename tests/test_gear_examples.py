"""Owns the check that every example of boat.toml in pages and messages is a real one."""

import ast
import re
import tomllib
from pathlib import Path

import numpy as np
import pytest

from analysis.depth import believe, solve
from analysis.depth.kinds import KINDS, WeightedLine, gear_from_toml
from analysis.depth.kinds.page import gear_page
from analysis.errors import GearError
from analysis.log.boat import read_boat

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "analysis" / "depth" / "GEAR.md"
HEAD = 'boat = "Dunlin"\ntime_zone = "Europe/Oslo"\n'
UNITS = (
    '[units]\nlength = "ft"\ndepth = "ft"\nspeed = "mph"\ntemperature = "F"\n'
    'fish_length = "in"\nfish_weight = "lb"\n'
)
BLOCK = re.compile(r"^```toml\n(.*?)^```", re.DOTALL | re.MULTILINE)
GIVEN = re.compile(r"\b(?:(?:parts|roll_deg) = (?:\[.*\]|\{.*\})|core = \"[^\"]*\")")


def boat(tmp_path: Path, gear: str):
    """Read a boat.toml as a person would write it."""
    file = tmp_path / "boat.toml"
    file.write_text(HEAD + UNITS + gear, encoding="utf-8")
    return read_boat(file)[0]


def read(tmp_path: Path, gear: str):
    """Read a gear as a person would write it, through the reader of boat.toml."""
    return boat(tmp_path, gear).gears


def test_the_page_of_keys_is_that_of_the_parameters():
    assert PAGE.read_text(encoding="utf-8") == gear_page()


def test_every_example_on_the_page_is_read_and_runs(tmp_path):
    examples = BLOCK.findall(PAGE.read_text(encoding="utf-8"))
    kinds = set()
    for example in examples:
        towing = boat(tmp_path, example)
        ((_, gear),) = towing.gears.items()
        kinds.add(gear.kind)
        for lure in towing.lures.values() or (None,):
            out = solve(gear, setting=1.0, line_out_m=40.0, speed_mps=1.1, lure=lure)
            assert out.depth_m > 1.0, (gear.name, out.reason)
            belief = believe(gear)
            sd = belief.predict(setting=1.0, line_out_m=40.0, speed_mps=1.1).depth_sd_m
            assert 0.02 < sd / out.depth_m < 0.8
    assert kinds == set(KINDS)


def test_every_example_in_the_readme_is_read(tmp_path):
    """An example that is no whole boat.toml is read with the rest of one around it."""
    examples = BLOCK.findall((ROOT / "README.md").read_text(encoding="utf-8"))
    assert examples
    for example in examples:
        given = tomllib.loads(example)
        missing = "" if "boat" in given else HEAD
        units = "" if "units" in given else UNITS
        file = tmp_path / "boat.toml"
        file.write_text(f"{missing}{example}\n{units}", encoding="utf-8")
        assert read_boat(file)[0].name


def messages() -> list[str]:
    """Every text of the code that gives parts, a core or a dial as an example."""
    found: list[str] = []
    for file in (ROOT / "analysis").rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found += GIVEN.findall(node.value)
    return sorted(set(found))


@pytest.mark.parametrize("example", messages())
def test_every_example_in_a_message_is_read_and_runs(tmp_path, example):
    kinds = {"roll_deg": ("diver",), "core": ("weighted line",)}.get(
        example.split()[0], ("flat line", "weighted line")
    )
    for kind in kinds:
        if kind == "weighted line" and example.startswith("parts") and "weight_n" not in example:
            continue
        gear = read(tmp_path, f'[gear.g]\nkind = "{kind}"\n{example}\n')["g"]
        out = solve(gear, setting=0.0, line_out_m=40.0, speed_mps=1.1)
        assert out.depth_m > 1.0, out.reason


def test_messages_have_examples():
    assert len(messages()) >= 3


def test_followed_remedies_lead_to_a_line_that_sinks(tmp_path):
    """150 ft of "lead core" made by a message's example once ran 0.87 m deep, told as if sure."""
    with pytest.raises(
        GearError, match=r'key gear\."lead core"\.parts: the line has no parts'
    ) as e:
        gear_from_toml("lead core", {"kind": "weighted line"})
    (example,) = GIVEN.findall(e.value.remedy)
    gear = read(tmp_path, f'[gear."lead core"]\nkind = "weighted line"\n{example}\n')["lead core"]
    assert solve(gear, line_out_m=45.72, speed_mps=1.1).depth_m > 3.0


def test_a_weighted_line_without_weight_is_refused():
    parts = [{"name": "leader", "length_m": 2.0, "diameter_mm": 0.3}]
    parts += [{"name": "line", "diameter_mm": 0.3}]
    with pytest.raises(GearError, match="no part of this weighted line weighs anything") as e:
        gear_from_toml("core", {"kind": "weighted line", "parts": parts})
    assert GIVEN.findall(e.value.remedy) == [WeightedLine.line_example]
    flat = gear_from_toml("core", {"kind": "flat line", "parts": parts})
    assert np.isfinite(solve(flat, line_out_m=45.0, speed_mps=0.3).depth_m)
