"""Owns `rodhours card`: what to set on a day to come."""

import argparse
from collections.abc import Callable
from pathlib import Path

from analysis.commands.common import GOOD, LOGS, Once, progress, usual_folder, whole_number
from analysis.errors import UsageError
from analysis.places import demo_logs

DEMO_BOAT = "Dunlin"
"""Whose card the demo shows where nobody names a boat."""


def add_to(add: Callable[..., argparse.ArgumentParser]) -> None:
    """Add the command and its arguments."""
    text = "write the card of a day to come: each rod's line-out, how deep, how sure"
    card = add(
        "card",
        help=text,
        description=f"{text.capitalize()}. It rests on the fit that a review has stored, and fits "
        "first where there is none.",
        epilog="Example: rodhours card logs/dunlin-2026 --date 2026-07-12 --surface '64 F'",
    )
    card.add_argument("logs", nargs="*", metavar="LOG", type=Path, help=LOGS)
    card.add_argument(
        "--date", metavar="DAY", required=True, action=Once, help="the day, such as 2026-07-12"
    )
    card.add_argument(
        "--surface", metavar="TEMP", help="surface temperature read that day, with its unit: '64 F'"
    )
    card.add_argument(
        "--cast",
        metavar="FILE",
        type=Path,
        help="a temperature profile of that day or the evening before: a CSV with the columns "
        "depth and temp, in the boat's units or with their own in the heading",
    )
    card.add_argument("--boat", metavar="NAME", help="which boat, where the logs are of several")
    card.add_argument(
        "--rods", metavar="N", type=whole_number, help="rods to put down (default: as usual)"
    )
    card.add_argument(
        "--review",
        metavar="DIR",
        type=Path,
        help="folder of the review whose fit is to be used (default: looked for in --out and where "
        "a review goes by default)",
    )
    card.add_argument(
        "--out", metavar="DIR", type=Path, help="folder for the card (default: as of a review)"
    )
    card.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Do what was asked, and return the exit code."""
    from analysis.report.card.write import Wanted, write_card

    if arguments.review is not None and not arguments.review.is_dir():
        msg = (
            f"--review {arguments.review}: there is no such folder. Remedy: name the folder that a "
            "review went to with --out, or leave --review out."
        )
        raise UsageError(msg)
    logs = arguments.logs or demo_logs()
    usual = usual_folder(arguments.logs)
    wanted = Wanted(
        day=arguments.date,
        surface=arguments.surface,
        cast=arguments.cast,
        boat=arguments.boat or (None if arguments.logs else DEMO_BOAT),
        rods=arguments.rods,
    )
    places = [usual, *([arguments.review] if arguments.review else [])]
    with progress() as show:
        page, card = write_card(logs, wanted, arguments.out or usual, show, places=places)
    print(f"The card of {card.boat} is {page}")
    return GOOD
