"""Owns `rodhours check`: whether a log is good enough, and what would put it right."""

import argparse
import sys
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from analysis.commands.common import CANNOT, GOOD, LOGS
from analysis.errors import RodhoursError, UsageError
from analysis.places import demo_logs

if TYPE_CHECKING:
    from analysis.log import SeasonLog
    from analysis.report.check import Checked

_SOON_SENT_BYTES = 10_000_000


def add_to(add: Callable[..., argparse.ArgumentParser]) -> None:
    """Add the command and its arguments."""
    text = "read and vet logs; print what was set aside and what each gap costs"
    check = add("check", help=text, description=f"{text.capitalize()}.")
    check.add_argument("logs", nargs="*", metavar="LOG", type=Path, help=LOGS)
    check.add_argument(
        "--suggest",
        action="store_true",
        help="print a boat.toml for a log of other headings, words and units, each line with its "
        "reason and rows that show it; nothing is written or applied",
    )
    check.add_argument(
        "--accept-loss",
        action="store_true",
        help="exit with 0 although much of the log, or one part of it more than others, was lost",
    )
    check.add_argument(
        "--strict", action="store_true", help="exit with 1 for any finding that is not cosmetic"
    )
    check.add_argument(
        "--fixes",
        metavar="FILE",
        type=Path,
        help="write proposed corrections of one log into a new FILE: edit it, keep what is right "
        "as fixes.csv beside the log; delete it to undo them",
    )
    check.add_argument("--json", action="store_true", help="print every finding as JSON")
    check.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Do what was asked, and return the exit code."""
    if arguments.suggest:
        return _suggest(arguments.logs)
    if arguments.fixes and len(arguments.logs) != 1:
        msg = "--fixes needs one log: the corrections are of its rows"
        raise UsageError(msg)
    found = _read(arguments.logs or demo_logs())
    from analysis.log.twice import namesakes, refuse_twice
    from analysis.report.check import as_json, examine_log

    for why_not in (one for one in found if isinstance(one, str)):
        print(why_not, file=sys.stderr)
    logs = [log for log in found if not isinstance(log, str)]
    good = len(logs) == len(found)
    refused = ""
    try:
        refuse_twice(logs)
    except RodhoursError as error:
        refused = f"rodhours: {error}"
    read = []
    for log in logs:
        try:
            # soaks of a season given twice would count twice
            checked = examine_log(log, () if refused else logs)
        except RodhoursError as error:
            print(f"rodhours: {error}", file=sys.stderr)
            good = False
            continue
        good &= checked.passes(accept_loss=arguments.accept_loss, strict=arguments.strict)
        read.append(checked)
        if not arguments.json:
            print(checked.text)
        if arguments.fixes:
            _propose(checked, arguments.fixes)
    if arguments.json:
        print(as_json(read))
    for doubt in namesakes(logs):
        print(f"rodhours: {doubt}", file=sys.stderr)
    if refused:
        print(refused, file=sys.stderr)
    return GOOD if good and not refused else CANNOT


def _read(folders: Sequence[Path]) -> "list[SeasonLog | str]":
    """Read logs, or say what is wrong with one: it must not keep a club's others from a check."""
    from analysis.log import read_log
    from analysis.stats.beside import beside

    def read(folder: Path) -> "SeasonLog | str":
        try:
            return read_log(folder)
        except RodhoursError as error:
            return f"rodhours: {error}"

    first, *others = folders
    with beside(lambda: read(first), worth=_is_soon_sent(first)) as reading:
        import_module("analysis.report.check")  # takes as long as a season takes to read
        return [reading.result(), *map(read, others)]


def _is_soon_sent(folder: Path) -> bool:
    """Whether the log of a folder is small enough to be sent from one process to another."""
    return sum(file.lstat().st_size for file in folder.glob("*")) < _SOON_SENT_BYTES


def _propose(checked: "Checked", file: Path) -> None:
    """Write corrections for the owner to edit, and say how to go on."""
    from analysis import labels
    from analysis.report.check import propose_fixes

    count = propose_fixes(checked, file)
    said = f"No cell of {checked.log.folder} is known to be wrong: {file} has no rows."
    if count:
        said = (
            f"To correct, in {file}: {labels.count(count, 'cell')}. Write into becomes what each "
            "should say, delete the other rows, and keep it as "
            f"{checked.log.folder / 'fixes.csv'}."
        )
    print(said, file=sys.stderr)


def _suggest(folders: Sequence[Path]) -> int:
    from analysis.log.suggest.proposal import suggest

    if not folders:
        msg = "--suggest needs the folder of a log"
        raise UsageError(msg)
    for folder in folders:
        print(suggest(folder).text())
    return GOOD
