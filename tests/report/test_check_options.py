"""Owns the tests of what `check` can be asked: strictness, JSON, corrections."""

import json
import shutil
from datetime import date

import pytest
from crafted_logs import sound, written

from analysis.cli import main
from analysis.show.season.log_words import MOST_FINDINGS


@pytest.fixture
def log(tmp_path, season_files):
    """Write the sound crafted season, changed by a function."""

    def write(change=lambda rows: None):
        rows = sound()
        change(rows)
        folder = tmp_path / "log"
        return season_files.write(folder, casts=None, soaks=None, **written(rows))

    return write


def a_doubt(rows):
    rows["sets"][40]["line_out"] = "1040"


def a_repeated_row(rows):
    rows["strikes"].append(rows["strikes"][0])


def many(rows):
    for n in range(14):
        rows["strikes"][n]["time"] = f"{'x' * (n + 1)}"
        rows["sets"][3 * n]["leader_length"] = "6" * (n + 4)


@pytest.mark.parametrize(
    ("change", "strict"), [(lambda rows: None, 0), (a_repeated_row, 0), (a_doubt, 1)]
)
def test_strict_takes_any_finding_but_a_cosmetic_one(log, change, strict, capsys):
    folder = str(log(change))
    assert main(["check", folder]) == 0
    assert main(["check", folder, "--strict"]) == strict
    assert "Findings" in capsys.readouterr().out


def test_json_lists_every_finding_and_is_json(log, capsys):
    folder = str(log(many))
    assert main(["check", folder, "--json"]) == 1  # 14 of 96 strikes, all of the first trips
    told = capsys.readouterr().out
    (one,) = json.loads(told, parse_constant=lambda name: pytest.fail(f"{name} is no JSON"))
    assert one["can_be_analysed"] is False
    assert sum(found["count"] for found in one["findings"] if found["table"] == "strikes") == 14
    assert {"severity", "doubted", "lines", "remedy", "rod_hours", "strikes"} <= set(
        one["findings"][0]
    )


def test_check_prints_those_that_matter_most(log, capsys):
    def unknown_gears(rows):
        for n in range(MOST_FINDINGS + 3):
            rows["sets"][4 * n + 1]["gear"] = 3 * "abcdefghijklm"[n]

    main(["check", str(log(unknown_gears))])
    text = capsys.readouterr().out
    assert text.count("\n- Stops: sets, gear") == MOST_FINDINGS
    assert "- and 3 findings more, of less weight" in text


def test_a_doubt_is_told_with_what_rests_on_it(log, capsys):
    main(["check", str(log(a_doubt))])
    text = " ".join(capsys.readouterr().out.split())
    assert "In doubt: sets, line_out '1040', line 42" in text
    # that set is S1's of the fourth trip, 06:00 to 07:05, ended by a strike
    assert "Rests on it: 1.1 rod-hours and 1 strike." in text


def test_corrections_are_proposed_for_one_log_and_never_over_a_file(log, tmp_path, capsys):
    folder, file = str(log(a_doubt)), tmp_path / "proposed.csv"
    assert main(["check", folder, "--fixes", str(file)]) == 0
    assert ": 1 cell. Write into becomes" in capsys.readouterr().err
    assert "sets,42,line_out,1040,," in file.read_text(encoding="utf-8-sig")
    assert main(["check", folder, "--fixes", str(file)]) == 1
    assert "this file is there already" in capsys.readouterr().err
    assert main(["check", "--fixes", str(tmp_path / "other.csv")]) == 2


def test_a_log_with_nothing_to_correct_is_told_so(log, tmp_path, capsys):
    file = tmp_path / "proposed.csv"
    assert main(["check", str(log()), "--fixes", str(file)]) == 0
    said = capsys.readouterr().err
    assert "No cell" in said
    assert "becomes" not in said
    assert len(file.read_text(encoding="utf-8-sig").splitlines()) == 1


def test_check_of_several_logs_refuses_what_a_review_would(log, tmp_path, capsys):
    folder = log()
    copy = shutil.copytree(folder, tmp_path / "copy")
    assert main(["check", str(folder), str(copy)]) == 1
    assert "holds the same trips and strikes" in capsys.readouterr().err


def test_two_boats_of_one_name_are_doubted(tmp_path, season_files, capsys):
    folders = []
    for name, first in (("one", date(2026, 5, 1)), ("other", date(2026, 8, 1))):
        rows = sound(first, trips=3)
        if name == "other":
            for row in rows["sets"] + rows["strikes"]:
                row["rod"] = {"P1": "A", "S1": "B", "C1": "C"}[row["rod"]]
        folder = season_files.write(tmp_path / name, casts=None, soaks=None, **written(rows))
        folders.append(str(folder))
    assert main(["check", *folders]) == 0
    assert "are both of Dunlin, and their gears or rods differ" in capsys.readouterr().err
    assert main(["check", folders[0]]) == 0
    assert "Dunlin" not in capsys.readouterr().err


def test_soaks_of_an_earlier_season_in_the_same_command_count(tmp_path, season_files, capsys):
    def last_year(table):
        return season_files.TABLES[table].replace("2026", "2025")

    early = season_files.write(
        tmp_path / "dunlin-2025",
        **{name: last_year(name) for name in ("trips", "sets", "strikes", "readings", "soaks")},
    )
    now = season_files.write(tmp_path / "dunlin-2026", soaks=None)
    lacks = "no soaks: no gear of this boat was measured"
    main(["check", str(now)])
    assert lacks in capsys.readouterr().out
    main(["check", str(early), str(now)])
    told = capsys.readouterr().out.split(str(now))[1]
    assert lacks not in told
    assert "- diver, 2 trials used" in told


def test_it_says_how_whole_tables_and_columns_were_read(tmp_path, season_files, capsys):
    marked = season_files.TABLES["trips"].replace(",", ";")
    renamed = season_files.TABLES["sets"].replace("line_out", "Line-out (m)")
    folder = season_files.write(tmp_path / "log", trips=marked, sets=renamed)
    main(["check", str(folder)])
    told = capsys.readouterr().out.split("How it was read:\n")[1].split("\n\n")[0]
    assert "- trips.csv: its columns are separated by semicolons" in told
    assert "- sets.line_out: read in m, for its heading says so" in told
    main(["check", "--json", str(folder)])
    (one,) = json.loads(capsys.readouterr().out)
    assert any("semicolons" in note for note in one["notes"])
