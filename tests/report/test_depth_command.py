"""Owns the tests of the depth command's table: every row and cell kept, depths added."""

import csv
import io
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from analysis.depth import solve
from analysis.depth.kinds import Diver
from analysis.effort.on_board import calibrations_of
from analysis.errors import LogError
from analysis.log import read_log
from analysis.render.staging import WriteError
from analysis.report import depth_command
from analysis.report.depth_command import ADDED, write_depths

BOAT = """
boat = "Dunlin"
time_zone = "Europe/Oslo"
[units]
length = "ft"
depth = "ft"
speed = "mph"
temperature = "F"
fish_length = "in"
fish_weight = "lb"
[rods]
tip_height_m = { P1 = 2.4 }
counter_scale = { P2 = 1.04 }
[gear.diver]
kind = "diver"
[gear.rigger]
kind = "rigger"
"""


@pytest.fixture
def boat(tmp_path: Path) -> Path:
    path = tmp_path / "boat.toml"
    path.write_text(BOAT, encoding="utf-8")
    return path


def run(tmp_path: Path, boat: Path, text: str | bytes) -> list[dict[str, str]]:
    table = tmp_path / "table.csv"
    table.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    out = tmp_path / "out" / "depths.csv"
    out.parent.mkdir(exist_ok=True)
    write_depths(table, boat, out)
    return read_rows(out)


def read_rows(file: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(file.read_bytes().decode("utf-8-sig"), newline="")))


def test_depth_is_the_models_in_metres(tmp_path: Path, boat: Path) -> None:
    (row,) = run(tmp_path, boat, "gear,setting,line_out,speed\ndiver,1,100,2.5\n")
    expected = solve(Diver(), setting=1, line_out_m=30.48, speed_mps=2.5 * 0.44704)
    assert float(row["depth_m"]) == pytest.approx(expected.depth_m.item(), abs=1e-4)
    assert float(row["lateral_m"]) == pytest.approx(expected.lateral_m.item(), abs=1e-4)
    assert float(row["setback_m"]) == pytest.approx(expected.setback_m.item(), abs=1e-4)
    assert float(row["line_pull_n"]) == pytest.approx(expected.line_pull_n.item(), abs=1e-4)
    # Depth from defaults alone is uncertain by about 20 % (the physics this package rests on).
    assert 0.16 < float(row["depth_sd_m"]) / float(row["depth_m"]) < 0.24
    assert row["depth_note"] == ""


def test_every_row_and_cell_is_kept_as_it_was(tmp_path: Path, boat: Path) -> None:
    text = (
        "id,note,gear,setting,line_out,speed\r\n"
        '007,"one, two ""three""",diver,1.0,100,2.50\r\n'
        '1e3,"two\nlines",rigger,,060,2.5\r\n'
        "NA,, diver ,1, 100 ,2.5\r\n"
    )
    rows = run(tmp_path, boat, text)
    kept = [{name: row[name] for name in row if name not in ADDED} for row in rows]
    assert kept == list(csv.DictReader(io.StringIO(text, newline="")))
    assert all(row["depth_m"] for row in rows)
    assert (tmp_path / "out" / "depths.csv").read_bytes().count(b"\r\n") == 4


def test_no_cell_is_a_formula(tmp_path: Path, boat: Path) -> None:
    text = '=A1,gear,setting,line_out,speed\n"\r=1+1",=cmd,-1,100,2.5\n'
    (row,) = run(tmp_path, boat, text)
    assert row["'=A1"] == "'\r=1+1"
    assert (row["gear"], row["setting"]) == ("'=cmd", "-1")
    assert "no gear '=cmd'" in row["depth_note"]


@pytest.mark.parametrize(
    ("row", "note"),
    [
        ("divr,1,100,2.5", "boat.toml has no gear 'divr'; did you mean diver?"),
        ("kite,1,100,2.5", "boat.toml has no gear 'kite'; it has diver, rigger"),
        ("diver,4,100,2.5", "setting 4 is off the dial (0 to 3)"),
        ("diver,1,ten,2.5", "line_out 'ten' is not a number"),
        ("diver,1,,", "no line_out; no speed"),
        ('diver,1,"1,250",2.5', "line_out '1,250' is not a number"),
    ],
)
def test_row_without_an_answer_keeps_its_place_with_the_reason(
    tmp_path: Path, boat: Path, row: str, note: str
) -> None:
    text = f"gear,setting,line_out,speed\ndiver,1,100,2.5\n{row}\ndiver,2,100,2.5\n"
    rows = run(tmp_path, boat, text)
    assert [found["depth_note"] for found in rows] == ["", note, ""]
    assert all(rows[1][name] == "" for name in ADDED[:-1])


