"""Owns the tests of a week's page: its structure, in a browser, on paper, as plain text."""

import itertools
import os
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from bs4 import BeautifulSoup
from pypdfium2 import raw

from analysis.render.page import BROWSER_SETTING, find_browser, to_pdf
from analysis.report.weekly.run import Settings, write_weeks
from analysis.report.weekly.store import read_week
from analysis.show.week import text as week_text

BROWSER = find_browser()
needs_browser = pytest.mark.skipif(BROWSER is None, reason="no Chromium on PATH")
TOLD, NO_TRIPS, TOO_FEW = "2026-W27", "2026-W28", "2026-W29"
PARTS = [
    "The week in figures",
    "Where in the water",
    "What puts a lure there",
    "On what, and how",
    "What to try next",
    "What was not known",
    "What keeps a boat's figures its own",
    "Cautions",
]


def soup(weekly: Any, week: str) -> BeautifulSoup:
    return BeautifulSoup(weekly.text(week, "html"), "html.parser")


def test_parts_stand_in_their_order_under_one_title(weekly: Any) -> None:
    page = soup(weekly, TOLD)
    assert page.html["lang"] == "en"
    assert page.title.text == "Weekly report, week 27 of 2026"
    assert [heading.text for heading in page.find_all("h1")] == ["Weekly report"]
    assert [heading.text for heading in page.find_all("h2")] == PARTS
    levels = [int(tag.name[1]) for tag in page.find_all(re.compile("^h[1-6]$"))]
    assert all(later - earlier <= 1 for earlier, later in itertools.pairwise(levels))


def test_week_without_trips_says_just_that(weekly: Any) -> None:
    page = soup(weekly, NO_TRIPS)
    assert [heading.text for heading in page.find_all("h2")] == ["Cautions"]
    assert page.select_one(".answer").text == "No trips were logged this week."
    assert page.find("table") is None
    assert page.find("img") is None


def test_week_of_too_few_boats_says_so_and_tells_no_figure(weekly: Any) -> None:
    page = soup(weekly, TOO_FEW)
    assert "Fewer than three boats logged trips this week" in page.select_one(".answer").text
    assert [heading.text for heading in page.find_all("h2")] == PARTS[-2:]
    assert page.find("table") is None


def test_every_table_marks_its_headers(weekly: Any) -> None:
    tables = soup(weekly, TOLD).find_all("table")
    assert len(tables) == 5
    for table in tables:
        assert table.find("caption").text
        assert all(cell["scope"] == "col" and cell.text for cell in table.select("thead th"))
        for row in table.select("tbody tr"):
            assert [cell["scope"] for cell in row.find_all("th")] == ["row"]


def test_the_picture_is_vector_and_says_its_finding(weekly: Any) -> None:
    images = soup(weekly, TOLD).find_all("img")
    assert len(images) == 1
    assert images[0]["src"].startswith("data:image/svg+xml;base64,")
    depth = read_week(weekly.out / f"{TOLD}.json").depth
    best = max((band for band in depth.bands if band.judged), key=lambda band: band.rate)
    told = re.search(r"depths is ([\d.]+) strikes per rod-hour", images[0]["alt"])
    assert told
    # to the digits that its interval leaves it: no farther off than an eighth of that
    assert float(told[1]) == pytest.approx(best.rate, abs=(best.rate_high - best.rate_low) / 8)
    assert f"The verdict is {depth.verdict}" in images[0]["alt"]
    assert "thermocline at" in images[0]["alt"]


def test_page_tells_what_the_figures_tell(weekly: Any) -> None:
    week = read_week(weekly.out / f"{TOLD}.json")
    page = soup(weekly, TOLD)
    rows = {
        row.find("th").text: [cell.text for cell in row.find_all("td")]
        for row in page.find("table").select("tbody tr")
    }
    weeks = [week.counts, week.last_week, week.last_year]
    assert rows["Boats"] == [str(counts.boats) for counts in weeks]
    assert rows["Trips"] == [str(counts.trips) for counts in weeks]
    assert rows["Landed"] == [str(counts.landed) for counts in weeks]
    assert rows["Rod-hours"] == [f"{counts.rod_hours:.0f}" for counts in weeks]
    bands = page.find_all("table")[1].select("tbody tr")
    assert [row.find("td").text for row in bands] == [
        f"{band.rod_hours:.0f}" for band in week.depth.bands
    ]


def test_both_units_are_shown_where_members_differ(weekly: Any) -> None:
    week = read_week(weekly.out / f"{TOLD}.json")
    assert week.units["depth"] == ("ft", "m")
    text = soup(weekly, TOLD).text
    assert re.search(r"\d+(?:–\d+)? ft \(\d+(?:–\d+)? m\)", text)
    assert re.search(r"\d+\.\d–\d+\.\d mph \(\d+\.\d–\d+\.\d km/h\)", text)
    assert re.search(r"\d+–\d+ °F \(\d+–\d+ °C\)", text)


def test_typed_in_markup_is_text_everywhere(weekly: Any, club_files: Any) -> None:
    week = read_week(weekly.out / f"{TOLD}.json")
    typed = [week.club, *week.boats_named, *week.areas]
    typed += [name for row in week.counts.species for name in row.names]
    assert sum(club_files.HOSTILE in name for name in typed) == 4
    page = soup(weekly, TOLD)
    assert page.find(attrs={"onerror": True}) is None
    assert page.find("script") is None
    assert len(page.find_all("img")) == 1
    assert page.text.count(club_files.HOSTILE) >= 4
    index = BeautifulSoup((weekly.out / "index.html").read_text(encoding="utf-8"), "html.parser")
    assert index.find("img") is None


