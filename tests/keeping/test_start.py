"""Owns the tests of a new season folder: what it holds, and that it overwrites nothing."""

import io
import shutil
import tomllib

import openpyxl
import pypdfium2
import pytest

from analysis.cli import main
from analysis.errors import LogError, UsageError
from analysis.keeping.book import IN_CSV, season_book
from analysis.keeping.headings import ORDER
from analysis.keeping.plan import ask, plan_of, questions, usual_rods
from analysis.keeping.sheet import sheet_html, sheet_pdf
from analysis.keeping.start import start_season
from analysis.log import read_log
from analysis.log.boat import read_boat
from analysis.log.schema import TABLES

ANSWERS = {
    "boat": 'The "Dunlin" \\ <b>',
    "club": "",
    "zone": "Europe/Oslo",
    "units": "m, km/h, C",
    "water": "Ostermere",
    "rods": "P1 diver 2 28, PR rigger 15, C1 leadcore 60, S2 flat port 30",
}


@pytest.fixture
def plan():
    return plan_of(ANSWERS)


@pytest.fixture(scope="module")
def started(tmp_path_factory):
    """A new season folder with a workbook; its sheets take a second each to draw."""
    folder = tmp_path_factory.mktemp("started") / "dunlin"
    start_season(folder, plan_of(ANSWERS))
    return folder


def test_boat_toml_is_read_and_every_key_has_a_comment(started):
    file = started / "boat.toml"
    boat, _ = read_boat(file)
    assert boat.name == ANSWERS["boat"]
    assert boat.time_zone.key == "Europe/Oslo"
    assert list(boat.gears) == ["diver", "rigger", "leadcore", "flat"]
    assert (boat.units.length, boat.units.fish_weight, boat.units.speed) == ("m", "kg", "km/h")
    assert boat.water_name == "Ostermere"
    text = file.read_text(encoding="utf-8")
    for line in text.splitlines():
        if " = " in line and not line.startswith(("#", " ", "]")):
            assert "# " in line, line
    assert set(tomllib.loads(text)["habits"]) == {"reset_minutes", "minutes_per_rod"}


@pytest.mark.parametrize("as_csv", [False, True])
def test_the_tables_read_as_soon_as_a_trip_is_typed(tmp_path, plan, started, as_csv):
    folder = tmp_path / "dunlin"
    if as_csv:
        start_season(folder, plan, as_csv=True)
    else:
        shutil.copytree(started, folder)
    with pytest.raises(LogError, match=r"this table has no trip"):
        read_log(folder)
    trip = ["T1", "2026-07-04", "05:30", "11:00", "", "", "usual", ""]
    strike = ["T1", "06:40", "P1", "lake trout", "landed"]
    if as_csv:
        for name, row in (("trips", trip), ("strikes", strike)):
            file = folder / f"{name}.csv"
            width = len(TABLES[name])
            line = ",".join([*row, *[""] * (width - len(row))])
            file.write_text(file.read_text() + line + "\n")
    else:
        book = openpyxl.load_workbook(folder / "season.xlsx")
        for name, row in (("trips", trip), ("strikes", strike)):
            for column, value in enumerate(row, start=1):
                book[name].cell(3, column).value = value or None
        book.save(folder / "season.xlsx")
    log = read_log(folder)
    assert log.set_aside.empty
    assert log.trips["trip"].tolist() == ["T1"]  # the example is not read
    assert sorted(set(log.stretches["rod"])) == ["C1", "P1", "PR", "S2"]
    assert log.stretches["source"].eq("spread").all()
    assert log.strikes["species"].tolist() == ["lake trout"]
    assert log.unread == ()


def test_the_workbook_explains_its_headings_and_offers_what_is_known(plan):
    book = openpyxl.load_workbook(io.BytesIO(season_book(plan)))
    assert tuple(book.sheetnames) == ORDER
    assert set(ORDER) == set(TABLES)
    for sheet in book:
        assert [cell.value for cell in sheet[1]] == [f.name for f in TABLES[sheet.title]]
        assert all(len(cell.comment.text) > 8 for cell in sheet[1])
        assert sheet["A2"].value == "EXAMPLE"
        assert sheet.sheet_properties.pageSetUpPr.fitToPage  # printed as wide as a page
    strikes = book["strikes"]
    offered = {str(rule.sqref)[0]: rule for rule in strikes.data_validations.dataValidation}
    assert offered["E"].formula1 == '"landed,released,lost,missed"'
    assert offered["H"].formula1 == '"diver,rigger,leadcore,flat"'
    assert offered["C"].formula1 == '"P1,PR,C1,S2"'
    assert not offered["C"].showErrorMessage
    assert offered["D"].formula1.startswith("$D$3")  # species so far
    assert book["trips"]["B9"].number_format == "yyyy-mm-dd"
    assert strikes["B9"].number_format == "hh:mm"
    assert "(m)" in book["spreads"]["F1"].comment.text


