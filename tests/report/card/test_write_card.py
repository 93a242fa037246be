"""Owns the tests of a card's files: made from the stored fit alone, complete and escaped."""

import csv
from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pypdfium2
import pytest

from analysis.cli import main
from analysis.places import REVIEW
from analysis.report.card.months import write_month_sheets
from analysis.report.card.stored_fit import STORE, StoredFit, species_of, store_fit
from analysis.report.card.write import FILES, LINES


@pytest.fixture
def folder(warm):
    return warm.seasons[0].log.folder


@pytest.fixture
def day(basis):
    return f"{basis.season}-07-12"


@pytest.fixture
def out(stored, tmp_path, monkeypatch):
    """A folder with a stored fit, and no way to make another."""

    def never(*_args, **_kwargs):
        pytest.fail("it fitted anew")

    monkeypatch.setattr("analysis.season.analyse", never)
    store_fit(stored, tmp_path)
    return tmp_path


def words_of(out):
    """The card's plain text in one line."""
    return " ".join((out / "card.txt").read_text(encoding="utf-8").split())


def rows_of(out):
    with (out / "lines.csv").open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def test_a_card_comes_from_the_stored_fit_without_fitting(folder, day, out, capsys):
    assert main(["card", str(folder), "--date", day, "--out", str(out), "--rods", "4"]) == 0
    assert str(out / "card.html") in capsys.readouterr().out
    rows = rows_of(out)
    assert tuple(rows[0]) == LINES
    assert len(rows) == 4
    text = (out / "card.txt").read_text(encoding="utf-8")
    page = (out / "card.html").read_text(encoding="utf-8")
    # A5 is 148 x 210 mm (ISO 216), half a letter page 5.5 x 8.5 in; in points of 1/72 in.
    with pypdfium2.PdfDocument(out / "card.pdf") as pdf:
        sizes = [page.get_size() for page in pdf]
        papers = [page.get_textpage().get_text_range() for page in pdf]
    assert sizes == [pytest.approx(size, abs=1) for size in ((420, 595), (396, 612))]
    for row in rows:
        shown = f"{float(row['line_out']):g} {row['unit']}"
        for where in (text, page, *papers):
            assert shown in where
            assert row["rod"] in where
        assert float(row["rate_low"]) < float(row["rate"]) < float(row["rate_high"])
        assert float(row["depth_sd_m"]) > 0.0
        assert float(row["temp_sd_c"]) > 0.0
    assert "Weather on big water changes fast" in page
    assert "Weather on big water changes fast" in text
    assert all("no advice on safety" in " ".join(paper.split()) for paper in papers)


def test_a_stored_fit_is_found_in_the_reviews_folder(folder, day, out, tmp_path):
    elsewhere = tmp_path / "card"
    told = ["--date", day, "--review", str(out), "--out", str(elsewhere)]
    assert main(["card", str(folder), *told]) == 0
    assert (elsewhere / "card.pdf").is_file()
    assert not (elsewhere / STORE).exists()


def test_no_stored_fit_is_made_and_kept(folder, day, stored, tmp_path, monkeypatch):
    monkeypatch.setattr("analysis.season.analyse", lambda *_args, **_kwargs: "a season")
    monkeypatch.setattr("analysis.report.card.write.fit_of", lambda season: stored)
    assert main(["card", str(folder), "--date", day, "--out", str(tmp_path)]) == 0
    assert (tmp_path / STORE).is_file()
    assert (tmp_path / "card.html").is_file()


@pytest.mark.parametrize(
    ("told", "says"),
    [
        (["--date", "2026-01-02"], "outside all seasons"),
        (["--surface", "64"], "needs its unit"),
        (["--boat", "Grebe"], "no boat 'Grebe'"),
        (["--rods", "0"], "0 rods: give a number from 1"),
    ],
)
def test_a_wish_that_cannot_be_granted_writes_nothing(folder, day, out, told, says, capsys):
    before = {path.name for path in out.iterdir()}
    when = [] if "--date" in told else ["--date", day]
    assert main(["card", str(folder), *when, "--out", str(out), *told]) == 2
    assert says in capsys.readouterr().err
    assert {path.name for path in out.iterdir() if path.suffix != ".lock"} <= before


