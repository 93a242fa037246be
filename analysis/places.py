"""Owns where things lie: notebooks, demo and sample, in a clone or in an installed package."""

from pathlib import Path

from analysis.errors import RodhoursError

_ROOT = Path(__file__).parents[1]

IN_A_CLONE = (_ROOT / "pyproject.toml").is_file() and (_ROOT / "notebooks").is_dir()
"""Whether this is a clone of the repository; else the wheel has put everything into one folder."""
PROJECT = _ROOT if IN_A_CLONE else _ROOT / "rodhours"
"""The folder that holds ``notebooks``, ``data/demo`` and ``reports/sample``."""
NOTEBOOKS = PROJECT / "notebooks"
DEMO = PROJECT / "data" / "demo"
TABLES = "tables"
"""Folder of a review that holds its result tables."""
REVIEW = "season-review"
"""Name of a review's page and notebook."""


def default_reports() -> Path:
    """Return where reports go that nobody named a place for.

    That is the clone's own folder; of an installed package it is the working folder's, for
    nobody looks into an environment's packages, and the next installation empties them.
    """
    return (PROJECT if IN_A_CLONE else Path.cwd()) / "reports"


def demo_logs() -> list[Path]:
    """Return the season folders of the demo.

    Raises
    ------
    RodhoursError
        When there are none: somebody took them away.
    """
    folders = sorted(path.parent for path in DEMO.glob("*/boat.toml"))
    if not folders:
        msg = (
            f"{DEMO}: the demo season is not here. Remedy: name a season folder, or install "
            "rodhours again."
        )
        raise RodhoursError(msg)
    return folders
