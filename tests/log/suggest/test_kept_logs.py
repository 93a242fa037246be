"""Owns the tests of proposals on logs typed out as different people keep theirs."""

import importlib.util
import re
import sys
from pathlib import Path

import pytest

from analysis.log.read import read_log
from analysis.log.suggest.proposal import suggest

_spec = importlib.util.spec_from_file_location(
    "kept_logs", Path(__file__).with_name("kept_logs.py")
)
kept_logs = importlib.util.module_from_spec(_spec)
sys.modules["kept_logs"] = kept_logs
_spec.loader.exec_module(kept_logs)


@pytest.fixture(scope="module")
def logs(tmp_path_factory):
    """Every log with its folder and what is proposed for it."""
    found = {}
    for file in kept_logs.LOGS:
        kept = kept_logs.KeptLog.of(file)
        folder = tmp_path_factory.mktemp("kept") / kept.name
        kept.write(folder)
        found[kept.name] = (kept, folder, suggest(folder))
    return found


def test_nine_columns_in_ten_are_found(logs):
    assert len(logs) >= 20
    found = {
        name: (kept_logs.found_in(proposal) & kept.truth, kept.truth)
        for name, (kept, _, proposal) in logs.items()
    }
    right, real = (sum(len(pair[i]) for pair in found.values()) for i in (0, 1))
    assert right / real >= 0.9, {name: real - right for name, (right, real) in found.items()}


def test_no_column_is_taken_for_another(logs):
    for name, (kept, _, proposal) in logs.items():
        told = {(sheet, heading) for sheet, heading, _ in kept.truth}
        wrong = kept_logs.found_in(proposal) - kept.truth
        assert not {one for one in wrong if one[:2] in told}, name


def test_no_unit_is_wrong(logs):
    for name, (kept, _, proposal) in logs.items():
        proposed, true = kept_logs.units_in(proposal), kept.told["units"]
        assert {q: u for q, u in proposed.items() if true.get(q, u) != u} == {}, name


def test_columns_of_rods_are_found_and_all_else_is_none(logs):
    for name, (kept, _, proposal) in logs.items():
        grids = {
            grid.name.removesuffix(".csv").casefold(): list(grid.rods)
            for one in proposal.matches
            if (grid := one.source.grid) is not None
        }
        assert grids == {sheet.casefold(): rods for sheet, rods in kept.rods.items()}, name


def test_lines_of_rods_have_a_reason_and_cells_that_show_it(logs):
    lines = [
        line
        for _, _, proposal in logs.values()
        for line in proposal.lines
        if line.table.startswith("wide") or line.key == "as_above"
    ]
    assert len(lines) >= 10
    for line in lines:
        assert line.reason, line
        assert 1 <= len(line.rows) <= 3, line


def test_a_key_is_proposed_once(tmp_path):
    """An open quotation mark makes two kinds of rows of this one, each with the same rods."""
    text = """Trip,Date,Start,Finish,Spot,P1,P2,S1,P 1,Date
1,2026-06-14,05:40,11:30,north arm,2,0,1,None,2026-06-14
",2026-06-15,05:30,11:45,north arm,0,1,0,2026-03-29 02:30,2026-06-15
3,None,13:10,18:20,the shelf,2,1,0,all,2026-06-21
"
"""
    (tmp_path / "season.csv").write_text(text)
    keys = [(line.table, line.key) for line in suggest(tmp_path).lines]
    assert ("wide.strikes", "rods") in keys
    assert len(set(keys)) == len(keys)


def test_what_a_mark_and_a_second_number_say_is_asked(logs):
    def asked(name, key):
        lines = logs[name][2].lines
        return [line.question for line in lines if line.key == key and "wide" in line.table]

    assert asked("09-rods-by-the-half-hour", '"x"') == [True]
    assert asked("10-rods-by-trip", "cell") == [True]
    assert asked("14-counts-a-rod", "rods") == [True]
    assert asked("09-rods-by-the-half-hour", "rods") == [False]


@pytest.mark.parametrize("name", [file.stem for file in kept_logs.LOGS])
def test_with_its_questions_answered_a_proposal_reads_the_log(logs, name):
    kept, folder, proposal = logs[name]
    (folder / "boat.toml").write_text(kept_logs.answered(proposal, kept), encoding="utf-8")
    rows = read_log(folder).rows.set_index("table")
    assert (rows["read"] == rows["kept"] + rows["set_aside"]).all()
    true = kept.told.get("read", {})
    assert {table: rows.loc[table, ["read", "kept"]].tolist() for table in true} == true


def test_a_grid_among_rows_of_other_kinds_is_proposed_as_it_is_read(tmp_path):
    """Its word speaks of sets, but with a column a rod its rows are changes."""
    rows = ["What,trip,date,start,end,time,P1,P2,S1,rod,species"]
    for n in range(1, 5):
        rows.append(f"Outing,T{n},2026-06-{13 + n},05:40,11:30,,,,,,")
        rows.append(f"Rods,T{n},,,,05:40,120,150,130,,")
        rows.append(f"Rods,T{n},,,,07:00,140,,1{n}0,,")
        rows.append(f"Fish,T{n},,,,06:1{n},,,,P1,lake trout")
    (tmp_path / "season.csv").write_text("\n".join(rows) + "\n")
    text = suggest(tmp_path).text()
    assert '"Rods" = "changes"' in text
    (tmp_path / "boat.toml").write_text(re.sub(r"(?m)^# (?=\S+ = )", "", text))
    read = read_log(tmp_path).rows.set_index("table")
    true = {"trips": [4, 4], "changes": [20, 20], "strikes": [4, 4]}
    assert {table: read.loc[table, ["read", "kept"]].tolist() for table in true} == true
