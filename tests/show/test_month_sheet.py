"""Owns the tests of the sheet of month cards: where its words stand on paper, and that all do."""

import ctypes
from dataclasses import dataclass

import numpy as np
import pypdfium2
import pytest
from pypdfium2 import raw

from analysis.show.card.month_sheet import MOST_RODS, MonthSheet, write_sheets
from analysis.show.card.text import CardText, RodText

POINTS = 72.0
MONTHS = ("March", "April", "May", "June", "July", "August", "September", "October")


@dataclass(frozen=True)
class Words:
    """Where one text stands on a page: its line and ends in inches from the left and top."""

    left: float
    right: float
    low: float
    points: float
    bold: bool


def rod(number: int) -> RodText:
    words = dict.fromkeys(("line_outs", "temp", "rate", "rates", "slow", "fast"), "")
    return RodText(
        rod=f"R{number}",
        gear="diver on 2" if number % 2 else "rigger",
        line_out=f"{8 + 13 * number} ft",
        depth=f"{9 + 11 * number} ± {number} ft",
        at=0.0,
        low=0.0,
        high=0.0,
        **words,
    )


def card(month: str, rods: int = 6) -> CardText:
    return CardText(
        boat="Dunlin",
        when=f"{month} 2026",
        answer=(f"The best in {month} was likely 30 to 40 ft, with a log that leaves some doubt.",),
        facts=(("Speed", f"{len(month)}.5 mph"),),
        rods=tuple(map(rod, range(1, rods + 1))),
        total="",
        notes=(),
        profile=np.zeros((0, 4)),
        band=None,
        depth_unit="ft",
        temp_unit="F",
        alt="",
    )


@pytest.fixture
def write(tmp_path):
    def written(*cards: CardText, heading: str = "Dunlin, month by month", note: str = "A note."):
        file = tmp_path / "sheet.pdf"
        write_sheets([MonthSheet(heading=heading, note=note, cards=cards)], file)
        return file

    return written


def words_on(file, text: str) -> list[Words]:
    """Return each place of a text on the first page."""
    found = []
    with pypdfium2.PdfDocument(file) as pdf:
        page, tall = pdf[0].get_textpage(), pdf[0].get_size()[1]
        search = page.search(text, match_case=True, match_whole_word=True)
        while hit := search.get_next():
            first, count = hit
            boxes = [page.get_charbox(at, loose=True) for at in range(first, first + count)]
            x, y = ctypes.c_double(), ctypes.c_double()
            raw.FPDFText_GetCharOrigin(page, first, x, y)
            name = ctypes.create_string_buffer(100)
            raw.FPDFText_GetFontInfo(page, first, name, 100, None)
            found.append(
                Words(
                    left=boxes[0][0] / POINTS,
                    right=boxes[-1][2] / POINTS,
                    low=(tall - y.value) / POINTS,
                    points=raw.FPDFText_GetFontSize(page, first),
                    bold=b"Bold" in name.value,
                )
            )
    return found


def one(file, text: str) -> Words:
    (found,) = words_on(file, text)
    return found


def near(inches):
    return pytest.approx(inches, abs=0.02)


def test_eight_months_stand_in_two_columns_and_four_rows_in_their_order(write):
    file = write(*map(card, MONTHS))
    places = [one(file, f"{month} 2026") for month in MONTHS]
    # margins of 0.35 in about two cards, on a page of 8.27 x 11 in
    left, right = 0.35, (8.27 + 0.35) / 2
    assert [place.left for place in places] == near([left, right] * 4)
    lows = np.array([place.low for place in places])
    assert lows[::2] == near(lows[1::2])
    assert np.diff(lows[::2]) == near([9.8 / 4] * 3)
    assert 0.8 < lows[0] < 1.2
    last = max(place.low for place in words_on(file, "R6"))
    assert 10.0 < last < 10.6


