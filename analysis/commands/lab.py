"""Owns `rodhours lab`: the notebooks in JupyterLab."""

import argparse
from collections.abc import Callable
from pathlib import Path

from analysis.commands.common import LOGS


def add_to(add: Callable[..., argparse.ArgumentParser]) -> None:
    """Add the command and its arguments."""
    text = "open the notebooks in JupyterLab, on this machine alone"
    lab = add(
        "lab",
        help=text,
        description=f"{text.capitalize()}: no other machine is asked for anything. LOG is every "
        "notebook's season. The notebooks of a clone are worked on where they lie; else they are "
        "copied, and what is in the copy already stays as it is.",
        epilog="Example: rodhours lab logs/dunlin-2026 logs/dunlin-2025",
    )
    lab.add_argument("logs", nargs="*", metavar="LOG", type=Path, help=LOGS)
    lab.add_argument(
        "--port", metavar="N", type=int, help="port to use (default: the first free from 8888 on)"
    )
    lab.add_argument(
        "--folder",
        metavar="DIR",
        type=Path,
        help="where the copies of the notebooks lie (default: rodhours-notebooks at home)",
    )
    lab.add_argument(
        "--no-browser", action="store_true", help="open no browser, print the address alone"
    )
    lab.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Do what was asked, and return the exit code."""
    from analysis.workbook.lab import open_lab

    return open_lab(
        arguments.logs,
        port=arguments.port,
        folder=arguments.folder,
        browser=not arguments.no_browser,
    )