def test_decimal_comma_is_understood_where_it_can_mean_nothing_else(
    tmp_path: Path, boat: Path
) -> None:
    rows = run(tmp_path, boat, 'gear,setting,line_out,speed\ndiver,1,"99,5","2,5"\n')
    again = run(tmp_path, boat, "gear,setting,line_out,speed\ndiver,1,99.5,2.5\n")
    assert rows[0]["depth_m"] == again[0]["depth_m"] != ""


def test_tip_height_comes_from_the_table_then_the_rod_then_the_default(
    tmp_path: Path, boat: Path
) -> None:
    head = "gear,setting,line_out,speed,rod,tip_height_m\n"
    rows = run(
        tmp_path,
        boat,
        head + "diver,1,100,2.5,P1,\ndiver,1,100,2.5,P1,3.0\ndiver,1,100,2.5,S1,\n",
    )
    found = [float(row["depth_m"]) for row in rows]
    expected = [
        solve(Diver(), setting=1, line_out_m=30.48, speed_mps=1.1176, tip_height_m=height).depth_m
        for height in (2.4, 3.0, 1.5)
    ]
    np.testing.assert_allclose(found, expected, atol=1e-4)


def test_a_rods_counter_is_scaled_as_in_the_review(tmp_path: Path, boat: Path) -> None:
    head = "gear,setting,line_out,speed,rod\n"
    scaled, true = run(tmp_path, boat, head + "diver,1,100,2.5,P2\ndiver,1,104,2.5,S1\n")
    assert scaled["depth_m"] == true["depth_m"]


def test_byte_order_mark_and_blank_lines_do_no_harm(tmp_path: Path, boat: Path) -> None:
    text = "\ufeffgear,setting,line_out,speed\n\ndiver,1,100,2.5\n\n"
    (row,) = run(tmp_path, boat, text)
    assert float(row["depth_m"]) > 10


def test_parts_of_a_long_table_join_without_a_seam(
    tmp_path: Path, boat: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lines = [f"diver,{1 + n % 3},{50 + n},2.5" for n in range(25)]
    text = "gear,setting,line_out,speed\n" + "\n".join(lines) + "\n"
    whole = run(tmp_path, boat, text)
    monkeypatch.setattr(depth_command, "_ROWS_AT_ONCE", 10)
    parts = run(tmp_path, boat, text)
    assert len(parts) == len(whole) == 25
    for name in ("line_out", "depth_m", "lateral_m", "setback_m", "line_pull_n", "depth_note"):
        assert [row[name] for row in parts] == [row[name] for row in whole]
    # The sd is worked out once for rows alike: which rows come together shows in its third digit.
    sd = [[float(row["depth_sd_m"]) for row in rows] for rows in (parts, whole)]
    np.testing.assert_allclose(sd[0], sd[1], rtol=0.02)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("gear,setting,line_out\n", r"line 1: no column speed\. Remedy: the table needs"),
        ("gear;setting;line_out;speed\n", r"line 1: no column gear, setting.*separated by commas"),
        ("", r"line 1: no column gear"),
        ("gear,setting,line_out,speed,depth_m\n", r"has a column depth_m already.*rename"),
        ("gear,setting,line_out,speed,x,x\n", r"the column 'x' is there twice"),
        (b"gear,setting,line_out,speed\ndiver,1,100,2.5\xe6\n", r"not UTF-8 text.*save it again"),
    ],
)
def test_table_that_cannot_be_read_is_an_error_and_nothing_is_written(
    tmp_path: Path, boat: Path, text: str | bytes, problem: str
) -> None:
    with pytest.raises(LogError, match=problem):
        run(tmp_path, boat, text)
    assert list(tmp_path.glob("out/*")) == []


def test_absent_table_is_an_error(tmp_path: Path, boat: Path) -> None:
    with pytest.raises(LogError, match=r"none\.csv: this file cannot be read"):
        write_depths(tmp_path / "none.csv", boat, tmp_path / "out.csv")


def test_place_that_cannot_be_written_is_an_error(tmp_path: Path, boat: Path) -> None:
    table = tmp_path / "table.csv"
    table.write_text("gear,setting,line_out,speed\n")
    with pytest.raises(WriteError, match="cannot write into"):
        write_depths(table, boat, boat / "out.csv")


