"""Owns `rodhours review`: the season review, or its tables alone."""

import argparse
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from analysis.commands.common import GOOD, LOGS, progress, usual_folder, whole_number
from analysis.places import TABLES, demo_logs

if TYPE_CHECKING:
    from analysis.season import Options


def add_to(add: Callable[..., argparse.ArgumentParser]) -> None:
    """Add the command and its arguments."""
    text = "write the season review: page, notebook and result tables"
    review = add(
        "review",
        help=text,
        description=f"{text.capitalize()}.",
        epilog="Example: rodhours review logs/dunlin-2026 --out reports/dunlin --band '10 ft'",
    )
    review.add_argument("logs", nargs="*", metavar="LOG", type=Path, help=LOGS)
    review.add_argument(
        "--out",
        metavar="DIR",
        type=Path,
        help="folder for the review (default: reports/NAME in the cloned folder, or, where "
        "rodhours was installed without one, in the working folder; NAME is that of the first "
        "log, or demo)",
    )
    review.add_argument(
        "--tables-only",
        action="store_true",
        help="write the tables and the summary, but do not render the notebook",
    )
    review.add_argument(
        "--band",
        metavar="DEPTH",
        help="height of the depth bands with its unit, such as '10 ft' or '3 m' (the default in "
        "either unit)",
    )
    review.add_argument(
        "--rods", metavar="N", type=whole_number, help="rods of next season's starting spread"
    )
    review.add_argument(
        "--gears",
        metavar="GEAR,GEAR",
        help="gears on board next season, as boat.toml names them (default: all of them)",
    )
    review.add_argument(
        "--plan-for",
        metavar="PERIOD",
        help="what the starting spread is for: a month such as 2026-05 or May, or season",
    )
    review.add_argument(
        "--lures",
        action="store_true",
        help="give each lure an effect of its own and compare lures at equal depth and water; "
        "names must be written alike through the season",
    )
    review.add_argument(
        "--sensitivity",
        action="store_true",
        help="also fit the field's other models (strata of hours or trips, gamma effects, pooled "
        "counts) and show their bands beside the answer's; takes a minute or more",
    )
    review.add_argument(
        "--appendix",
        action="store_true",
        help="also write season-review-appendix.html: the same page with every fold open, to "
        "print whole",
    )
    review.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Do what was asked, and return the exit code."""
    logs = arguments.logs or demo_logs()
    out = arguments.out or usual_folder(arguments.logs)
    if arguments.tables_only:
        return _review_tables(arguments, logs, out)
    from analysis.report.whole_review import ready_kernel, review_into

    with ready_kernel() as kernel:
        options = _options(arguments)
        with progress() as show:
            made = review_into(logs, options, out, show, kernel, appendix=arguments.appendix)
            print(f"The season review is {made.page}")
            if made.own_notebook:
                print(
                    f"The notebook before it, changed or of an earlier version: {made.own_notebook}"
                )
    return GOOD


def _review_tables(arguments: argparse.Namespace, logs: Sequence[Path], out: Path) -> int:
    from analysis.report.card.stored_fit import fit_of, store_fit
    from analysis.report.results import write_results
    from analysis.season import analyse

    options = _options(arguments)
    with progress() as show:
        season = analyse(logs, options, show)
    write_results(season, out)
    store_fit(fit_of(season), out)
    print(f"The result tables are in {out / TABLES}")
    return GOOD


def _options(arguments: argparse.Namespace) -> "Options":
    """Gather what was chosen of a review."""
    from analysis.season import Options

    gears = tuple(name.strip() for name in (arguments.gears or "").split(",") if name.strip())
    return Options(
        band=arguments.band,
        rods=arguments.rods,
        gears=gears or None,
        plan_for=arguments.plan_for,
        lures=arguments.lures,
        sensitivity=arguments.sensitivity,
    )