def test_page_needs_no_network_and_shows_no_code(weekly: Any) -> None:
    text = weekly.text(TOLD, "html")
    for sign in ("http://", "https://", "<link", "@import", "url(", "read_week"):
        assert sign not in text
    assert str(weekly.out) not in text


def test_list_leads_to_every_report(weekly: Any) -> None:
    page = BeautifulSoup((weekly.out / "index.html").read_text(encoding="utf-8"), "html.parser")
    links = [link["href"] for link in page.find_all("a")]
    assert len(links) == 16
    assert all((weekly.out / link).is_file() for link in links)
    assert [item.find("a").text for item in page.find_all("li")] == [
        f"Week {week}" for week in (29, 28, 27, 26)
    ]
    assert "No trips were logged this week." in page.text


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """The system's Chromium."""
    from playwright.sync_api import sync_playwright

    arguments = ["--no-sandbox"] if os.geteuid() == 0 else []
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=BROWSER, args=arguments)
        yield started
        started.close()


@needs_browser
@pytest.mark.browser
@pytest.mark.parametrize("width", [360, 1280])
@pytest.mark.parametrize("name", [TOLD, NO_TRIPS, TOO_FEW, "index"])
def test_no_accessibility_violation_and_nothing_runs(
    weekly: Any, browser: Any, name: str, width: int
) -> None:
    from axe_playwright_python.sync_playwright import Axe

    view = browser.new_page(viewport={"width": width, "height": 800})
    view.goto((weekly.out / f"{name}.html").as_uri())
    violations = Axe().run(view).response["violations"]
    assert [violation["id"] for violation in violations] == []
    assert view.title().startswith("Weekly report")
    assert view.evaluate("document.documentElement.scrollWidth") <= width
    view.close()


def sheets(path: Path) -> tuple[list[str], tuple[int, int], int]:
    """Return a PDF's text by page, its size in points, and its count of raster pictures."""
    with pypdfium2.PdfDocument(path) as pdf:
        texts = [sheet.get_textpage().get_text_range() for sheet in pdf]
        width, height = pdf[0].get_size()
        rasters = sum(
            1 for sheet in pdf for _ in sheet.get_objects(filter=[raw.FPDF_PAGEOBJ_IMAGE])
        )
    return texts, (round(width), round(height)), rasters


def squeezed(text: str) -> str:
    """Drop what a line's end changes: white space and hyphens, which come as U+0002 or U+FFFE."""
    return re.sub(r"[\s\-\x02\ufffe]", "", text)


def check_print(texts: list[str], page: BeautifulSoup, hostile: str) -> None:
    """Check numbered pages, all parts, no table cut, and typed-in markup as text."""
    assert len(texts) <= 2
    sides = [squeezed(text) for text in texts]
    assert all(f"{at}/{len(sides)}" in side for at, side in enumerate(sides, 1))
    whole = "".join(sides)
    assert all(squeezed(part) in whole for part in PARTS)
    assert squeezed(hostile) in whole
    assert "Wearflotation" in whole
    for table in page.find_all("table"):
        cells = [squeezed(cell.text) for cell in table.find_all(["caption", "th", "td"])]
        assert any(all(cell in side for cell in cells) for side in sides), cells


def test_pdf_is_two_numbered_pages_with_vector_plots(weekly: Any, club_files: Any) -> None:
    texts, size, rasters = sheets(weekly.out / f"{TOLD}.pdf")
    assert size == (595, 842)  # A4
    assert rasters == 0
    check_print(texts, soup(weekly, TOLD), club_files.HOSTILE)


def test_letter_paper_by_either_printer(
    weekly: Any, club_files: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = write_weeks(weekly.logs, [TOLD], tmp_path, Settings(paper="letter"))
    assert run.problems == {}
    monkeypatch.setenv(BROWSER_SETTING, "none")
    assert to_pdf(tmp_path / f"{TOLD}.html", tmp_path / "weasy.pdf") == "WeasyPrint"
    for name in (f"{TOLD}.pdf", "weasy.pdf"):
        texts, size, rasters = sheets(tmp_path / name)
        assert size == (612, 792), name
        assert rasters == 0
        check_print(texts, soup(weekly, TOLD), club_files.HOSTILE)


@pytest.mark.parametrize("week", [TOLD, "2026-W26", NO_TRIPS, TOO_FEW])
def test_text_is_short_and_has_the_answer(weekly: Any, week: str) -> None:
    text = weekly.text(week, "txt")
    content = read_week(weekly.out / f"{week}.json")
    assert len(text) < 1200
    assert text == week_text.text(content)
    headline = BeautifulSoup(weekly.text(week, "html"), "html.parser").select_one(".answer p").text
    assert headline in text
    assert "no advice on safety" in text
    if week == TOLD:
        counts = content.counts
        assert f"{counts.strikes} strikes, {counts.landed} landed" in text
        assert "Line-out expected to catch best, about" in text


def test_text_holds_nothing_a_board_obeys(weekly: Any) -> None:
    text = weekly.text(TOLD, "txt")
    assert "Ostermere" in text
    assert set(text).isdisjoint("<>[]{}*_`|\\#@&")
    assert "://" not in text
    assert all(char == "\n" or char.isprintable() for char in text)


def test_text_stays_short_whatever_is_typed(weekly: Any) -> None:
    week = read_week(weekly.out / f"{TOLD}.json")
    text = week_text.text(replace(week, club="club " * 400))
    assert len(text) < 1200
    assert text.splitlines()[0].endswith("…")
    assert "no advice on safety" in text