def test_a_card_holds_its_words_between_its_own_edges(write):
    file = write(*map(card, MONTHS))
    for place, month in enumerate(MONTHS):
        left = 0.35 if place % 2 == 0 else (8.27 + 0.35) / 2
        title = one(file, f"{month} 2026")
        rods = [words for words in words_on(file, "R1") if words.left == near(left)]
        assert len(rods) == 4
        assert title.bold
        assert title.points > rods[0].points
    headings = [one(file, f"{month} 2026").low for month in MONTHS[::2]]
    for number in range(1, 7):
        lows = sorted(w.low for w in words_on(file, f"R{number}") if w.left == near(0.35))
        assert all(a < b for a, b in zip(headings, lows, strict=True))
        assert all(a < b for a, b in zip(lows, headings[1:], strict=False))


def test_columns_of_a_card_are_flush_and_what_is_set_is_bold(write):
    file = write(card("May"))
    wide = (8.27 - 3 * 0.35) / 2
    names, lines, depths = (
        [one(file, text(number)) for number in range(1, 7)]
        for text in (
            lambda number: f"R{number}",
            lambda number: rod(number).line_out,
            lambda number: rod(number).depth,
        )
    )
    assert [name.left for name in names] == near([0.35] * 6)
    assert [line.right for line in lines] == near([0.35 + 0.66 * wide] * 6)
    assert [depth.right for depth in depths] == near([0.35 + wide] * 6)
    assert [gear.left for gear in words_on(file, "rigger")] == near([0.35 + 0.14 * wide] * 3)
    assert one(file, "3.5 mph").right == near(0.35 + wide)
    assert one(file, "3.5 mph").low == near(one(file, "May 2026").low)
    assert all(words.bold for words in (*names, *lines))
    assert not any(words.bold for words in (*depths, *words_on(file, "rigger")))
    for row in zip(names, lines, depths, strict=True):
        assert [words.low for words in row] == near([row[0].low] * 3)
    steps = np.diff([name.low for name in names])
    assert steps == near([steps[0]] * 5)
    assert steps[0] * POINTS > names[0].points  # no line stands on the one above


def test_answer_and_rods_follow_each_other_below_the_title(write):
    file = write(card("May"))
    title, first, more, rods = (one(file, text) for text in ("May 2026", "The best", "some", "R1"))
    assert title.low < first.low < more.low < rods.low
    assert first.left == near(0.35)
    step = more.low - first.low
    assert first.low - title.low == near(1.3 * step)
    assert rods.low - more.low == near(1.2 * step)


def test_a_sheet_says_what_it_is_of_and_long_words_are_cut(write):
    file = write(card("May"), heading="D" * 80, note="n" * 200)
    heading, note = one(file, "D" * 43 + "…"), one(file, "n" * 105 + "…")
    assert (heading.points, note.points) == (17, 10)
    assert (heading.bold, note.bold) == (True, False)
    assert heading.left == note.left == near(0.35)
    assert (heading.low, note.low) == (near(0.5), near(0.72))


def test_more_rods_than_have_room_are_left_out_and_all_can_be_read(write):
    few, many = write(card("May", rods=2)), card("May", rods=MOST_RODS + 2)
    assert one(few, "R1").points == pytest.approx(11.5)
    full = write(*[many] * 8)
    assert len(words_on(full, f"R{MOST_RODS}")) == 8
    assert words_on(full, f"R{MOST_RODS + 1}") == []
    sizes = {round(words.points, 3) for words in words_on(full, "R1")}
    assert len(sizes) == 1
    assert 6.5 < sizes.pop() < 11.5
    steps = np.diff(sorted(w.low for n in (1, 2) for w in words_on(full, f"R{n}"))[::2])
    assert steps[0] * POINTS > 1.2 * one_size(full)


def one_size(file) -> float:
    return words_on(file, "R1")[0].points


def test_the_same_sheet_is_the_same_file(write):
    first = write(card("May")).read_bytes()
    assert write(card("May")).read_bytes() == first
