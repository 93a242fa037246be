"""Owns the tests of the front page: its commands are exact, its example is true."""

import re
import shlex
import subprocess
import tomllib
from datetime import UTC, datetime
from pathlib import Path

import pytest
from made_instruments import logger_csv, trace

from analysis.cli import build_parser
from analysis.effort import count_effort
from analysis.log import read_log
from analysis.result_schema import glossary
from analysis.show.season.words import CAUTIONS

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
COMMANDS = re.findall(r"^here=.*$", README, flags=re.MULTILINE)


def blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", README, flags=re.MULTILINE | re.DOTALL)


def test_there_are_two_commands_of_one_line_each() -> None:
    review, tests = COMMANDS
    assert review.endswith('"$here/.venv/bin/rodhours" review')
    assert tests.endswith('-c "$here/pyproject.toml" "$here/tests" "$here/analysis"')
    assert "$here/.venv/bin/pytest" in shlex.split(tests)
    for command in COMMANDS:
        words = shlex.split(command.replace("&&", " "))
        assert words[0] == "here=."
        assert "$here/.ci/constraints.txt" in words
        assert (ROOT / ".ci" / "constraints.txt").is_file()


def test_ci_runs_exactly_the_test_command() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    line = next(line for line in script.splitlines() if line.startswith("command="))
    found = subprocess.run(
        ["bash", "-c", f'{line}\nprintf %s "$command"'],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    assert found == COMMANDS[1]


def test_constraints_hold_names_and_versions_only() -> None:
    lines = (ROOT / ".ci" / "constraints.txt").read_text(encoding="utf-8").splitlines()
    pattern = re.compile(r"[a-z0-9-]+==[0-9][0-9a-z.+]*( ; [a-z_]+ [<>=!]+ '[^'/]+')?")
    assert [line for line in lines if not pattern.fullmatch(line)] == []
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = project["dependencies"] + project["optional-dependencies"]["test"]
    pinned = {line.split("==")[0] for line in lines}
    assert {re.split(r"[<>=]", text)[0] for text in wanted} <= pinned


def test_python_versions_stated_are_those_required() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["requires-python"] == ">=3.11,<3.14"
    assert "Python 3.11, 3.12 or 3.13" in README


@pytest.mark.parametrize("text", re.findall(r"\.venv/bin/rodhours ([^\n\"]+)", README))
def test_every_command_shown_can_be_parsed(text: str) -> None:
    build_parser().parse_args(shlex.split(text, comments=True))


@pytest.mark.parametrize(
    "path", sorted(set(re.findall(r"`((?:data|notebooks|\.ci)/[^`]+)`", README)))
)
def test_every_file_named_is_there(path: str) -> None:
    assert (ROOT / path).exists()


def test_pictures_are_there_small_and_described() -> None:
    pictures = re.findall(r"!\[([^\]]*)\]\(([^)]+)\)", README)
    assert len(pictures) == 2  # a result, and the workbook
    for alt, path in pictures:
        assert len(alt) > 20
        assert (ROOT / path).stat().st_size <= 120_000


def test_example_is_read_without_a_complaint_and_counts_what_it_says(tmp_path: Path) -> None:
    boat, *_ = blocks("toml")
    trips, sets, strikes, loggers = blocks("csv")
    for name, text in (
        ("boat.toml", boat),
        ("trips.csv", trips),
        ("sets.csv", sets),
        ("strikes.csv", strikes),
        ("loggers.csv", loggers),
    ):
        (tmp_path / name).write_text(text, encoding="utf-8")
    # what the example's logger may have recorded, in feet, from five o'clock on
    minute, depth = trace(0.0, 280.0, [(15.0, 100.0, 45.0), (115.0, 260.0, 46.0)])
    (tmp_path / "loggers").mkdir()
    made = logger_csv(datetime(2026, 7, 4, 5, tzinfo=UTC), minute, depth)
    (tmp_path / "loggers" / "td-0704.csv").write_text(made, encoding="utf-8")
    assert sum(text.count("\n") - 1 for text in (trips, sets, strikes)) == 5
    log = read_log(tmp_path)
    effort = count_effort(log)
    assert log.set_aside.empty
    assert effort.set_aside.empty
    found = re.search(r"These are ([\d.]+) rod-hours and one strike", README)
    assert found is not None
    assert effort.slices["hours"].sum() == pytest.approx(float(found[1]), abs=0.05)
    assert effort.slices["strikes"].sum() == 1


def test_cautions_are_those_of_the_reports() -> None:
    shown = README.split("<!-- begin cautions -->")[1].split("<!-- end cautions -->")[0]
    assert [" ".join(text.split()) for text in shown.split("- ")[1:]] == list(CAUTIONS)


def test_glossary_is_that_of_the_schemas() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    shown = guide.split("<!-- begin glossary -->\n")[1].split("<!-- end glossary -->")[0]
    assert shown == glossary()


def test_every_room_named_in_the_guide_is_there() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = re.findall(r"`((?:analysis|tests|notebooks|data)/[a-z_/]*(?:\.py)?)`", guide)
    assert len(named) > 8
    assert [path for path in named if not (ROOT / path).exists()] == []
