"""Thousands of logs spoiled at random: each is read with every row accounted for, or refused by us.

    python tests/benchmarks/fuzz_logs.py --logs 10000 --seed 1
    python tests/benchmarks/fuzz_logs.py --logs 500 --proposals

A spoiled log is the small season of tests/season_files.py, the crafted one of
tests/crafted_logs.py, or a grid with one column a rod, with one to eight faults: cells, rows,
columns, separators, encodings, bytes, lines of boat.toml. For each: no exception but ours, rows
read = kept + set aside, no line both kept and set aside, every reason with words and without a
value of Python's, and the same answer of the effort that counts. Prints how many were read and
refused, and each failure with its seed, by which it can be made again. With `--proposals` it
spoils the logs of tests/log/suggest/logs instead, which have no boat.toml: what is proposed must be
TOML, also with its questions answered, and the log must then be read or refused as above.
"""

import argparse
import random
import sys
import tempfile
import time
import tomllib
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "log" / "suggest"))

import crafted_logs
import kept_logs
import numpy as np
import season_files

from analysis.effort import count_effort
from analysis.effort.found import look
from analysis.errors import RodhoursError
from analysis.log import read_log
from analysis.log.suggest.proposal import suggest

JUNK = (
    *("", "-1", "12,5", "1,250", "25:00", "2026-03-29 02:30", "T1", "divr", "1e9", "nan", "inf"),
    *("None", "=1+1", "'", '"', "\t", "\u00a0", "8ft", "120 m", "5:20 AM", "0520", "05.20"),
    *("4/7/2026", "13/7/2026", "45000", "Stbd", "P 1", "all", "\ud7ff", "0" * 400, "²", "١٢"),
    *("2026-07-04 08:00", "9999-12-31", "1969-12-31 23:59", "24:00", "-0", "1e-300", "1_000"),
)
PYTHON = ("nan", "NaT", "None", "Timestamp(", "dtype", "Traceback", "<class", "numpy")


GRID = """trip,time,P1,P2,Port rigger,S1,note
T1,06:00,120,150,60,120/1 blue spoon,all down
,07:05,,x,,,
,08:20,140 ft,-,,kept,
,10:30,up,,70,,
,11:00,in,155,,,
T2,20:00,130,160,60,130,
,21:00,,,,,a turn
,22:15,x,,,140,
"""
OF_GRID = """
[reading]
as_above = ["changes.trip"]
[wide.changes]
rods = ["P1", "P2", "Port rigger", "S1"]
cell = '(?P<line_out>[0-9.]+( ?ft)?)(/(?P<setting>[0-9.]+))?( (?P<lure>.+))?'
marks = { x = "strike", kept = "landed", up = "out", in = "in", "-" = "nothing" }
[wide.changes.towed]
P1 = { gear = "diver", setting = 2, side = "port" }
P2 = { gear = "diver", setting = 3 }
"Port rigger" = { gear = "rigger" }
S1 = { gear = "diver", setting = 2.5 }
"""


def spoil_cell(tables: dict[str, str], rng: random.Random) -> None:
    name = rng.choice(sorted(tables))
    lines = tables[name].splitlines()
    # a heading spoiled is a log refused: seldom, or little else would be looked at
    at = rng.randrange(len(lines)) if rng.random() < 0.05 else rng.randrange(1, len(lines) + 1)
    at = min(at, len(lines) - 1)
    cells = lines[at].split(",")
    cells[rng.randrange(len(cells))] = rng.choice(JUNK)
    lines[at] = ",".join(cells)
    tables[name] = "\n".join(lines) + "\n"


def spoil_rows(tables: dict[str, str], rng: random.Random) -> None:
    name = rng.choice(sorted(tables))
    header, *lines = tables[name].splitlines()
    how = rng.randrange(4)
    if how == 0:
        rng.shuffle(lines)
    elif how == 1 and lines:
        lines += rng.choices(lines, k=rng.randrange(1, 4))
    elif how == 2 and lines:
        del lines[rng.randrange(len(lines)) :]
    else:
        lines.insert(rng.randrange(len(lines) + 1), rng.choice(('"', ",,,", "x", "\x0c")))
    tables[name] = "\n".join([header, *lines]) + "\n"


def spoil_column(tables: dict[str, str], rng: random.Random) -> None:
    name = rng.choice(sorted(tables))
    rows = [line.split(",") for line in tables[name].splitlines()]
    if not rows or len(rows[0]) < 2:
        return
    at = rng.randrange(len(rows[0]))
    how = rng.randrange(3)
    for row in rows:
        if at < len(row) and how == 0:
            del row[at]
        elif at < len(row) and how == 1:
            row.append(row[at])
        elif at < len(row):
            row[at] = rng.choice(JUNK)
    tables[name] = "\n".join(",".join(row) for row in rows) + "\n"