@pytest.mark.parametrize(
    ("told", "says"),
    [
        (["--date", "2026-07-12"], "--date stands there twice: give one"),
        (["--rods", "P1,P2"], "'P1,P2' is no whole number"),
    ],
)
def test_a_wish_that_can_mean_two_things_is_refused(folder, day, told, says, capsys):
    with pytest.raises(SystemExit, match="2"):
        main(["card", str(folder), "--date", day, *told])
    assert says in capsys.readouterr().err


def test_a_review_that_is_not_there_is_not_passed_over(folder, day, out, capsys):
    told = ["--date", day, "--out", str(out), "--review", str(out / "none")]
    assert main(["card", str(folder), *told]) == 2
    assert "there is no such folder" in capsys.readouterr().err


@pytest.mark.parametrize("name", FILES)
def test_a_card_is_written_over_a_card_and_over_nothing_else(folder, day, out, name, capsys):
    told = ["card", str(folder), "--date", day, "--out", str(out)]
    (out / name).write_text("my own notes")
    assert main(told) == 1
    assert f"{out / name} is no card's" in capsys.readouterr().err
    assert (out / name).read_text() == "my own notes"
    assert not [path for path in out.iterdir() if path.name in FILES and path.name != name]
    (out / name).rename(out / "mine")
    assert main(told) == 0
    assert main(told) == 0
    with (out / name).open("ab") as file:
        file.write(b"a line of mine")
    assert main(told) == 1
    assert (out / "mine").read_text() == "my own notes"


def test_no_card_is_put_into_a_log(folder, day, out, capsys):
    (out / "boat.toml").write_text("")
    assert main(["card", str(folder), "--date", day, "--out", str(out)]) == 2
    assert "would be taken for a part of the log" in capsys.readouterr().err
    assert not [path for path in out.iterdir() if path.name in FILES]


def test_a_card_newer_than_the_review_says_so_until_that_is_made_anew(
    folder, day, stored, tmp_path, monkeypatch
):
    """The log was changed: the page in the folder still tells what it told before."""
    monkeypatch.setattr("analysis.season.analyse", lambda *_args, **_kwargs: "a season")
    monkeypatch.setattr("analysis.report.card.write.fit_of", lambda season: stored)
    review, out = tmp_path / "review", tmp_path / "card"
    store_fit(replace(stored, key="of the log as it was"), review)
    (review / f"{REVIEW}.html").write_text("a page")
    for again in (False, True):
        told = ["--date", day, "--review", str(review), "--out", str(out)]
        assert main(["card", str(folder), *told]) == 0, again
        assert "that page may say otherwise" in words_of(out)
    store_fit(stored, review)
    assert main(["card", str(folder), *told]) == 0
    assert "that page may say otherwise" not in words_of(out)


@pytest.mark.parametrize(("heading", "odd"), [("depth (m)", False), ("depth (ft)", True)])
def test_a_cast_far_from_what_is_known_is_doubted(folder, basis, day, out, heading, odd):
    """The water of the day itself; its metres read as feet put the cold a third as deep."""
    water = basis.water.on((date.fromisoformat(day) - date(1970, 1, 1)).days)
    at = np.arange(0.0, 31.0, 3.0)
    temp = water.temp_draws(at, 400, np.random.default_rng(1)).mean(axis=1)
    rows = "\n".join(f"{z:g},{t:.1f}" for z, t in zip(at, temp, strict=True))
    cast = out / "cast.csv"
    cast.write_text(f"{heading},temp (C)\n{rows}\n")
    assert main(["card", str(folder), "--date", day, "--out", str(out), "--cast", str(cast)]) == 0
    assert ("Check the cast, and the units of its columns" in words_of(out)) is odd


@pytest.mark.parametrize(
    ("begun", "says"), [(True, "has too few strikes yet"), (False, "is in no log")]
)
def test_a_card_of_the_year_before_says_why(folder, basis, stored, tmp_path, begun, says):
    now = replace(basis, season=basis.season + 1, strikes=12)
    boats = (now, basis) if begun else (basis,)
    store_fit(replace(stored, boats=boats), tmp_path)
    told = ["--date", f"{now.season}-07-12", "--out", str(tmp_path)]
    assert main(["card", str(folder), *told]) == 0
    assert f"{now.season} {says}" in words_of(tmp_path)


