"""Owns the test that notebooks open and run in JupyterLab as they lie, in a real browser."""

import os
import secrets
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from analysis.keeping.plan import plan_of
from analysis.keeping.start import start_season
from analysis.log import read_log
from analysis.render.page import find_browser

if TYPE_CHECKING:
    from playwright.sync_api import Page

ROOT = Path(__file__).parents[1]
BROWSER = find_browser()
PATIENCE_S = 120
ANSWERS = {
    **{"boat": "Dunlin", "club": "", "zone": "Europe/Oslo", "units": "ft, mph, F", "water": ""},
    "rods": "P1 diver 2 90, SR rigger 50",
}

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(BROWSER is None, reason="no Chromium on PATH"),
]


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


@pytest.fixture
def lab(tmp_path: Path) -> Iterator[tuple[str, str]]:
    """A JupyterLab over copies of the notebooks and the sample; its address and token."""
    shutil.copytree(ROOT / "notebooks", tmp_path / "root" / "notebooks")
    shutil.copytree(ROOT / "reports" / "sample", tmp_path / "root" / "reports" / "sample")
    shutil.copytree(ROOT / "data" / "demo", tmp_path / "root" / "data" / "demo")
    port, token = free_port(), secrets.token_hex()
    folders = {
        f"JUPYTER{name}_DIR": str(tmp_path / name)
        for name in ("_CONFIG", "_DATA", "_RUNTIME", "LAB_SETTINGS", "LAB_WORKSPACES")
    }
    command = [
        *(sys.executable, "-m", "jupyterlab", "--no-browser", "--ServerApp.allow_root=True"),
        *("--ServerApp.ip=127.0.0.1", f"--ServerApp.port={port}", "--ServerApp.port_retries=0"),
        f"--IdentityProvider.token={token}",
        f"--ServerApp.root_dir={tmp_path / 'root'}",
        "--LabApp.news_url=None",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--LabApp.extension_manager=readonly",
    ]
    with (tmp_path / "lab.log").open("wb") as log:
        server = subprocess.Popen(
            command, env=os.environ | folders, stdout=log, stderr=subprocess.STDOUT
        )
        address = f"http://127.0.0.1:{port}"
        try:
            wait_for(address, token, server, tmp_path / "lab.log")
            yield address, token
        finally:
            server.terminate()
            server.wait(30)


def wait_for(address: str, token: str, server: "subprocess.Popen[bytes]", log: Path) -> None:
    """Wait until the server answers."""
    deadline = time.monotonic() + PATIENCE_S
    while time.monotonic() < deadline:
        if server.poll() is not None:
            pytest.fail(f"JupyterLab ended: {log.read_text()[-2000:]}")
        try:
            urllib.request.urlopen(f"{address}/api/status?token={token}", timeout=2).close()
        except (urllib.error.URLError, TimeoutError):
            time.sleep(0.2)
        else:
            return
    pytest.fail(f"JupyterLab did not answer: {log.read_text()[-2000:]}")


@contextmanager
def run_all(lab: tuple[str, str], *notebooks: str) -> Iterator[list["Page"]]:
    """Open notebooks in a browser, each in its window, and run all cells; the pages meanwhile."""
    from playwright.sync_api import expect, sync_playwright

    address, token = lab
    expect.set_options(timeout=PATIENCE_S * 1000)
    arguments = ["--no-sandbox"] if os.geteuid() == 0 else []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=BROWSER, args=arguments)
        pages = []
        for notebook in notebooks:
            page = browser.new_page(viewport={"width": 1280, "height": 900})
            page.set_default_timeout(PATIENCE_S * 1000)
            page.goto(f"{address}/lab/tree/notebooks/{notebook}?reset&token={token}")
            # Before the kernel is attached, "Run All" would ask which kernel to take.
            status = page.locator("#jp-main-statusbar")
            expect(status.get_by_text("| Idle")).to_be_visible()
            page.locator(".jp-Notebook .jp-Cell").first.click()
            page.get_by_role("menuitem", name="Run", exact=True).click()
            page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
            pages.append(page)
        yield pages
        browser.close()


def test_season_review_runs_from_top_to_bottom(lab: tuple[str, str]) -> None:
    from playwright.sync_api import expect

    with run_all(lab, "season_review.ipynb") as (page,):
        # The cautions are the last cell of all, and a cell that fails stops those after it.
        expect(page.locator(".cautions")).to_be_visible()


