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

from analysis.render.page import find_browser

if TYPE_CHECKING:
    from playwright.sync_api import Page

ROOT = Path(__file__).parents[1]
BROWSER = find_browser()
PATIENCE_S = 120

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
def run_all(lab: tuple[str, str], notebook: str) -> Iterator["Page"]:
    """Open a notebook in a browser and run all its cells; the page, while they run."""
    from playwright.sync_api import expect, sync_playwright

    address, token = lab
    expect.set_options(timeout=PATIENCE_S * 1000)
    arguments = ["--no-sandbox"] if os.geteuid() == 0 else []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=BROWSER, args=arguments)
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.set_default_timeout(PATIENCE_S * 1000)
        page.goto(f"{address}/lab/tree/notebooks/{notebook}?reset&token={token}")
        # Before the kernel is attached, "Run All" would ask which kernel to take.
        status = page.locator("#jp-main-statusbar")
        expect(status.get_by_text("| Idle")).to_be_visible()
        page.locator(".jp-Notebook .jp-Cell").first.click()
        page.get_by_role("menuitem", name="Run", exact=True).click()
        page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
        yield page
        browser.close()


def test_season_review_runs_from_top_to_bottom(lab: tuple[str, str]) -> None:
    from playwright.sync_api import expect

    with run_all(lab, "season_review.ipynb") as page:
        # The cautions are the last cell of all, and a cell that fails stops those after it.
        expect(page.locator(".cautions")).to_be_visible()


def test_a_key_on_a_slider_changes_what_the_explorer_says(lab: tuple[str, str]) -> None:
    from playwright.sync_api import expect

    with run_all(lab, "depth_explorer.ipynb") as page:
        words = page.get_by_text("diver on 1, 100 ft out at 2.5 mph:", exact=True)
        expect(words).to_be_visible()
        image = page.get_by_alt_text("Path of the diver on 1")
        before = image.get_attribute("src")
        line_out = page.locator(".widget-slider").filter(has_text="Line-out, ft")
        line_out.locator(".noUi-handle").press("ArrowRight")
        expect(page.get_by_text("diver on 1, 105 ft out at 2.5 mph:", exact=True)).to_be_visible()
        expect(image).not_to_have_attribute("src", before or "")
