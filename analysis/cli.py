"""Owns the command line: parse, call, and the exit code. Heavy imports wait until needed."""

import argparse
import atexit
import gc
import os
import sys
from collections.abc import Sequence

from analysis.commands import card, check, depth, lab, review, start, weekly
from analysis.commands.common import CANNOT, GOOD, WRONG_USE
from analysis.errors import RodhoursError, UsageError

_NEXT = """\
rodhours: which depth produced, how sure we are, what to set next.

Type one of these next:
  rodhours review             the season review of the demo, to see what you would get
  rodhours start MY_SEASON    a new season folder: tables to fill in, a sheet to print
  rodhours check MY_SEASON    is my own log good enough? (a folder with boat.toml and tables)
  rodhours review MY_SEASON   the season review of my own log
  rodhours lab MY_SEASON      the notebooks in JupyterLab, to ask a season more
  rodhours weekly --all       a page a week for the boats of a club, from the demo
  rodhours --help             everything else
"""


def build_parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    parser = argparse.ArgumentParser(
        prog="rodhours",
        description="Season analytics for people who troll: logs in, reviews and reports out.",
        epilog="Exit codes: 0 done, 1 the log cannot be analysed, 2 wrong use of the command.",
    )
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    for command in (start, check, review, card, weekly, depth, lab):
        command.add_to(commands.add_parser)
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : sequence of str, optional
        What was typed after ``rodhours``; by default that of this process.

    Returns
    -------
    int
        0 when done, 1 when the log cannot be analysed or a file not written, 2 for a wish that
        this log cannot grant; wrong use exits with 2, as argparse does.
    """
    _save_seconds()
    parsed = build_parser().parse_args(arguments)
    if parsed.command is None:
        print(_NEXT, end="")
        return GOOD
    try:
        code = int(parsed.run(parsed))
        sys.stdout.flush()
    except RodhoursError as error:
        print(f"rodhours: {error}", file=sys.stderr)
        return WRONG_USE if isinstance(error, UsageError) else CANNOT
    except KeyboardInterrupt:
        print("rodhours: stopped; nothing was changed", file=sys.stderr)
        return CANNOT
    except BrokenPipeError:
        # Whoever read, such as `head`, has seen enough; the rest goes nowhere, or Python would
        # complain once more at its end (Python's documentation of `signal`, "Note on SIGPIPE").
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return GOOD
    return code


def _save_seconds() -> None:
    """Keep a short command from waiting for what it does not need."""
    # Further threads of linear algebra turn round and round while they wait, on the core that our
    # second process works on; NumPy asks for this once, when it is imported.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # At its end Python looks once more through all that was ever imported for what can be freed.
    atexit.register(gc.freeze)


if __name__ == "__main__":
    sys.exit(main())
