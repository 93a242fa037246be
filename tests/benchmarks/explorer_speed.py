"""How long the season explorer takes to answer; from the repository's root:

    PYTHONPATH=.:tests python tests/benchmarks/explorer_speed.py --moves 100

The demo's last season, one boat and three, after a first run that keeps their answers. Recounts and
refits are timed in one process, wall and processor seconds; from a new kernel to the first picture
and pictures while a slider is dragged are timed in JupyterLab with a browser, where there is one.
On a machine with other work only processor seconds tell anything.
"""

import argparse
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import psutil
from in_jupyter import Lab, lab_in

from analysis import labels
from analysis.places import DEMO
from analysis.render.page import find_browser
from analysis.workbook import open_season
from analysis.workbook.background import Newest
from analysis.workbook.explorer import Explorer
from analysis.workbook.what_if_controls import RodControls, rod_controls

if TYPE_CHECKING:
    from playwright.sync_api import Page

BOATS = ("dunlin", "petrel", "whimbrel")
PICKED = ("species", "gear", "area", "lure", "setting", "outcome", "week")
PATIENCE_MS = 600_000
DRAG_PX, DRAG_STEPS, DRAG_MS = 160, 80, 40
_COUNT = """picture => {
  window.pictures = 0;
  const inside = `.widget-html ${picture}`;
  const place = document.querySelector(inside).closest('.jp-OutputArea-output');
  let last = document.querySelector(inside).innerHTML;
  new MutationObserver(() => {
    const now = document.querySelector(inside)?.innerHTML;
    if (now && now !== last) { last = now; window.pictures += 1; }
  }).observe(place, {childList: true, subtree: true, characterData: true});
}"""
"""Counts how often the first picture is another than before."""


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


def timed(what: str, aim: str, steps: list[Callable[[], object]], newest: Newest) -> Times:
    """Take some steps one after the other, and time each until what is quick of it is shown."""
    wall, used = [], []
    for step in steps:
        began = time.perf_counter(), time.process_time()
        step()
        assert newest.wait_shown(600)
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


def rod_moves(controls: RodControls) -> list[Callable[[], None]]:
    """Return moves of a rod's line-out, each a step further."""
    line_out = controls.line_out

    def move() -> None:
        line_out.value += line_out.step if line_out.value < line_out.max else -line_out.value

    return [move] * 24


def in_process(count: int) -> list[Times]:
    """Time recounts and refits of one boat and of three."""
    found = []
    for boats, aim_s in ((BOATS[:1], 2), (BOATS, 6)):
        season = open_season([DEMO / f"{boat}-2026" for boat in boats])
        explorer = Explorer(season, pause_s=0.0)
        assert explorer.newest.wait(600)
        many = labels.count(len(boats), "boat")
        steps = refits(explorer)
        found.append(timed(f"refit of a part, {many}", f"{aim_s}", steps, explorer.newest))
        still = Explorer(season, pause_s=3600.0)  # no fit begins beside the recounts
        drawn = moves(still, count, np.random.default_rng(1))
        found.append(timed(f"recount and redraw, {many}", "0.15 (95 %)", drawn, still.newest))
        busy = moves(explorer, count // 4, np.random.default_rng(2))
        what = f"the same while fits begin and are given up, {many}"
        found.append(timed(what, "0.15 (95 %)", busy, explorer.newest))
        controls = rod_controls(season)
        moved = timed(
            f"one rod moved, words and spread, {many}", "0.2", rod_moves(controls), controls.newest
        )
        found.append(moved)
    for times in found:
        sys.stderr.write(f"{times.row()}\n")
    return found


def in_browser(lab: Lab) -> str:
    """Time a kernel's first picture, and count pictures while a slider is dragged."""
    from playwright.sync_api import expect

    lines = []
    own = {"season": f"'{DEMO / 'dunlin-2026'}'"}
    for notebook, knob, picture in (
        ("explore", "Hours, from", ".rh"),
        ("what_if", "Line-out, ft", "figure"),
    ):
        with lab.run(lab.copy(notebook, **own)) as (page,):
            first = page.locator(f".widget-html {picture}").first
            expect(first).to_be_visible()
            expect(page.get_by_text("Working out")).to_have_count(0)  # kept for the next kernel
            page.get_by_role("menuitem", name="Kernel", exact=True).click()
            page.get_by_role("menuitem", name="Restart Kernel and Run All Cells").click()
            page.locator(".jp-Dialog .jp-mod-accept").click()
            expect(first).to_have_count(0, timeout=30_000)  # the old kernel has ended
            began = time.perf_counter()
            expect(first).to_be_visible()
            took, used = time.perf_counter() - began, kernel_s()
            lines.append(
                f"- {notebook}: {took:.1f} s from the end of the old kernel to the new one's first "
                f"picture, {used:.1f} s of them the kernel's processor time."
            )
            expect(page.get_by_text("Working out")).to_have_count(0)
            before = kernel_s()
            said, seen = dragged(page, knob, picture)
            each = (kernel_s() - before) / max(seen, 1)
            lines.append(f"- {notebook}: {said}, {each:.2f} s of the kernel's processor each.")
    return "\n".join(lines)


def kernel_s() -> float:
    """Return the processor seconds of the youngest kernel."""
    kernels = [
        child
        for child in psutil.Process().children(recursive=True)
        if "ipykernel_launcher" in child.cmdline()
    ]
    used = max(kernels, key=psutil.Process.create_time).cpu_times()
    return float(used.user + used.system)


def dragged(page: "Page", slider: str, picture: str) -> tuple[str, int]:
    """Drag a slider; say how many pictures were seen meanwhile."""
    knob = page.get_by_role("slider", name=slider)
    page.wait_for_timeout(3000)  # the page goes to its last cell once all have run
    knob.scroll_into_view_if_needed()
    box = knob.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.evaluate(_COUNT, picture)
    page.mouse.move(x, y)
    page.mouse.down()
    began = time.perf_counter()
    for step in range(DRAG_STEPS):
        page.mouse.move(x + DRAG_PX * (step + 1) / DRAG_STEPS, y)
        page.wait_for_timeout(DRAG_MS)
    took = time.perf_counter() - began
    seen = int(page.evaluate("window.pictures"))
    page.mouse.up()
    return f"{seen} pictures in {took:.1f} s of dragging, {seen / took:.1f} a second", seen


def main(count: int) -> str:
    """Return all that was measured as Markdown."""
    rows = [times.row() for times in in_process(count)]
    head = "| what | wall, median | wall, 95 % | processor, median | processor, 95 % | aim |"
    table = "\n".join([head, "| --- " * 6 + "|", *rows])
    if find_browser() is None:
        return f"{table}\n\nThe browser's part was not run: there is no Chromium on PATH."
    with tempfile.TemporaryDirectory() as scratch, lab_in(Path(scratch), PATIENCE_MS) as lab:
        return f"{table}\n\n{in_browser(lab)}"


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--moves", type=int, default=100)
    sys.stdout.write(f"{main(parser.parse_args().moves)}\n")
