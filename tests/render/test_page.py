"""Owns the tests of the page: structure, escaping, browser and printer."""

import itertools
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import pypdfium2
import pytest
from bs4 import BeautifulSoup

from analysis.places import NOTEBOOKS
from analysis.render.notebook import read_notebook
from analysis.render.page import BROWSER_SETTING, PageError, find_browser, to_pdf
from analysis.report.results import read_results
from analysis.report.review import write_review
from analysis.show.season import tables as season_tables

ROOT = Path(__file__).parents[2]
BROWSER = find_browser()
needs_browser = pytest.mark.skipif(BROWSER is None, reason="no Chromium on PATH")


@pytest.fixture(scope="module")
def page_path(made_up: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The review of the made-up season, with markup in lure, species and boat names."""
    season = SimpleNamespace(tables=made_up.season_tables(), summary=made_up.season_summary())
    season.summary["boats"] = ["Dunlin", made_up.HOSTILE]
    season.summary["hashes"] = {made_up.HOSTILE: "0" * 64}
    season.summary["first_lines"] = [made_up.HOSTILE]
    for table in ("plan", "clearance", "gaps", "checks", "influence"):
        frame = season.tables[table]
        for column in frame.select_dtypes("str"):
            if column == "boat":
                frame[column] = made_up.HOSTILE
            elif column not in ("side", "unit", "rod", "rod_a", "rod_b", "period"):
                frame.loc[0, column] = made_up.HOSTILE
    return write_review(season, tmp_path_factory.mktemp("review"), progress=False).page


@pytest.fixture(scope="module")
def page(page_path: Path) -> BeautifulSoup:
    return BeautifulSoup(page_path.read_text(encoding="utf-8"), "html.parser")


def test_page_has_language_title_and_one_h1(page: BeautifulSoup) -> None:
    assert page.html is not None
    assert page.html["lang"] == "en"
    assert page.title is not None
    assert page.title.text.startswith("Season review: Dunlin")
    assert [heading.text for heading in page.find_all("h1")] == ["Season review"]


def test_headings_never_skip_a_level(page: BeautifulSoup) -> None:
    levels = [int(heading.name[1]) for heading in page.find_all(re.compile("^h[1-6]$"))]
    assert levels[0] == 1
    assert all(later - earlier <= 1 for earlier, later in itertools.pairwise(levels))
    assert len(levels) >= 6


def test_every_link_of_the_contents_leads_to_a_heading(page: BeautifulSoup) -> None:
    nav = page.find("nav")
    assert nav is not None
    links = [link["href"] for link in nav.find_all("a")]
    assert len(links) == len(page.find_all("h2"))
    assert all(page.find(id=str(link).removeprefix("#")) is not None for link in links)


def test_every_picture_says_its_finding(page: BeautifulSoup) -> None:
    notebook = read_notebook(NOTEBOOKS / "season_review.ipynb")
    images = page.find_all("img")
    drawn = sum("show.picture(" in cell.source for cell in notebook.cells)
    spreads = sum("starting_spreads(" in cell.source for cell in notebook.cells)
    drawn += sum(
        len(re.findall(r"pictured\.(?:section|busiest_trip|by_hour|areas)\(", cell.source))
        for cell in notebook.cells
    )
    assert len(images) == drawn + spreads > 2  # the one boat's spread has one picture
    for image in images:
        assert len(str(image["alt"])) > 20
        assert "No description has been provided" not in str(image["alt"])
        assert str(image["src"]).startswith("data:image/svg+xml;base64,")


def test_every_table_marks_its_headers(page: BeautifulSoup) -> None:
    tables = page.find_all("table")
    assert len(tables) >= 7
    for table in tables:
        assert table.find("caption").text
        assert all(cell["scope"] == "col" and cell.text for cell in table.select("thead th"))
        for row in table.select("tbody tr"):
            assert [cell["scope"] for cell in row.find_all("th")] == ["row"]


def test_typed_in_markup_is_text(page_path: Path, page: BeautifulSoup, made_up: ModuleType) -> None:
    text = page_path.read_text(encoding="utf-8")
    assert "<img src=x" not in text
    assert text.count("&lt;img src=x") >= 6
    assert page.find(attrs={"onerror": True}) is None
    assert made_up.HOSTILE in page.text
    assert page.find("script") is None


def test_page_needs_no_network_and_no_other_file(page_path: Path, page: BeautifulSoup) -> None:
    text = page_path.read_text(encoding="utf-8")
    assert "http://" not in text
    assert "https://" not in text
    assert page.find("link") is None
    assert "@import" not in text
    assert "url(" not in text


def test_page_shows_no_code_and_no_path(page_path: Path, page: BeautifulSoup) -> None:
    assert "read_results" not in page.text
    assert "season_results" not in page.text
    assert str(page_path.parent) not in page_path.read_text(encoding="utf-8")


@pytest.fixture
def browser_page() -> Iterator[Any]:
    """A page of the system's Chromium."""
    from playwright.sync_api import sync_playwright

    arguments = ["--no-sandbox"] if os.geteuid() == 0 else []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=BROWSER, args=arguments)
        yield browser.new_page()
        browser.close()