def test_cautions_of_the_day_stand_on_the_card(folder, day, basis, stored, tmp_path, capsys):
    unfished = replace(basis.gears[basis.slots[0].gear], hours=0.0)
    odd = replace(basis, boat="<b>Tern", gears={**basis.gears, "<i>core": unfished})
    store_fit(replace(stored, boats=(odd,)), tmp_path)
    told = ["--date", f"{basis.season + 1}-07-12", "--surface", "39 F", "--rods", "20"]
    assert main(["card", str(folder), *told, "--out", str(tmp_path)]) == 0
    text = " ".join((tmp_path / "card.txt").read_text(encoding="utf-8").split())
    assert f"what fish did in {basis.season}" in text
    assert "Check the surface: it was read as 39 °F" in text
    assert "of those wanted have no place in the log" in text
    assert "Never fished, so left out: <i>core" in text
    untried = {line for line, tackle in basis.gears.items() if not tackle.lines.belief.trials}
    assert ("No soak measured" in text) == bool(untried & {slot.gear for slot in basis.slots})
    page = (tmp_path / "card.html").read_text(encoding="utf-8")
    assert "&lt;b&gt;Tern" in page
    assert "<i>core" not in page


def test_a_sheet_has_a_card_for_each_month(basis, tmp_path):
    trout = replace(basis, species="lake <b>trout")
    write_month_sheets(StoredFit(key="k", boats=(basis,)), (trout,), tmp_path / "sheets.pdf")
    with pypdfium2.PdfDocument(tmp_path / "sheets.pdf") as pdf:
        # no wider than A4 (ISO 216) and no taller than letter (ANSI/ASME Y14.1), in points
        assert pdf[0].get_size() == pytest.approx((595, 792), abs=1)
        text, alone = (page.get_textpage().get_text_range() for page in pdf)
    assert "All species together; a sheet for lake <b>trout alone follows." in text
    assert f"{basis.boat}: lake <b>trout, month by month" in alone
    for month in ("May", "June", "July", "August", "September"):
        assert f"{month} {basis.season}" in text


def test_the_note_of_a_sheet_is_whole_with_three_species(basis, tmp_path):
    names = ("landlocked salmon", "brown trout", "lake trout")
    species = tuple(replace(basis, species=name) for name in names)
    write_month_sheets(StoredFit(key="k", boats=(basis,)), species, tmp_path / "sheets.pdf")
    with pypdfium2.PdfDocument(tmp_path / "sheets.pdf") as pdf:
        text = " ".join(pdf[0].get_textpage().get_text_range().split())
    assert f"sheets for {names[0]}, {names[1]} and {names[2]} alone follow." in text


def test_a_season_of_one_month_has_a_card_and_not_a_page_of_gaps(basis, tmp_path):
    month = next(one for one in basis.periods if one.name.endswith("-07"))
    short = replace(basis, periods=(basis.periods[0], month))
    write_month_sheets(StoredFit(key="k", boats=(short,)), (), tmp_path / "sheets.pdf")
    with pypdfium2.PdfDocument(tmp_path / "sheets.pdf") as pdf:
        text = pdf[0].get_textpage()
        lowest = min(text.get_charbox(at)[1] for at in range(text.count_chars()))
    assert lowest > 0.5 * 792  # points of a letter page, from its foot


def test_where_no_species_has_a_depth_of_its_own_the_sheet_says_so(basis, tmp_path):
    write_month_sheets(StoredFit(key="k", boats=(basis,)), (), tmp_path / "sheets.pdf")
    with pypdfium2.PdfDocument(tmp_path / "sheets.pdf") as pdf:
        assert len(pdf) == 1
        assert "the log cannot tell the depth of one" in pdf[0].get_textpage().get_text_range()


def test_a_species_has_cards_where_its_depth_is_told_in_some_month(warm):
    answer = warm.answer
    month = next(one for one in answer.periods[1:] if one.judgement.verdict != "open")
    unsure = replace(month, judgement=month.judgement.as_open())
    season = SimpleNamespace(
        seasons=warm.seasons,
        earlier=(),
        by_species={
            "lake trout": replace(answer, periods=(answer.season, month)),
            "coho": replace(answer, periods=(answer.season, unsure)),
        },
    )
    (found,) = species_of(season)
    assert (found.species, found.boat) == ("lake trout", warm.seasons[0].log.boat.name)
    assert [period.name for period in found.periods] == ["season", month.name]
