"""Owns `rodhours depth`: modelled depths beside any table of line-outs."""

import argparse
from collections.abc import Callable
from pathlib import Path

from analysis.commands.common import GOOD


def add_to(add: Callable[..., argparse.ArgumentParser]) -> None:
    """Add the command and its arguments."""
    text = "add modelled depths to a table of line-outs"
    depth = add(
        "depth",
        help=text,
        description=f"{text.capitalize()}. TABLE is a CSV with the columns gear, setting, "
        "line_out and speed, in the units and under the headings of boat.toml; speed_kind, "
        "leader_length, lead, lure, tip_height_m and rod are used where they are there, and all "
        "other columns are kept. Added are depth_m, "
        "depth_sd_m, lateral_m, setback_m, line_pull_n and depth_note, the reason where there is "
        "no depth.",
    )
    depth.add_argument("table", metavar="TABLE", type=Path, help="the CSV to read")
    whose = depth.add_mutually_exclusive_group(required=True)
    whose.add_argument("--gear", metavar="BOAT_TOML", type=Path, help="the boat's boat.toml")
    whose.add_argument(
        "--log",
        metavar="SEASON",
        type=Path,
        help="a season folder of the boat, whose soaks calibrate its gear as in the review",
    )
    depth.add_argument("--out", metavar="FILE", type=Path, required=True, help="the CSV to write")
    depth.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Do what was asked, and return the exit code."""
    from analysis import labels
    from analysis.report.depth_command import aside_name, write_depths

    done = write_depths(arguments.table, arguments.gear, arguments.out, arguments.log)
    print(f"{labels.count(done.rows, 'row')} written to {arguments.out}")
    if done.unsolved:
        print(f"{done.unsolved} of them have no depth; the column depth_note says why")
    if done.aside:
        aside = arguments.out.parent / aside_name(arguments.out)
        print(f"{len(done.aside)} more do not fit under the headings; {aside} lists them")
    if arguments.log is not None:
        print(f"Calibrated by depth loggers: {', '.join(done.calibrated) or 'no gear'}")
    return GOOD