@needs_browser
@pytest.mark.browser
@pytest.mark.parametrize("width", [360, 1280])
def test_no_accessibility_violation_and_nothing_runs(
    page_path: Path, browser_page: Any, width: int
) -> None:
    from axe_playwright_python.sync_playwright import Axe

    view = browser_page
    view.set_viewport_size({"width": width, "height": 900})
    view.goto(page_path.as_uri())
    violations = Axe().run(view).response["violations"]
    assert [violation["id"] for violation in violations] == []
    assert view.title().startswith("Season review")
    assert view.evaluate("document.documentElement.scrollWidth") <= width


@needs_browser
@pytest.mark.browser
def test_tables_of_a_season_of_six_months_fit_on_paper(browser_page: Any) -> None:
    results = read_results(ROOT / "reports" / "sample" / "tables")
    units = results.units
    tables = (
        season_tables.answers(results.summary, units),
        season_tables.bands_of(results.bands, units, period="season"),
        season_tables.influence(results.influence),
        season_tables.starting_spread(results.spread, results.summary, units),
        season_tables.species_answers(results.species_bands, units),
        season_tables.biggest(results.species, units),
    )
    css = (ROOT / "analysis" / "render" / "template" / "rodhours" / "page.css").read_text()
    markup = "".join(table.html for table in tables)
    width = round(180 / 25.4 * 96)  # A4 without its margins, in the pixels of CSS
    browser_page.set_viewport_size({"width": width, "height": 900})
    browser_page.emulate_media(media="print")
    browser_page.set_content(f"<style>{css}</style><main>{markup}</main>")
    widths = browser_page.evaluate(
        "[...document.querySelectorAll('table')].map(t => t.offsetWidth)"
    )
    assert len(widths) == len(tables)
    assert max(widths) <= width, dict(zip([t.caption for t in tables], widths, strict=True))


@pytest.mark.parametrize("way", [pytest.param("Chromium", marks=needs_browser), "WeasyPrint"])
def test_printed_page_holds_the_text_on_numbered_pages(
    page_path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, way: str
) -> None:
    monkeypatch.setenv(BROWSER_SETTING, "none" if way == "WeasyPrint" else str(BROWSER))
    target = tmp_path / "review.pdf"
    assert to_pdf(page_path, target) == way
    with pypdfium2.PdfDocument(target) as pdf:
        texts = [sheet.get_textpage().get_text_range() for sheet in pdf]
        width, height = pdf[0].get_size()
    assert 3 <= len(texts) <= 15
    assert (round(width), round(height)) == (595, 842)  # A4 in points
    assert "Season review" in texts[0]
    assert "Cautions" in "".join(texts)
    assert [f"{number} / {len(texts)}" in text for number, text in enumerate(texts, 1)] == [
        True
    ] * len(texts)


def test_a_browser_that_is_not_there_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(BROWSER_SETTING, "no-such-browser")
    with pytest.raises(PageError, match="names 'no-such-browser', which is not a program"):
        find_browser()


def test_a_browser_that_fails_says_so(
    page_path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(BROWSER_SETTING, str(shutil.which("false")))
    with pytest.raises(PageError, match=r"could not print the page.*=none to print with Weasy"):
        to_pdf(page_path, tmp_path / "review.pdf")
    assert not (tmp_path / "review.pdf").exists()


@pytest.mark.parametrize(
    "place",
    ["Applications/Chromium.app/Contents/MacOS/Chromium", "Chromium/Application/chrome.exe"],
    ids=["macOS", "Windows"],
)
def test_browser_is_found_where_it_is_installed_though_not_on_the_path(
    place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", "")
    monkeypatch.delenv(BROWSER_SETTING, raising=False)
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path))
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    assert find_browser() is None
    browser = tmp_path / place
    browser.parent.mkdir(parents=True)
    browser.touch()
    assert find_browser() == str(browser)


def test_nothing_of_one_system_alone_is_imported_to_print() -> None:
    code = "import sys; sys.modules['fcntl'] = None; import analysis.render.chromium"
    subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True)
