"""Owns the tests of printing page after page by a browser that stays open."""

import os
import shutil
from pathlib import Path

import pypdfium2
import pytest

from analysis.render.chromium import Browser, Printing
from analysis.render.page import BROWSER_SETTING, PageError, find_browser

BROWSER = find_browser()
needs_browser = pytest.mark.skipif(BROWSER is None, reason="no Chromium on PATH")


def write_page(folder: Path, words: str) -> Path:
    page = folder / f"{words}.html"
    page.write_text(
        f"<!DOCTYPE html><title>{words}</title><style>@page {{ size: A5 }}</style>{words}"
    )
    return page


def text_of(path: Path) -> str:
    with pypdfium2.PdfDocument(path) as pdf:
        assert tuple(map(round, pdf[0].get_size())) == (420, 595)  # the page's own paper
        return str(pdf[0].get_textpage().get_text_range())


def descriptors() -> int:
    folder = Path("/proc/self/fd")
    return len(list(folder.iterdir())) if folder.is_dir() else 0


@needs_browser
@pytest.mark.browser
def test_pages_are_printed_one_after_the_other_and_nothing_is_left(tmp_path: Path) -> None:
    before = descriptors()
    browser = Browser(str(BROWSER))
    browser.start()
    profile = Path(str(browser._profile))
    for words in ("first", "second", "third"):
        browser.print(write_page(tmp_path, words), tmp_path / f"{words}.pdf")
        assert text_of(tmp_path / f"{words}.pdf") == words
    browser.stop()
    assert not profile.exists()
    assert descriptors() == before


@needs_browser
@pytest.mark.browser
def test_a_browser_that_ends_is_told_and_the_next_page_gets_another(tmp_path: Path) -> None:
    browser = Browser(str(BROWSER))
    browser.start()
    page = write_page(tmp_path, "words")
    os.kill(int(str(browser._pid)), 9)
    with pytest.raises(PageError, match=r"could not print the page: .*=none to print with Weasy"):
        browser.print(page, tmp_path / "words.pdf")
    assert not (tmp_path / "words.pdf").exists()
    browser.print(page, tmp_path / "words.pdf")
    assert text_of(tmp_path / "words.pdf") == "words"
    browser.stop()


@pytest.mark.parametrize("program", ["false", "no-such-program"])
def test_a_program_that_is_no_browser_is_named(tmp_path: Path, program: str) -> None:
    browser = Browser(shutil.which(program) or program)
    with pytest.raises(PageError, match=rf"{program} could not print the page"):
        browser.print(write_page(tmp_path, "words"), tmp_path / "words.pdf")
    browser.stop()


def test_without_a_browser_it_is_weasyprint(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(BROWSER_SETTING, "none")
    with Printing() as printing:
        printing.print(write_page(tmp_path, "words"), tmp_path / "words.pdf")
    assert text_of(tmp_path / "words.pdf") == "words"


def test_a_wrong_setting_is_told_when_it_comes_to_printing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(BROWSER_SETTING, "no-such-browser")
    with (
        Printing() as printing,
        pytest.raises(PageError, match="names 'no-such-browser', which is not a program"),
    ):
        printing.print(write_page(tmp_path, "words"), tmp_path / "words.pdf")
