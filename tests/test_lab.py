"""Owns the tests that notebooks run in JupyterLab, in a real browser, as somebody uses them."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import nbformat
import pytest
from in_jupyter import BAD_OUTPUT, Lab, lab_in, violations

from analysis.decision.answer import Answer
from analysis.keeping.plan import plan_of
from analysis.keeping.start import start_season
from analysis.log import read_log
from analysis.render.page import find_browser
from analysis.season import Options
from analysis.workbook import example, kept

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

ANSWERS = {
    **{"boat": "Dunlin", "club": "", "zone": "Europe/Oslo", "units": "ft, mph, F", "water": ""},
    "rods": "P1 diver 2 90, SR rigger 50",
}

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(find_browser() is None, reason="no Chromium on PATH"),
]


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    with lab_in(tmp_path_factory.mktemp("lab")) as running:
        yield running


def test_season_review_runs_from_top_to_bottom(lab: Lab) -> None:
    from playwright.sync_api import expect

    with lab.run("season_review") as (page,):
        # The cautions are the last cell of all, and a cell that fails stops those after it.
        expect(page.locator(".cautions")).to_be_visible()


def test_the_start_page_shows_the_season_and_leads_to_every_notebook(lab: Lab) -> None:
    from playwright.sync_api import expect

    heron = example(lab.notebooks.parent / "heron")
    with lab.run(lab.copy("start", season=f"'{heron}'")) as (page,):
        expect(page.get_by_text("1 strike in 8 rod-hours")).to_be_visible()
        assert violations(page) == []


def test_a_wrong_value_is_refused_in_sight_and_without_a_traceback(lab: Lab) -> None:
    from playwright.sync_api import expect

    with lab.run(lab.copy("run_depth", speed="'fast'")) as (page,):
        refused = page.get_by_text("speed 'fast'")
        expect(refused).to_be_visible()
        expect(refused).to_be_in_viewport()
        assert "Traceback" not in page.locator(".jp-Notebook").inner_text()


WRONG = (
    ("season_review", {"period": "'Jly'"}, ("load", "bands"), "no period 'Jly'", "2026-07"),
    ("run_depth", {"depth": "4500"}, ("load", "study"), "depth 4500", "up to 1640, in ft"),
    ("run_depth", {"gear": "'diverr'"}, ("load", "study"), "no gear 'diverr'", "diver, rigger"),
    ("depth_explorer", {"season": "'dunlin-2026/boat.toml'"}, ("explorer-2",), "a file", "folder"),
)
"""Notebook, what is typed into its parameters, its cells up to where that is used; what is named
there as wrong, and of what is allowed."""


def test_each_wrong_value_is_named_with_what_is_allowed(lab: Lab) -> None:
    """All in one notebook of the notebooks' own cells, each of which may fail: a kernel for all."""
    together = nbformat.v4.new_notebook()
    for notebook, typed, ids, *_ in WRONG:
        own = nbformat.read(lab.notebooks / f"{lab.copy(notebook, **typed)}.ipynb", as_version=4)
        is_used = [cell for cell in own.cells if "parameters" in cell.metadata.get("tags", [])]
        is_used += [cell for cell in own.cells if cell.id in ids]
        for cell in is_used:
            cell.metadata["tags"] = ["raises-exception"]
            cell.id = nbformat.v4.new_code_cell().id
        together.cells += is_used
        together.metadata = own.metadata
    nbformat.write(together, lab.notebooks / "wrong.ipynb")
    with lab.run("wrong") as (page,):
        lab.finished(page)
        said = page.locator(BAD_OUTPUT).all_inner_texts()
        assert len(said) == len(WRONG)
        for text, (*_, named, allowed) in zip(said, WRONG, strict=True):
            assert named in text
            assert allowed in text
        assert "Traceback" not in page.locator(".jp-Notebook").inner_text()


def test_notebooks_that_ask_run_from_top_to_bottom_without_a_complaint(lab: Lab) -> None:
    """On the front page's log of five lines: a season is asked in tests without a browser."""
    heron = example(lab.notebooks.parent / "heron-2026")
    own = [lab.copy(name, season=f"'{heron}'") for name in ("ask", "catch_rate", "tour")]
    with lab.run(*own) as pages:
        for name, page in zip(own, pages, strict=True):
            assert [name, *lab.complaints(page), *violations(page)] == [name]


def test_the_depth_explorer_answers_keys_mouse_and_typing(lab: Lab) -> None:
    from playwright.sync_api import expect

    with lab.run("depth_explorer") as (page,):
        expect(page.get_by_text("diver on 1, 100 ft out at 2.5 mph:", exact=True)).to_be_visible()
        image = page.get_by_alt_text("Path of the diver on 1")
        before = image.get_attribute("src")
        page.get_by_role("slider", name="Line-out, ft").press("ArrowRight")
        expect(page.get_by_text("diver on 1, 105 ft out at 2.5 mph:", exact=True)).to_be_visible()
        expect(image).not_to_have_attribute("src", before or "")
        drag(page, page.get_by_role("slider", name="Line-out, ft"), 60)
        expect(page.get_by_text("diver on 1, 105 ft out at 2.5 mph:")).to_have_count(0)
        speed = page.get_by_role("textbox", name="Speed, mph, typed").first
        type_in(speed, "2,7")
        expect(page.get_by_text("ft out at 2.7 mph:").first).to_be_visible()
        type_in(speed, "fast")
        expect(page.get_by_text("‘fast’ is not taken").first).to_be_in_viewport()
        expect(page.get_by_text("ft out at 2.7 mph:").first).to_be_visible()
        assert violations(page) == []


