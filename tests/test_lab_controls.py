"""Owns the tests of controls that move pictures, by mouse and keys, in a real browser."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from in_jupyter import Lab, lab_in, violations

from analysis.decision.answer import Answer
from analysis.render.page import find_browser
from analysis.season import Options
from analysis.workbook import kept

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(find_browser() is None, reason="no Chromium on PATH"),
]

_WATCH = """() => {
  window.told = [];
  const box = document.querySelector('.rh table').closest('.jp-OutputArea-output');
  const seen = () => {
    const now = box.querySelector('.rh p').textContent;
    if (window.told.at(-1) !== now) window.told.push(now);
  };
  new MutationObserver(seen).observe(box, {childList: true, subtree: true, characterData: true});
}"""
_IS_ANOTHER = "before => document.querySelector('.widget-html figure').innerHTML !== before"
_ON_EACH_OTHER = """figure => {
  const named = [...figure.querySelectorAll('text[font-weight]')];
  const boxes = named.map(one => [one.textContent, one.getBoundingClientRect()]);
  const meet = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom - 3
    && b.top < a.bottom - 3;
  return boxes.flatMap(([name, box], at) => boxes.slice(at + 1).filter(
    ([, other]) => meet(box, other)).map(([other]) => name + ' on ' + other));
}"""
"""A line's box is some 3 px higher than the letters in it."""


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    with lab_in(tmp_path_factory.mktemp("lab")) as running:
        yield running


@pytest.fixture
def answered(lab: Lab, warm) -> Path:
    """A season folder whose answer is stored already."""
    folder: Path = warm.seasons[0].log.folder
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(kept.FOLDER_VARIABLE, str(lab.notebooks.parent / "store"))
        patch.setattr(kept, "LEAST_S", 0.0)
        logs = kept.fingerprint((folder,))
        kept.reused("answer 2026", logs, repr(Options()), Answer, lambda: warm.answer)
    return folder


def take(page: "Page", knob: "Locator") -> tuple[float, float]:
    """Press the mouse on the knob of a slider; where that is."""
    knob.scroll_into_view_if_needed()
    box = knob.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    return x, y


def test_pictures_move_while_a_slider_is_dragged_and_the_last_is_the_one_asked_for(
    lab: Lab, answered: Path
) -> None:
    from playwright.sync_api import expect

    with lab.run(lab.copy("explore", season=f"'{answered}'")) as (page,):
        told = page.locator(".rh p").first
        expect(told).to_contain_text("The whole season")
        knob = page.get_by_role("slider", name="Hours, from")
        hours = page.get_by_text(", local time")
        page.evaluate(_WATCH)
        x, y = take(page, knob)
        during = 0
        for step in range(400):  # how many a second is for explorer_speed.py to say
            page.mouse.move(x + 6 * (step % 20), y)
            page.wait_for_timeout(50)
            during = page.evaluate("window.told.length")
            if step >= 20 and during >= 2:
                break
        page.mouse.move(x + 114, y)
        page.mouse.up()
        assert during >= 2
        first = _settled(hours).split(" ")[0]
        # every stale wish was dropped or drawn before it: what stands there is the last
        expect(told).to_contain_text(f"From {first} to")


def _settled(place: "Locator") -> str:
    """Return a text once it has stayed for a second: a busy page tells late where its slider is."""
    text, stayed = "", 0
    while stayed < 5:
        place.page.wait_for_timeout(200)
        now = place.inner_text()
        stayed, text = (stayed + 1 if now == text else 0), now
    return text


def test_one_rod_is_moved_by_keys_mouse_and_typing_and_the_spread_with_it(
    lab: Lab, answered: Path
) -> None:
    from playwright.sync_api import expect

    with lab.run(lab.copy("what_if", season=f"'{answered}'")) as (page,):
        asked = page.locator("p").filter(has_text="As asked:").first
        spread = page.locator(".jp-OutputArea .widget-html figure").first
        expect(spread).to_be_visible()
        before, was = spread.inner_html(), asked.inner_text()
        knob = page.get_by_role("slider", name="Line-out, ft")
        knob.press("ArrowRight")
        expect(asked).not_to_have_text(was)
        page.wait_for_function(_IS_ANOTHER, arg=before)
        assert spread.evaluate(_ON_EACH_OTHER) == []
        was = asked.inner_text()
        x, y = take(page, knob)
        page.mouse.move(x + 40, y, steps=4)
        page.mouse.up()
        expect(asked).not_to_have_text(was)
        typed = page.get_by_role("textbox", name="Line-out, ft, typed")
        out = f"{float(knob.get_attribute('aria-valuenow') or 'nan'):g}"
        expect(typed).to_have_value(out)  # of all places it was dragged over, the last
        expect(asked).to_contain_text(f"{out} ft out")
        for text in ("fast", "4500"):
            typed.fill(text)
            typed.press("Tab")
            expect(page.get_by_text(f"‘{text}’ is not taken")).to_be_in_viewport()
        was = asked.inner_text()
        page.get_by_label("Rod", exact=True).press("ArrowDown")
        expect(asked).not_to_have_text(was)
        assert violations(page) == []