def spoil_marks(tables: dict[str, str], rng: random.Random) -> None:
    name = rng.choice(sorted(tables))
    tables[name] = tables[name].replace(",", rng.choice((";", "\t", "|", "; ")))


TEXTS = [file for file in kept_logs.LOGS if kept_logs.KeptLog.of(file).told["form"] == "csv"]
SPOILERS = (*(spoil_cell,) * 9, *(spoil_rows,) * 3, spoil_column)


def spoiled(seed: int, folder: Path) -> None:
    """Write the spoiled log of a seed."""
    rng = random.Random(seed)
    boat = season_files.BOAT
    base = rng.random()
    if base < 0.4:
        tables = dict(season_files.TABLES)
    elif base < 0.8:
        tables = crafted_logs.written(crafted_logs.sound(trips=2))
    else:
        tables = {"trips": season_files.TRIPS, "changes": GRID}
        boat += OF_GRID
    if rng.random() < 0.1:
        spoil_marks(tables, rng)
    for _ in range(rng.randrange(1, 9)):
        rng.choice(SPOILERS)(tables, rng)
    if rng.random() < 0.1:
        lines = boat.splitlines()
        lines[rng.randrange(len(lines))] = rng.choice(("", "x = 1", "[", 'length = "yd"', "[gear]"))
        boat = "\n".join(lines)
    folder.mkdir()
    (folder / "boat.toml").write_text(boat, encoding="utf-8")
    for name, text in tables.items():
        encoding = rng.choices(("utf-8", "latin-1", "utf-16", "cp1252"), (40, 1, 1, 1))[0]
        content = text.encode(encoding, errors="replace")
        if rng.random() < 0.02:
            at = rng.randrange(len(content) + 1)
            content = content[:at] + rng.randbytes(3) + content[at:]
        (folder / f"{name}.csv").write_bytes(content)
    if rng.random() < 0.1:
        fixes = "table,row,column,was,becomes\nsets,2,line_out,80,90\nsets,x,y,z,(empty)\n"
        (folder / "fixes.csv").write_text(fixes, encoding="utf-8")


def faults_of(folder: Path) -> str:
    """Read a spoiled log; return how it went, or raise AssertionError."""
    try:
        log = read_log(folder)
    except RodhoursError as error:
        message = str(error)
        assert "Remedy: " in message, message
        return "refused"
    counted = log.rows.set_index("table")
    assert (counted["read"] == counted["kept"] + counted["set_aside"]).all(), "rows were lost"
    for name in season_files.TABLES:
        frame = getattr(log, name)
        if frame is not None and name not in log.boat.wording.wide:  # where a row is a cell
            aside = log.set_aside.loc[log.set_aside["table"] == name, "row"]
            assert not set(frame["line"]) & set(aside), f"{name}: kept and set aside"
    effort = count_effort(log)
    assert np.isclose(effort.slices["hours"].sum(), effort.sets["hours"].sum()), "hours were lost"
    for finding in look(log, effort).findings:
        assert finding.reason, finding
        words = f"{finding.reason} {finding.remedy}".replace(repr(finding.value), "")
        assert not any(word in words.split() for word in PYTHON), words
    return "read"


def faults_of_proposal(seed: int, folder: Path) -> str:
    """Propose for a kept log spoiled by a seed, and read it so; return how it went."""
    rng = random.Random(seed)
    kept = kept_logs.KeptLog.of(rng.choice(TEXTS))
    kept.write(folder)
    tables = {
        file.stem: file.read_text(kept.told["encoding"]).replace(kept.told["delimiter"], ",")
        for file in folder.iterdir()
    }
    for _ in range(rng.randrange(1, 9)):
        rng.choice(SPOILERS)(tables, rng)
    for name, text in tables.items():
        (folder / f"{name}.csv").write_bytes(text.encode("utf-8", errors="replace"))
    try:
        proposal = suggest(folder)
    except RodhoursError:
        return "refused"
    tomllib.loads(proposal.text())
    answers = kept_logs.answered(proposal, kept)
    tomllib.loads(answers)
    (folder / "boat.toml").write_text(answers, encoding="utf-8")
    return f"proposed, {faults_of(folder)}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--logs", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--proposals", action="store_true")
    told = parser.parse_args()
    began, went = time.perf_counter(), Counter[str]()
    for seed in range(told.seed, told.seed + told.logs):
        with tempfile.TemporaryDirectory() as parent:
            folder = Path(parent) / "log"
            try:
                if told.proposals:
                    went[faults_of_proposal(seed, folder)] += 1
                else:
                    spoiled(seed, folder)
                    went[faults_of(folder)] += 1
            except Exception as error:  # noqa: BLE001  # whatever it is, it is what is looked for
                went["FAILED"] += 1
                print(f"seed {seed}: {type(error).__name__}: {error}")
    seconds = time.perf_counter() - began
    print(f"{told.logs} logs in {seconds:.0f} s: {dict(went)}")


if __name__ == "__main__":
    main()