def test_a_key_on_a_slider_changes_what_the_explorer_says(lab: tuple[str, str]) -> None:
    from playwright.sync_api import expect

    with run_all(lab, "depth_explorer.ipynb") as (page,):
        words = page.get_by_text("diver on 1, 100 ft out at 2.5 mph:", exact=True)
        expect(words).to_be_visible()
        image = page.get_by_alt_text("Path of the diver on 1")
        before = image.get_attribute("src")
        line_out = page.locator(".widget-slider").filter(has_text="Line-out, ft")
        line_out.locator(".noUi-handle").press("ArrowRight")
        expect(page.get_by_text("diver on 1, 105 ft out at 2.5 mph:", exact=True)).to_be_visible()
        expect(image).not_to_have_attribute("src", before or "")


@pytest.fixture
def season(tmp_path: Path, lab: tuple[str, str]) -> Path:
    """A season folder of CSVs beside the notebooks, which two copies of the typing one name."""
    folder = tmp_path / "root" / "season"
    start_season(folder, plan_of(ANSWERS), as_csv=True)
    notebook = tmp_path / "root" / "notebooks" / "log_entry.ipynb"
    text = notebook.read_text(encoding="utf-8").replace("season = None", r"season = \"../season\"")
    for name in ("log_entry.ipynb", "other_window.ipynb"):
        notebook.with_name(name).write_text(text, encoding="utf-8")
    return folder


def type_into(page: "Page", tab: str, **cells: str) -> None:
    """Type cells into the fields of a tab, and leave each by the key Tab."""
    page.get_by_role("tab", name=tab, exact=True).click()
    panel = page.locator(".widget-tab-contents > .lm-Widget:not(.lm-mod-hidden)").first
    for name, cell in cells.items():
        field = panel.locator(".widget-inline-hbox").filter(
            has=page.get_by_text(name.replace("_", " "), exact=True)
        )
        box = field.locator("input, select")
        if box.evaluate("box => box.tagName") == "SELECT":
            box.select_option(cell)
        else:
            box.fill(cell)
            box.press("Tab")


def test_an_evening_is_typed_in_two_windows_and_no_row_is_lost(
    lab: tuple[str, str], season: Path
) -> None:
    from playwright.sync_api import expect

    with run_all(lab, "log_entry.ipynb", "other_window.ipynb") as (one, other):
        for page in (one, other):
            expect(page.get_by_role("button", name="Take back the last row")).to_be_visible()
        type_into(
            one, "Trip", trip="T1", date="2026-07-04", start="600", end="1200", spread="usual"
        )
        one.get_by_role("button", name="Add trip").click()
        expect(one.get_by_text("Added to trips.csv: T1, 2026-07-04, 06:00, 12:00")).to_be_visible()
        type_into(one, "Change", time="740", rod="P1", line_out="110")
        one.get_by_role("button", name="Add change").click()
        expect(one.get_by_text("Added to changes.csv: T1, 07:40, P1, 110")).to_be_visible()

        # the other window was opened before the trip was typed
        type_into(
            other, "Trip", trip="T2", date="2026-07-05", start="600", end="1100", spread="usual"
        )
        other.get_by_role("button", name="Add trip").click()
        expect(other.get_by_text("Added to trips.csv: T2")).to_be_visible()
        type_into(other, "Strike", time="2500", rod="P1")
        expect(other.get_by_text("this is not a time")).to_be_visible()
        type_into(other, "Strike", time="815", rod="P1", outcome="landed")
        other.get_by_role("button", name="Add strike").click()
        expect(other.get_by_text("Added to strikes.csv: T2, 08:15, P1, landed")).to_be_visible()

        one.get_by_role("button", name="Take back the last row").click()
        expect(one.get_by_text("Taken back from changes.csv")).to_be_visible()
        if shots := os.environ.get("SHOTS"):
            one.screenshot(path=f"{shots}/one.png")
            other.screenshot(path=f"{shots}/other.png")
    log = read_log(season)
    assert log.trips["trip"].tolist() == ["T1", "T2"]
    assert log.strikes[["trip", "rod", "outcome"]].to_numpy().tolist() == [["T2", "P1", "landed"]]
    assert log.changes is None or log.changes.empty
    assert log.set_aside.empty