def test_a_row_that_does_not_fit_is_set_aside_with_its_line_and_counted(
    tmp_path: Path, boat: Path
) -> None:
    table, out = tmp_path / "table.csv", tmp_path / "depths.csv"
    head = "gear,setting,line_out,speed,note\n"
    rows = 'diver,1,100,2.5,"two\nlines"\n\ndiver,1,100\ndiver,2,100,2.5,x,y\ndiver,2,100,2.5,\n'
    table.write_text(head + rows, encoding="utf-8")
    done = write_depths(table, boat, out)
    assert (done.rows, done.unsolved, len(done.aside)) == (2, 0, 2)
    aside = read_rows(tmp_path / "depths.set_aside.csv")
    assert [(row["row"], row["reason"]) for row in aside] == [
        ("5", "3 cells under 5 headings"),
        ("6", "6 cells under 5 headings"),
    ]
    assert aside[1]["value"] == "diver,2,100,2.5,x,y"


def test_a_missing_output_folder_is_an_error(tmp_path: Path, boat: Path) -> None:
    table = tmp_path / "table.csv"
    table.write_text("gear,setting,line_out,speed\ndiver,1,100,2.5\n", encoding="utf-8")
    with pytest.raises(WriteError, match=r"there is no folder .*nowhere\. Remedy: make it"):
        write_depths(table, boat, tmp_path / "nowhere" / "depths.csv")
    assert not (tmp_path / "nowhere").exists()


def test_speed_over_ground_widens_the_interval(tmp_path: Path, boat: Path) -> None:
    head = "gear,setting,line_out,speed,speed_kind\n"
    rows = "rigger,,100,2.5,water\nrigger,,100,2.5,ground\nrigger,,100,2.5,\n"
    water, ground, unsaid = run(tmp_path, boat, head + rows)
    assert water["depth_m"] == ground["depth_m"]
    assert float(ground["depth_sd_m"]) > 1.1 * float(water["depth_sd_m"])
    assert unsaid["depth_sd_m"] == ground["depth_sd_m"]


def test_headings_words_and_units_of_the_boat_hold(tmp_path: Path, boat: Path) -> None:
    own = '[columns.sets]\nSchnur = "line_out"\n[columns.readings]\nFahrt = "speed"\n'
    own += '[values.gear]\nS = "diver"\n[units.sets]\nline_out = "m"\n'
    boat.write_text(BOAT + own, encoding="utf-8")
    (row,) = run(tmp_path, boat, "gear,Setting,Schnur,Fahrt\ns,1,30.48,2.5 mph\n")
    assert row["Schnur"] == "30.48"
    expected = solve(Diver(), setting=1, line_out_m=30.48, speed_mps=2.5 * 0.44704)
    assert float(row["depth_m"]) == pytest.approx(expected.depth_m.item(), abs=1e-4)


def test_a_lure_that_dives_and_its_lead_are_seen(tmp_path: Path, boat: Path) -> None:
    boat.write_text(BOAT + '[lures]\n"Green Plug" = { diving = "deep" }\n', encoding="utf-8")
    head = "gear,setting,line_out,speed,lead,lure\n"
    rows = "rigger,,50,2.5,30,spoon\nrigger,,50,2.5,30,green plug\nrigger,,50,2.5,60,Green Plug\n"
    plain, short, long = (float(row["depth_m"]) for row in run(tmp_path, boat, head + rows))
    assert plain + 0.5 < short < long - 0.3


def test_a_season_s_soaks_give_the_depths_of_its_review(
    tmp_path: Path, season_files: ModuleType
) -> None:
    """One answer for one boat: without the soaks the same divers run 1.2 times as deep."""
    model = solve(Diver(), setting=[0, 1, 2, 3], line_out_m=30.48, speed_mps=1.1176)
    logged = 0.8 * model.depth_m / 0.3048
    soaks = [f"diver,{n},100,2.5,{depth:.1f}" for n, depth in enumerate(logged) for _ in range(2)]
    text = "gear,setting,line_out,speed,depth\n" + "\n".join(soaks) + "\n"
    log = season_files.write(tmp_path / "dunlin", soaks=text)
    table, out = tmp_path / "table.csv", tmp_path / "depths.csv"
    table.write_text(
        "gear,setting,line_out,speed\ndiver,1,100,2.5\nrigger,,50,2.5\n", encoding="utf-8"
    )
    done = write_depths(table, None, out, log)
    assert done.calibrated == ("diver (8 trials)",)
    diver, rigger = read_rows(out)
    season = read_log(log)
    belief = calibrations_of(season)["diver"].belief
    same = belief.predict(setting=1, line_out_m=30.48, speed_mps=2.5 * 0.44704, tip_height_m=2.0)
    assert float(diver["depth_m"]) == pytest.approx(same.depth_m.item(), abs=1e-5)
    assert float(diver["depth_m"]) < 0.9 * model.depth_m[1]
    assert float(rigger["depth_m"]) > 10
