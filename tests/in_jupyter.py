"""Owns a JupyterLab as `rodhours lab` starts it, and notebooks run in it by a real browser."""

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from analysis.places import NOTEBOOKS
from analysis.render.page import find_browser
from analysis.workbook.kept import FOLDER_VARIABLE

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

PATIENCE_MS = 120_000
VIEW: Any = {"width": 1280, "height": 800}
CELLS = ".jp-Notebook .jp-CodeCell"
BAD_OUTPUT = (
    '.jp-RenderedText[data-mime-type$=".stderr"], .jp-RenderedText[data-mime-type$=".error"]'
)
SETTLED = f"""() => {{
  const cells = [...document.querySelectorAll('{CELLS}')];
  const prompt = cell => cell.querySelector('.jp-InputPrompt').textContent;
  const stops = cell => cell.querySelector('.jp-RenderedText[data-mime-type$=".error"]');
  const last = cells.findIndex(cell => !/\\d/.test(prompt(cell)));
  return cells.length && (last < 0 || (last > 0 && stops(cells[last - 1])));
}}"""
VALUES = {
    **dict.fromkeys(("season", "gear", "speed", "depth"), "None"),
    "period": r"\"season\"",
}
"""How the notebooks' parameters stand in them."""


@dataclass(frozen=True)
class Lab:
    """A running JupyterLab over copies of the notebooks, and a browser to look at it."""

    address: str
    token: str
    notebooks: Path
    browser: "Browser"
    patience_ms: int = PATIENCE_MS
    errors: list[str] = field(default_factory=list)

    def copy(self, notebook: str, name: str = "", **parameters: str) -> str:
        """Copy a notebook with other parameters; the copy's name."""
        text = (NOTEBOOKS / f"{notebook}.ipynb").read_text(encoding="utf-8")
        for parameter, value in parameters.items():
            line = f'"{parameter} = {VALUES[parameter]}'
            assert text.count(line) == 1
            text = text.replace(line, f'"{parameter} = {value}'.replace("'", r"\""))
        name = name or f"{notebook}_own"
        (self.notebooks / f"{name}.ipynb").write_text(text, encoding="utf-8")
        return name

    def finished(self, page: "Page") -> None:
        """Wait until every code cell has its number; or one failed, which stops those after it."""
        page.wait_for_function(SETTLED)

    def complaints(self, page: "Page") -> list[str]:
        """Return every error and warning of a notebook that has run to its end.

        Those are the outputs of errors and of the error stream, and what the page's scripts threw.
        """
        self.finished(page)
        return [*page.locator(BAD_OUTPUT).all_inner_texts(), *self.errors]

    @contextmanager
    def run(self, *notebooks: str) -> Iterator[list["Page"]]:
        """Open notebooks, each in a page of its own, and run all cells; the pages meanwhile."""
        from playwright.sync_api import expect

        pages = []
        for notebook in notebooks:
            page = self.browser.new_page(viewport=VIEW)
            pages.append(page)
            page.on("pageerror", lambda error: self.errors.append(str(error)))
            page.set_default_timeout(self.patience_ms)
            page.goto(f"{self.address}/lab/tree/{notebook}.ipynb?reset&token={self.token}")
            # Before the kernel is attached, "Run All" would ask which kernel to take.
            status = page.locator("#jp-main-statusbar")
            expect(status.get_by_text("| Idle")).to_be_visible()
            page.locator(".jp-Notebook .jp-Cell").first.click()
            page.get_by_role("menuitem", name="Run", exact=True).click()
            page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
        try:
            yield pages
        finally:
            for page in pages:
                if shots := os.environ.get("SHOTS"):
                    page.screenshot(path=f"{shots}/{notebooks[pages.index(page)]}.png")
                page.close()


@contextmanager
def lab_in(folder: Path, patience_ms: int = PATIENCE_MS) -> Iterator[Lab]:
    """Start a lab and a browser; both are ended, the lab by the signal that ends a service.

    Parameters
    ----------
    folder : Path
        Where its notebooks, settings and what it keeps lie.
    patience_ms : int
        How long anything in a page may be waited for.
    """
    from playwright.sync_api import expect

    expect.set_options(timeout=patience_ms)
    own = {
        f"JUPYTER{name}_DIR": str(folder / name)
        for name in ("_CONFIG", "_DATA", "_RUNTIME", "LAB_SETTINGS", "LAB_WORKSPACES")
    }
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port = found.getsockname()[1]
    command = [sys.executable, "-m", "analysis.cli", "lab", "--no-browser", "--port", str(port)]
    with (
        (folder / "lab.log").open("wb") as log,
        subprocess.Popen(
            [*command, "--folder", str(folder / "notebooks")],
            env=os.environ | own | {FOLDER_VARIABLE: str(folder / "store")},
            stdout=subprocess.PIPE,
            stderr=log,
            text=True,
        ) as server,
    ):
        try:
            yield from _looked_at(server, folder, patience_ms)
        finally:
            server.send_signal(signal.SIGTERM)
            ended = server.wait(30)
    assert ended == 0
    with socket.socket() as free:
        free.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)  # closed connections linger
        free.bind(("127.0.0.1", port))  # no server was left behind


def _looked_at(server: "subprocess.Popen[str]", folder: Path, patience_ms: int) -> Iterator[Lab]:
    """Give the lab that a server is once it answers, with a browser."""
    from playwright.sync_api import sync_playwright

    assert server.stdout is not None
    said = server.stdout.readline()
    assert said, (folder / "lab.log").read_text()[-2000:]
    address = urlsplit(said.split()[-1])
    where, notebooks = f"{address.scheme}://{address.netloc}", (folder / "notebooks").resolve()
    arguments = ["--no-sandbox"] if os.geteuid() == 0 else []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=find_browser(), args=arguments)
        _wait_for(browser, f"{where}/api/status?{address.query}", server, folder / "lab.log")
        token = address.query.partition("=")[2]
        yield Lab(where, token, notebooks, browser, patience_ms)
        browser.close()


def _wait_for(browser: "Browser", status: str, server: "subprocess.Popen[str]", log: Path) -> None:
    """Wait until the server answers."""
    from playwright.sync_api import Error

    page = browser.new_page()
    for _ in range(PATIENCE_MS // 200):
        assert server.poll() is None, log.read_text()[-2000:]
        try:
            page.goto(status)
        except Error:
            page.wait_for_timeout(200)
        else:
            return page.close()
    raise AssertionError(log.read_text()[-2000:])


def violations(page: "Page") -> list[str]:
    """Return what axe-core finds in the outputs of a notebook, at its default rules."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page, context={"include": [[".jp-OutputArea-output"]]})
    return [f"{one['id']}: {one['nodes'][0]['html'][:200]}" for one in found.response["violations"]]