@pytest.mark.parametrize(
    ("paper", "size"), [("A4", (595.3, 841.9)), ("letter", (612.0, 792.0))]
)  # ISO 216 and ANSI/ASME Y14.1, in points
def test_the_sheet_is_two_pages_with_the_usual_rods(plan, paper, size):
    pages = pypdfium2.PdfDocument(sheet_pdf(plan, paper))
    assert len(pages) == 2
    assert pages[0].get_size() == pytest.approx(size, abs=0.5)
    text = pages[0].get_textpage().get_text_bounded()
    assert "leadcore" in text
    assert "28" in text
    assert 'The "Dunlin" \\ <b>' in text  # typed text is shown, not obeyed
    assert "<b>:" not in sheet_html(plan, paper)


def test_sheets_of_twelve_rods_keep_to_two_pages(plan):
    rods = ", ".join(f"P{n} diver 2 90" for n in range(12))
    pages = pypdfium2.PdfDocument(sheet_pdf(plan_of(ANSWERS | {"rods": rods}), "letter"))
    assert len(pages) == 2


@pytest.mark.parametrize("there", ["boat.toml", "Season.XLSX", "trips.csv", "sheet.pdf"])
def test_nothing_is_overwritten_and_nothing_added(tmp_path, plan, there):
    (tmp_path / there).write_text("mine")
    with pytest.raises(LogError, match=rf"a season was begun here: it has {there}; nothing was"):
        start_season(tmp_path, plan)
    assert [path.name for path in tmp_path.iterdir()] == [there]
    assert (tmp_path / there).read_text() == "mine"


def test_a_folder_that_cannot_be_made_leaves_nothing(tmp_path, plan):
    (tmp_path / "file").write_text("")
    with pytest.raises(LogError, match=r"cannot be written to .*nothing was left in it"):
        start_season(tmp_path / "file" / "season", plan)


@pytest.mark.parametrize(
    ("option", "answer", "message"),
    [
        ("zone", "Europe/Olso", r"did you mean Europe/Oslo\?"),
        ("units", "ft, mph", r"units 'ft, mph' cannot be read\. Remedy: one each of"),
        ("units", "ft, mph, K", r"cannot be read"),
        ("rods", "P1 dvier", r"rod 'P1 dvier': gear 'dvier' is none of .*\(diver\?\)\. Remedy"),
        ("rods", "X1 diver", r"its label says no side"),
        ("rods", "PR rigger 2 50", r"only a diver has a setting"),
        ("rods", "P1 diver two", r"'two' are no numbers"),
        ("rods", "P1 diver, p1 rigger", r"rod P1 stands twice"),
        ("rods", " , ", r"there is no rod"),
    ],
)
def test_answers_that_cannot_be_are_refused_with_the_remedy(option, answer, message):
    with pytest.raises(UsageError, match=message):
        plan_of(ANSWERS | {option: answer})


def test_one_number_of_a_diver_is_its_setting_and_a_side_may_be_written():
    assert [rod.setting for rod in usual_rods("P1 diver 2")] == ["2"]
    assert [rod.side for rod in usual_rods("A flat starboard 30")] == ["starboard"]


def test_what_no_option_tells_is_asked_with_the_default_in_brackets(tmp_path):
    asked = questions(tmp_path / "red-heron-2026")
    shown = []

    def answer(prompt):
        shown.append(prompt)
        return ""

    found = ask(asked, {"boat": None, "zone": "Europe/Oslo"}, answer)
    assert found["boat"] == "Red Heron"
    assert found["zone"] == "Europe/Oslo"
    assert shown[0] == "Name of the boat [Red Heron]: "
    assert len(shown) == len(asked) - 1

    def nobody(prompt):
        raise EOFError

    with pytest.raises(UsageError, match=r"add --yes"):
        ask(asked, {}, nobody)


def test_the_command_makes_the_folder_and_says_what_next(tmp_path, capsys):
    folder = tmp_path / "the heron"
    assert main(["start", str(folder), "--zone", "Europe/Oslo", "--csv", "--yes"]) == 0
    told = capsys.readouterr().out
    assert f"the notebook log_entry (rodhours lab '{folder}')" in told
    assert "Times will be read as those of Europe/Oslo" in told
    assert f"  rodhours check '{folder}'\n" in told, "as a shell takes it"
    assert "leaders and lures and the line-out of P1, P2, PR, SR, S2, S1 into" in told
    names = {path.name for path in folder.iterdir()}
    assert names == {"boat.toml", "sheet.pdf", "sheet-letter.pdf", *(f"{t}.csv" for t in IN_CSV)}
    assert main(["start", str(folder), "--yes"]) == 1
    assert "nothing was written" in capsys.readouterr().err
