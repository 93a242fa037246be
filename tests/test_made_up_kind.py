"""Owns the walk of a made-up kind of gear through every room: it is one class and one name."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, ClassVar, Self

import numpy as np
import pytest

from analysis.depth import solve
from analysis.depth.calibrate import calibrate
from analysis.depth.columns import Columns
from analysis.depth.fields import area, check_numbers, diameter, known, number
from analysis.depth.kinds import KINDS, Gear, gear_from_toml
from analysis.depth.kinds.loads import dynamic_pressure, refuse_tips, tow_along
from analysis.depth.kinds.page import gear_page
from analysis.depth.kinds.protocol import NoDial, Parameter, Place, Refusal, Shifts
from analysis.depth.march import Tow
from analysis.depth.water import Water
from analysis.report.depth_study import study_depth
from analysis.season import analyse
from analysis.show.sentences.caps import cap_words
from analysis.weekly.club_log import Logbook
from analysis.weekly.week import FittedYear, week_figures
from data.simulate import simulate_season


@dataclass(frozen=True, kw_only=True)
class Stone(NoDial):
    """A stone on a rope from the rod tip, on two ropes of which its dial chooses the thicker."""

    kind: ClassVar[str] = "stone"
    example: ClassVar[str] = '[gear.stone]\nkind = "stone"\n'
    hangs_from: ClassVar[str] = "rod tip"
    place: ClassVar[Place] = Place(order=1, tip_y_m=1.0)
    name: str = "stone"
    stone_weight_n: float = number(0.0, 500.0, "N", "weight of the stone", 30.0, zero=False)
    lure_drag_area_m2: float = area("drag area of stone and lure", 0.004)
    rope_diameter_mm: float = diameter("diameter of the rope", 1.0)

    def __post_init__(self) -> None:
        check_numbers(f"gear.{self.name}", self)

    @classmethod
    def from_toml(cls, name: str, given: Mapping[str, Any]) -> Self:
        return cls(**{**known(f"gear.{name}", given, cls, hidden="name"), "name": name})

    @property
    def closed(self) -> bool:
        return True

    def relevant(self, columns: Columns) -> Columns:
        return columns.without("setting", "leader_length_m", "lead_m")

    def refusals(self, columns: Columns) -> Iterator[Refusal]:
        yield from refuse_tips(columns)

    def tow(self, columns: Columns, water: Water, shifts: Shifts) -> Tow:
        q = dynamic_pressure(columns, water.density_kg_m3)
        normal = q * 1.2 * self.rope_diameter_mm / 1000.0
        return tow_along(
            columns,
            astern=q * self.lure_drag_area_m2,
            down=self.stone_weight_n,
            normal=normal * np.exp(shifts.get("rope_drag", 0.0)),
            tangential=0.0 * normal,
            weight=0.0,
        )

    def longest_m(self, spool_m: float) -> float:
        return min(spool_m, 60.0)

    def parameters(self) -> tuple[Parameter, ...]:
        return (Parameter(name="rope_drag", sd=0.3, source="made up"),)

    def untold(self, trials: Columns, uses: Columns) -> list[str]:
        return ["a stone tells nothing of its rope's colour"]

    def top_height_m(self, tip_height_m: float) -> float:
        return tip_height_m

    def thicker(self, factor: float) -> Self:
        return replace(self, rope_diameter_mm=factor * self.rope_diameter_mm)

    def with_lure_drag(self, area_m2: float) -> Self:
        return replace(self, lure_drag_area_m2=area_m2)

    def raised(self, height_m: float) -> Self:
        return self


KIND: type[Gear] = Stone


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A season in which the boat's riggers are stones instead."""
    monkeypatch.setitem(KINDS, "stone", KIND)
    simulated = simulate_season("temperature", 3, trips=24, strikes=120)
    log = simulated.write(tmp_path / "dunlin-2026")
    toml = log / "boat.toml"
    before, after = toml.read_text(encoding="utf-8").split("[gear.rigger]\n")
    rest = after[after.index("[") :]
    toml.write_text(f'{before}[gear.rigger]\nkind = "stone"\n\n{rest}', encoding="utf-8")
    return log


def test_the_page_of_keys_describes_it(monkeypatch):
    monkeypatch.setitem(KINDS, "stone", KIND)
    assert "| `stone_weight_n` | N | 30.0 | weight of the stone |" in gear_page()


def test_its_depth_is_that_of_the_closed_form(monkeypatch):
    """k y = asinh(c0 + k s) - asinh(c0), the shared physics page, with the tip at the surface."""
    monkeypatch.setitem(KINDS, "stone", KIND)
    stone = gear_from_toml("stone", {"kind": "stone"})
    out = solve(stone, line_out_m=30.0, speed_mps=1.1, tip_height_m=0.0)
    q = 0.5 * 999.7 * 1.1**2
    astern = q * 0.004
    k, c0 = q * 1.2e-3 / np.hypot(astern, 30.0), astern / 30.0
    assert out.depth_m == pytest.approx((np.arcsinh(c0 + k * 30.0) - np.arcsinh(c0)) / k)
    done = calibrate(stone, line_out_m=[20.0, 40.0], speed_mps=1.1, depth_m=[19.0, 35.0])
    assert done.belief.trials == 2
    assert "a stone tells nothing of its rope's colour" in done.notes


def test_it_walks_through_review_spread_week_and_notebook(folder: Path):
    season = analyse([folder])
    mine = season.tables["exposure"].query("gear == 'rigger'")
    assert mine["depth_m"].gt(0).all()
    assert mine["depth_sd_m"].gt(0).all()
    spread = season.tables["spread"].query("gear == 'rigger'")
    assert len(spread)
    stone = KIND.from_toml("rigger", {})
    again = solve(
        stone,
        line_out_m=spread["line_out_m"],
        speed_mps=season.answer.exposure.table["speed_mps"].median(),
        tip_height_m=season.seasons[0].tip_height_m,
    )
    np.testing.assert_allclose(again.depth_m, spread["depth_m"], rtol=0.1)
    plan = season.tables["plan"]
    assert "rigger" in set(plan["gear"])
    book = Logbook.of(list(season.seasons))
    week = season.tables["weeks"]["week"].iloc[5]
    figures = week_figures(book, (week,), [FittedYear(book, (0,), season.answer, cap_words)])[week]
    assert any(line.kind == "stone" for line in figures.line_outs or ())
    study = study_depth(folder, gear="rigger", speed=2.5, depth=30.0)
    assert study.chosen["depth_m"].gt(0).all()
    assert (study.ends.loc[study.ends["gear"] == "rigger", "reason"] == "").all()