def drag(page: "Page", knob: "Locator", by_px: int) -> None:
    """Drag the knob of a slider by the mouse."""
    knob.scroll_into_view_if_needed()
    box = knob.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + by_px, y, steps=3)
    page.mouse.up()


def type_in(field: "Locator", text: str) -> None:
    """Type into a field and leave it."""
    field.fill(text)
    field.press("Tab")


@pytest.fixture(scope="module")
def answered(lab: Lab, warm) -> Path:
    """A season folder, whose answer is stored already where the lab looks for it."""
    folder: Path = warm.seasons[0].log.folder
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(kept.FOLDER_VARIABLE, str(lab.notebooks.parent / "store"))
        patch.setattr(kept, "LEAST_S", 0.0)
        logs = kept.fingerprint((folder,))
        kept.reused("answer 2026", logs, repr(Options()), Answer, lambda: warm.answer)
    return folder


def test_each_control_of_the_explorer_changes_what_is_seen(lab: Lab, answered: Path) -> None:
    from playwright.sync_api import expect

    with lab.run(lab.copy("explore", season=f"'{answered}'")) as (page,):
        told, table = page.locator(".rh p").first, page.locator(".rh table").first
        expect(told).to_contain_text("The whole season")
        expect(page.locator(".rh p").filter(has_text="produced best")).to_be_visible()
        back = page.get_by_role("button", name="Set all back")
        for part in (back, page.get_by_text("By hour of the day"), table, told):
            expect(part).to_be_in_viewport(ratio=1)
        assert violations(page) == []
        assert page.locator(".widget-vbox").evaluate_all(
            "boxes => boxes.every(box => box.scrollWidth <= box.clientWidth)"
        )
        for name in ("Boat", "Week", "Area", "Species", "Outcome", "Gear", "Setting", "Lure"):
            page.get_by_label(name, exact=True).press("ArrowDown")
            expect(told).not_to_contain_text("The whole season")
            back.click()
            expect(told).to_contain_text("The whole season")
        for name in ("Months", "Hours"):
            page.get_by_role("slider", name=f"{name}, from").press("ArrowRight")
            expect(told).not_to_contain_text("The whole season")
            drag(page, page.get_by_role("slider", name=f"{name}, from"), -200)
            expect(told).to_contain_text("The whole season")
            drag(page, page.get_by_role("slider", name=f"{name}, to"), -40)
            expect(told).not_to_contain_text("The whole season")
            back.click()
            expect(told).to_contain_text("The whole season")
        counts, bands = table.inner_text(), page.get_by_label("Sets and strikes of the band")
        page.get_by_label("Band height").press("ArrowDown")
        expect(table).not_to_have_text(counts)
        expect(bands.locator("option", has_text="0–15")).to_be_attached()
        bands.press("ArrowDown")
        chosen = bands.evaluate("list => list.value")
        assert chosen != "none"
        expect(page.get_by_text(f"Strikes at {chosen}", exact=True)).to_be_visible()
        expect(page.get_by_text("In the log").first).to_be_visible()


@pytest.fixture
def season(tmp_path: Path) -> Path:
    """A season folder of CSVs."""
    folder = tmp_path / "season"
    start_season(folder, plan_of(ANSWERS), as_csv=True)
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
            type_in(box, cell)


def test_an_evening_is_typed_in_two_windows_and_no_row_is_lost(lab: Lab, season: Path) -> None:
    from playwright.sync_api import expect

    windows = [lab.copy("log_entry", name, season=f"'{season}'") for name in ("entry", "other")]
    with lab.run(*windows) as (one, other):
        for page in (one, other):
            expect(page.get_by_role("button", name="Take back the last row")).to_be_visible()
        assert violations(one) == []
        type_into(
            one, "Trip", trip="T1", date="2026-07-04", start="600", end="1200", spread="usual"
        )
        one.get_by_role("button", name="Add trip").click()
        expect(one.get_by_text("Added to trips.csv: T1, 2026-07-04, 06:00, 12:00")).to_be_visible()
        type_into(one, "Change", time="740", rod="P1", line_out="110")
        one.get_by_role("button", name="Add change").click()
        # typed on at once, while the kernel still reads: no row has a cell of another
        type_into(one, "Change", time="750", rod="SR", line_out="20")
        one.get_by_role("button", name="Add change").click()
        expect(one.get_by_text("Added to changes.csv: T1, 07:50, SR, 20")).to_be_visible()

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
        expect(one.get_by_text("Taken back from changes.csv: T1, 07:50, SR, 20")).to_be_visible()
    log = read_log(season)
    assert log.trips["trip"].tolist() == ["T1", "T2"]
    assert log.strikes[["trip", "rod", "outcome"]].to_numpy().tolist() == [["T2", "P1", "landed"]]
    assert log.changes[["rod", "line_out_m"]].to_numpy().tolist() == [["P1", 110 * 0.3048]]
    assert log.set_aside.empty
