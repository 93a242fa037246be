"""Owns `rodhours start`: a new season folder to begin with."""

import argparse
import shlex
from collections.abc import Callable
from pathlib import Path

from analysis.commands.common import GOOD


def add_to(add: Callable[..., argparse.ArgumentParser]) -> None:
    """Add the command and its arguments."""
    text = "make a new season folder: boat.toml, tables to fill in, a sheet to print"
    start = add(
        "start",
        help=text,
        description=f"{text.capitalize()}. Asks for what no option tells. Overwrites nothing.",
        epilog="Example: rodhours start dunlin-2026 --rods 'P1 diver 2 90, SR rigger 50' --yes",
    )
    start.add_argument("folder", metavar="FOLDER", type=Path, help="the folder to make")
    start.add_argument("--boat", metavar="NAME", help="name of the boat")
    start.add_argument("--club", metavar="NAME", help="its club")
    start.add_argument("--zone", metavar="ZONE", help="time zone, such as Europe/Oslo")
    start.add_argument("--units", metavar="UNITS", help="such as 'ft, mph, F' or 'm, km/h, C'")
    start.add_argument("--water", metavar="NAME", help="name of the water fished")
    start.add_argument(
        "--rods",
        metavar="RODS",
        help="rods as usually put in: label, gear, setting of a diver, line-out",
    )
    start.add_argument("--csv", action="store_true", help="tables as CSV, not as one workbook")
    start.add_argument("--yes", action="store_true", help="take the defaults, ask nothing")
    start.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Do what was asked, and return the exit code."""
    from analysis.keeping.plan import ask, plan_of, questions
    from analysis.keeping.start import start_season

    asked = questions(arguments.folder)
    told = {question.option: getattr(arguments, question.option) for question in asked}
    plan = plan_of(ask(asked, told, None if arguments.yes else input))
    made = start_season(arguments.folder, plan, as_csv=arguments.csv)
    print(f"Made in {arguments.folder}: {', '.join(file.name for file in made)}.")
    print(f"Times will be read as those of {plan.time_zone}; boat.toml says so and can be changed.")
    unknown = [rod.rod for rod in plan.rods if not rod.line_out]
    line_outs = f" and the line-out of {', '.join(unknown)}" if unknown else ""
    print(f"Once: write the leaders and lures{line_outs} into the table spreads.")
    folder = shlex.quote(str(arguments.folder))
    into = f"the notebook log_entry (rodhours lab {folder})" if arguments.csv else "season.xlsx"
    print(
        f"Print the sheet, take it aboard, and type a trip in the evening, into {into}. Then:\n"
        f"  rodhours check {folder}\n  rodhours review {folder}"
    )
    return GOOD
