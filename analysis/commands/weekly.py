"""Owns `rodhours weekly`: a club's weekly reports."""

import argparse
import sys
from collections.abc import Callable
from pathlib import Path

from analysis.commands.common import CANNOT, GOOD, LOGS, progress
from analysis.places import default_reports, demo_logs


def add_to(add: Callable[..., argparse.ArgumentParser]) -> None:
    """Add the command and its arguments."""
    text = "write a club's weekly reports: page, PDF, text and figures of each week"
    weekly = add(
        "weekly",
        help=text,
        description=f"{text.capitalize()}, and index.html that lists them. Give the logs of all "
        "boats, and those of the year before to compare with. Weeks are ISO weeks; a trip belongs "
        "to the week of the local date on which it began. A week whose logs, parameters and "
        "program did not change is left as it is, so a run that was stopped goes on where it was. "
        "At least three boats stand behind every figure; with one boat's logs it is that boat's "
        "own report.",
        epilog="Example: rodhours weekly logs/*-2026 logs/*-2025 --week 2026-W27 --out club",
    )
    weekly.add_argument("logs", nargs="*", metavar="LOG", type=Path, help=LOGS)
    which = weekly.add_mutually_exclusive_group(required=True)
    which.add_argument("--week", metavar="WEEK", type=_one_week, help="one week: 2026-W27")
    which.add_argument(
        "--weeks",
        metavar="FIRST:LAST",
        type=_some_weeks,
        help="a range of weeks: 2026-W20:2026-W35",
    )
    which.add_argument("--all", action="store_true", help="every week of the latest season")
    weekly.add_argument(
        "--out",
        metavar="DIR",
        type=Path,
        help="folder for the reports (default: reports/weekly in the cloned folder, or, where "
        "rodhours was installed without one, in the working folder)",
    )
    weekly.add_argument(
        "--band",
        metavar="DEPTH",
        help="height of the depth bands with its unit, such as '10 ft' or '3 m'",
    )
    weekly.add_argument(
        "--units",
        metavar="UNITS",
        help="units to write in, such as 'ft,mph,F' (default: the boats' own, all of them where "
        "they differ)",
    )
    weekly.add_argument(
        "--paper", choices=("A4", "letter"), default="A4", help="paper of the PDF (default: A4)"
    )
    weekly.add_argument(
        "--replace",
        action="store_true",
        help="replace a report even by one that tells other figures of the week; only where the "
        "old one was not handed out, for whoever has both can subtract one from the other",
    )
    weekly.set_defaults(run=run)


def _one_week(text: str) -> list[str]:
    """Read one week of the command line."""
    from analysis.weeks import WeekError, check_week

    try:
        return [check_week(text)]
    except WeekError as error:
        raise argparse.ArgumentTypeError(str(error)) from error


def _some_weeks(text: str) -> list[str]:
    """Read a range of weeks of the command line."""
    from analysis.weeks import WeekError, check_week, weeks_between

    first, _, last = text.partition(":")
    try:
        return weeks_between(check_week(first), check_week(last or first))
    except WeekError as error:
        raise argparse.ArgumentTypeError(str(error)) from error


def run(arguments: argparse.Namespace) -> int:
    """Do what was asked, and return the exit code."""
    from analysis.report.weekly.run import Settings, write_weeks

    logs = arguments.logs or demo_logs()
    out = arguments.out or default_reports() / "weekly"
    units = tuple(unit.strip() for unit in (arguments.units or "").split(",") if unit.strip())
    settings = Settings(
        band=arguments.band, units=units, paper=arguments.paper, replace=arguments.replace
    )
    try:
        with progress() as show:
            run = write_weeks(logs, arguments.week or arguments.weeks, out, settings, show)
    except KeyboardInterrupt:
        print(
            "rodhours: stopped; reports already made are in place, and the same command goes on",
            file=sys.stderr,
        )
        return CANNOT
    for reason in run.no_pdf:
        print(f"rodhours: {reason}", file=sys.stderr)
    for week, problem in sorted(run.problems.items()):
        print(f"rodhours: {week}: {problem}", file=sys.stderr)
    counts = [f"{len(run.made)} made", f"{len(run.skipped)} as they were"]
    counts += [f"{len(run.problems)} not made"] if run.problems else []
    print(f"Weekly reports: {', '.join(counts)}. {out / 'index.html'} lists them.")
    return CANNOT if run.problems else GOOD
