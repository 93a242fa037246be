"""Owns the page: an executed notebook in, one HTML file out, and that file as a PDF."""

from __future__ import annotations

import html
import os
import shutil
import subprocess
import tempfile
from collections.abc import Mapping
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analysis.errors import RodhoursError
from analysis.render.scratch import scratch_folder

if TYPE_CHECKING:
    from nbformat import NotebookNode

_TEMPLATES = Path(__file__).parent / "template"
_BROWSERS = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "msedge",
)
_MAC = ("Google Chrome", "Chromium", "Microsoft Edge")
"""Programs in a folder of applications, each a folder of its own."""
_WINDOWS = (
    "Google/Chrome/Application/chrome.exe",
    "Chromium/Application/chrome.exe",
    "Microsoft/Edge/Application/msedge.exe",
)
"""Programs in a folder of programs, of which there are several."""
_BROWSER_SECONDS = 120
BROWSER_SETTING = "RODHOURS_BROWSER"
"""Environment variable naming the browser that prints PDFs; ``none`` for no browser."""


class PageError(RodhoursError):
    """A page that could not be made; says what is missing and the remedy."""


def to_html(notebook: NotebookNode, *, title: str, language: str = "en", css: str = "") -> str:
    """Turn an executed notebook into one self-contained page without its code.

    Parameters
    ----------
    notebook : NotebookNode
        The executed notebook; its first heading becomes the page's only ``h1``.
    title : str
        The page's title, plain text.
    language : str
        The page's language, as in HTML's ``lang``.
    css : str
        A report's own rules, after those of every page.

    Returns
    -------
    str
        HTML that needs no other file and no network.
    """
    from nbconvert import HTMLExporter  # here: heavy, and not needed to find or run a browser
    from traitlets.config import Config

    exporter = HTMLExporter(
        template_name="rodhours",
        extra_template_basedirs=[str(_TEMPLATES)],
        exclude_input=True,
        anchor_link_text="",  # headings keep their ids for links; the mark beside each is not shown
        config=Config(
            TagRemovePreprocessor={
                "enabled": True,
                "remove_cell_tags": ["parameters", "injected-parameters", "not-in-report"],
            }
        ),
    )
    exporter.register_preprocessor("nbconvert.preprocessors.TagRemovePreprocessor", enabled=True)
    page, _ = exporter.from_notebook_node(
        notebook,
        resources={"page_title": html.escape(title), "page_language": language, "page_css": css},
    )
    return str(page)


def unfolded(page: str) -> str:
    """Return a page with every fold open, to print whole.

    Examples
    --------
    >>> unfolded("<details><summary>Checks</summary></details>")
    '<details open><summary>Checks</summary></details>'
    """
    return page.replace("<details>", "<details open>")


def make_ready() -> None:
    """Import what `to_html` needs, a second's work, while something else is waited for."""
    import nbconvert  # noqa: F401 - for its own sake


def find_browser() -> str | None:
    """Return the browser that can print a page: the setting's, else the first found.

    Looked for on PATH, then where macOS and Windows install them without putting them there.

    Raises
    ------
    PageError
        When the setting names a browser that is not there.
    """
    wanted = os.environ.get(BROWSER_SETTING, "")
    if wanted == "none":
        return None
    if wanted:
        found = shutil.which(wanted)
        if found is None:
            msg = (
                f"{BROWSER_SETTING} names {wanted!r}, which is not a program here. "
                "Remedy: give the full path of a Chromium, or unset it."
            )
            raise PageError(msg)
        return found
    on_path = (path for name in _BROWSERS if (path := shutil.which(name)))
    installed = (str(path) for path in _usual_places(os.environ) if path.is_file())
    return next(chain(on_path, installed), None)


def _usual_places(environment: Mapping[str, str]) -> list[Path]:
    """Return where macOS and Windows install browsers (common practice, no source)."""
    mac = [Path("/Applications"), Path.home() / "Applications"]
    windows = [
        Path(environment[name])
        for name in ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA")
        if name in environment
    ]
    return [
        *(place / f"{name}.app" / "Contents" / "MacOS" / name for name in _MAC for place in mac),
        *(place / name for name in _WINDOWS for place in windows),
    ]


def can_print() -> bool:
    """Tell whether there is anything here that prints a page."""
    try:
        if find_browser() is not None:
            return True
        _weasyprint()
    except PageError:
        return False
    return True


def to_pdf(page: Path, target: Path) -> str:
    """Print a page from `to_html` as a PDF.

    A Chromium is used where there is one, else WeasyPrint: the same CSS serves both.

    Parameters
    ----------
    page : Path
        The HTML file.
    target : Path
        The PDF to write.

    Returns
    -------
    str
        Which of the two made it.

    Raises
    ------
    PageError
        When neither is there or the printing failed; the message says what to install.
    """
    browser = find_browser()
    if browser is not None:
        _print_with_browser(browser, page, target)
        return "Chromium"
    _print_with_weasyprint(page, target)
    return "WeasyPrint"


def browser_flags(profile: str) -> list[str]:
    """Return the options of a headless browser with a profile of its own."""
    flags = [
        "--headless",
        "--disable-gpu",
        "--no-first-run",
        "--disable-background-networking",
        f"--user-data-dir={profile}",
    ]
    # Chromium's sandbox refuses to start for the superuser, and only for it.
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        flags.append("--no-sandbox")
    return flags


def _print_with_browser(browser: str, page: Path, target: Path) -> None:
    """Print by a headless Chromium with a profile of its own, which is removed afterwards."""
    with scratch_folder(Path(tempfile.gettempdir())) as profile:
        command = [
            browser,
            *browser_flags(str(profile)),
            "--no-pdf-header-footer",
            f"--print-to-pdf={target.resolve()}",
            page.resolve().as_uri(),
        ]
        try:
            done = subprocess.run(
                command,
                capture_output=True,
                text=True,
                timeout=_BROWSER_SECONDS,
                check=False,
            )
        except subprocess.TimeoutExpired as error:
            msg = (
                f"{browser} did not print the page within {_BROWSER_SECONDS} s. Remedy: set "
                f"{BROWSER_SETTING}=none to print with WeasyPrint instead."
            )
            raise PageError(msg) from error
    if done.returncode != 0 or not target.is_file():
        last = (done.stderr.strip().splitlines() or ["no message"])[-1]
        msg = (
            f"{browser} could not print the page: {last}. Remedy: set "
            f"{BROWSER_SETTING}=none to print with WeasyPrint instead."
        )
        raise PageError(msg)


def _weasyprint() -> Any:
    """Return WeasyPrint's page class.

    Raises
    ------
    PageError
        When it or one of its system libraries is missing.
    """
    try:
        from weasyprint import HTML  # here: heavy, and it fails without its system libraries
    except (ImportError, OSError) as error:
        msg = (
            "no PDF: there is neither a Chromium nor a working WeasyPrint here. Remedy: install "
            f"Chromium (or name one in {BROWSER_SETTING}), or the Pango library for WeasyPrint. "
            "The other files do not need it."
        )
        raise PageError(msg) from error
    return HTML


def _print_with_weasyprint(page: Path, target: Path) -> None:
    """Print by WeasyPrint, whose system libraries may be missing."""
    _weasyprint()(filename=str(page)).write_pdf(target, pdf_variant="pdf/ua-1")
