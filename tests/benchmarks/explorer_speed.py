"""How long the season explorer takes to answer; from the repository's root:

    PYTHONPATH=.:tests python tests/benchmarks/explorer_speed.py --moves 100

The demo's last season, one boat and three, after a first run that keeps their answers. Recounts and
refits are timed in one process, wall and processor seconds; from a new kernel to the first picture
and pictures while a slider is dragged are timed in JupyterLab with a browser, where there is one.
On a machine with other work only processor seconds tell anything.
"""

import argparse
import re
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
from in_jupyter import Lab, lab_in

from analysis.places import DEMO
from analysis.render.page import find_browser
from analysis.workbook import Season, open_season
from analysis.workbook.explorer import Explorer
from analysis.workbook.what_if_controls import rod_controls

BOATS = ("dunlin", "petrel", "whimbrel")
PICKED = ("species", "gear", "area", "lure", "setting", "outcome", "week")
_VERDICT = re.compile("log|produced")
DRAG_PX, DRAG_STEPS, DRAG_MS = 200, 40, 50
_COUNT = """() => {
  window.pictures = [];
  const box = document.querySelector('.rh table').closest('.jp-OutputArea-output');
  const seen = () => {
    const told = box.querySelector('.rh p').textContent;
    if (window.pictures.at(-1) !== told) window.pictures.push(told);
  };
  new MutationObserver(seen).observe(box, {childList: true, subtree: true, characterData: true});
}"""


@dataclass(frozen=True)
class Times:
    """Wall and processor seconds of some runs of one thing."""

    what: str
    aim: str
    wall_s: list[float]
    used_s: list[float]

    def row(self) -> str:
        """Return medians and 95th percentiles as a row of a Markdown table."""
        cells = [
            f"{np.quantile(times, share):.2f}"
            for times in (self.wall_s, self.used_s)
            for share in (0.5, 0.95)
        ]
        return f"| {self.what} | {' | '.join(cells)} | {self.aim} |"


def timed(what: str, aim: str, steps: list[Callable[[], object]]) -> Times:
    """Run some steps one after the other and time each."""
    wall, used = [], []
    for step in steps:
        began = time.perf_counter(), time.process_time()
        step()
        wall.append(time.perf_counter() - began[0])
        used.append(time.process_time() - began[1])
    return Times(what, aim, wall, used)


def moves(explorer: Explorer, count: int, rng: np.random.Generator) -> list[Callable[[], None]]:
    """Return moves of a control at random, each recounting and redrawing."""

    def move() -> None:
        name = str(rng.choice([*PICKED, "hours", "hours"]))
        control = explorer.controls.by_name[name]
        if name == "hours":
            first = int(rng.integers(control.min, control.max))
            control.value = (first, int(rng.integers(first + 1, control.max + 1)))
        else:
            control.value = control.options[int(rng.integers(len(control.options)))][1]

    return [move] * count


def refits(explorer: Explorer) -> list[Callable[[], None]]:
    """Return choices of a part of the season, each waited for until its rates are there."""

    def refit(name: str, value: object) -> None:
        explorer.controls.set_back()  # to the season's own answer, which is there
        assert explorer.newest.wait(600)
        explorer.controls.by_name[name].value = value
        assert explorer.newest.wait(600)

    return [
        partial(refit, name, value)
        for name in ("gear", "species", "area")
        for _, value in list(explorer.controls.by_name[name].options)[1:3]
    ]


def rod_moves(season: Season) -> list[Callable[[], None]]:
    """Return moves of a rod's line-out, each a step further."""
    line_out = rod_controls(season).line_out

    def move() -> None:
        line_out.value += line_out.step if line_out.value < line_out.max else -line_out.value

    return [move] * 12


def in_process(count: int) -> list[Times]:
    """Time recounts and refits of one boat and of three."""
    found = []
    for boats, aim_s in ((BOATS[:1], 2), (BOATS, 6)):
        season = open_season([DEMO / f"{boat}-2026" for boat in boats])
        explorer = Explorer(season, pause_s=0.0)
        assert explorer.newest.wait(600)
        found.append(timed(f"refit of a part, {len(boats)} boats", f"{aim_s}", refits(explorer)))
        still = Explorer(season, pause_s=3600.0)  # no fit begins beside the recounts
        steps = moves(still, count, np.random.default_rng(1))
        found.append(timed(f"recount and redraw, {len(boats)} boats", "0.15 (95 %)", steps))
        if len(boats) == 1:
            found.append(timed("one rod moved, told in words", "0.2", rod_moves(season)))
    for times in found:
        sys.stderr.write(f"{times.row()}\n")
    return found


def in_browser(lab: Lab) -> str:
    """Time a new kernel's first picture, and count pictures while a slider is dragged."""
    from playwright.sync_api import expect

    notebook = lab.copy("explore", season=f"'{DEMO / 'dunlin-2026'}'")
    lines = []
    for run in ("first, nothing kept", "again, all kept"):
        began = time.perf_counter()
        with lab.run(notebook) as (page,):
            # `run` returns when the cells were sent to a kernel that is up already.
            expect(page.locator(".rh table").first).to_be_visible()
            lines.append(f"- From Run All to the first picture, {run}: ")
            lines[-1] += f"{time.perf_counter() - began:.1f} s with the loading of the page."
            expect(page.locator(".rh p").filter(has_text=_VERDICT).first).to_be_visible()
            if run.startswith("again"):
                knob = page.get_by_role("slider", name="Hours, from")
                box = knob.bounding_box()
                assert box is not None
                x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
                page.evaluate(_COUNT)
                page.mouse.move(x, y)
                page.mouse.down()
                began = time.perf_counter()
                for step in range(DRAG_STEPS):
                    page.mouse.move(x + DRAG_PX * (step + 1) / DRAG_STEPS, y)
                    page.wait_for_timeout(DRAG_MS)
                took = time.perf_counter() - began
                page.mouse.up()
                seen = page.evaluate("window.pictures.length")
                lines.append(f"- {seen} pictures in {took:.1f} s of dragging the hours.")
    return "\n".join(lines)


def main(count: int) -> str:
    """Return all that was measured as Markdown."""
    rows = [times.row() for times in in_process(count)]
    head = "| what | wall, median | wall, 95 % | processor, median | processor, 95 % | aim |"
    table = "\n".join([head, "| --- " * 6 + "|", *rows])
    if find_browser() is None:
        return f"{table}\n\nThe browser's part was not run: there is no Chromium on PATH."
    with tempfile.TemporaryDirectory() as scratch, lab_in(Path(scratch)) as lab:
        return f"{table}\n\n{in_browser(lab)}"


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--moves", type=int, default=100)
    sys.stdout.write(f"{main(parser.parse_args().moves)}\n")
