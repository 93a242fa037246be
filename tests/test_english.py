"""English in one room: what was worked out is handed on as numbers, and said in `show`.

A string with two words or more of plain letters is taken for English. The rooms that read a log,
tow a line and fit a model may say why something cannot be used, for that is a part of what they
hand on (reasons, remedies, gaps, checks); the rooms of answers hold numbers, so there every such
string must be one of those listed here, each with its reason.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import analysis

ROOT = Path(analysis.__file__).parent
ROOMS = ("decision", "spread", "review", "weekly")
ANSWERS = sorted(
    [*(path for room in ROOMS for path in (ROOT / room).rglob("*.py")), ROOT / "season.py"]
)
WORDS = re.compile(r"[A-Za-z][a-z]+[,;:]? +(?:[a-z]+|[A-Z][a-z]+)")

NAMES = {
    "all strikes per rod-hour": "a value of the column what",
    "rate of the band": "a value of the column what",
    "rate of the band against the mean of the bands": "a value of the column what",
    "best band": "a value of the column purpose",
    "false release": "a value of the log's column ended_by",
    "rods usually down": "a value of the column hours_from",
    "days and hours": "a value of the column term",
    "temperature alone": "the name of a model",
    "depth alone": "the name of a model",
    "depth drifting with the season": "the name of a model",
    "too few boats": "a value of a week's status",
    "no trips": "a value of a week's status",
    "no log": "a value of a week's status",
    "no sets": "a value of what a week does not know",
    "set aside": "a value of what a week does not know",
    "about half": "a value of a share told roughly",
    "gear and setting": "a value of the column term",
    "leader length": "a value of the column term",
    "length of the fish": "a value of the column term",
    "landed of hooked": "the name of a model",
    "hooked of strikes": "the name of a model",
    "log odds = constant": "the formula of a model",
    "log odds = constant + ": "the beginning of a model's formula",
    " and more": "a part of a class, a value of the column level",
}
"""Strings of two words or more that are values which programs compare, with what they are."""


def _is_passed(node: ast.AST) -> bool:
    """Whether a node raises, or makes the message of, an error, or names a type."""
    if isinstance(node, ast.Raise):
        return True
    if isinstance(node, ast.Call):
        return isinstance(node.func, ast.Name) and node.func.id == "cast"
    if isinstance(node, ast.Assign):
        return any(isinstance(target, ast.Name) and target.id == "msg" for target in node.targets)
    if isinstance(node, ast.AugAssign):
        return isinstance(node.target, ast.Name) and node.target.id == "msg"
    return False


def english(source: str) -> Iterator[str]:
    """Find the strings of a module that are English and no docstring, error or annotation."""
    tree = ast.parse(source)
    passed: set[int] = set()
    for node in ast.walk(tree):
        if _is_passed(node) or (
            isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
        ):
            passed.update(id(part) for part in ast.walk(node))
    for node in ast.walk(tree):
        text = node.value if isinstance(node, ast.Constant) and id(node) not in passed else None
        if isinstance(text, str) and WORDS.search(text):
            yield text


@pytest.mark.parametrize("path", ANSWERS, ids=lambda path: str(path.relative_to(ROOT)))
def test_answers_are_handed_on_as_numbers(path: Path) -> None:
    found = [text for text in english(path.read_text(encoding="utf-8")) if text not in NAMES]
    assert found == []


def test_every_name_is_one_that_is_used() -> None:
    used = {text for path in ANSWERS for text in english(path.read_text(encoding="utf-8"))}
    assert set(NAMES) <= used


def test_a_sentence_is_found_wherever_it_is_written() -> None:
    source = (
        '"""A docstring is none."""\n'
        "def tell(band, rate):\n"
        '    """Nor is this."""\n'
        "    if rate < 0:\n"
        '        msg = f"a rate cannot be {rate}"\n'
        "        raise ValueError(msg)\n"
        '    key = rate["rod_hours"]\n'
        '    return f"Over the season {band} produced best: {key}."\n'
    )
    assert list(english(source)) == ["Over the season ", " produced best: "]
