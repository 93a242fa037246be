"""Owns what a person wrote into a review's notebook: it is kept when the review is written anew."""

from __future__ import annotations

import hashlib
import json
import shutil
from datetime import datetime
from pathlib import Path
from typing import Any

from nbformat import NotebookNode

_OURS = "rodhours"


def sign(notebook: NotebookNode) -> None:
    """Write into a notebook's metadata what its cells say as they leave us."""
    notebook.metadata[_OURS] = {"cells": _digest(notebook)}


def keep_own(file: Path, scratch: Path) -> Path | None:
    """Copy a notebook that a person changed to a name of its own, to be put in place with the new.

    Cells that were run anew, and what they printed, are no change: tables are written anew too.

    Parameters
    ----------
    file : Path
        That is to be replaced.
    scratch : Path
        A folder from `analysis.render.staging.staging` of the file's folder.

    Returns
    -------
    Path or None
        Where it will stand: by the time it was last saved. None where there is nothing to keep.
    """
    try:
        saved = json.loads(file.read_text(encoding="utf-8"))
        ours = saved["metadata"].get(_OURS, {}).get("cells") == _digest(saved)
    except FileNotFoundError:
        return None
    except (ValueError, KeyError, TypeError, AttributeError):  # no notebook, or one cut short
        ours = False
    if ours:
        return None
    when = datetime.fromtimestamp(file.stat().st_mtime).astimezone()
    own = file.with_stem(f"{file.stem}-yours-{when:%Y-%m-%d-%H%M%S}")
    shutil.copy2(file, scratch / own.name)
    return own


def _digest(notebook: Any) -> str:
    """SHA-256 of the kinds and words of a notebook's cells."""
    cells = [(cell["cell_type"], "".join(cell["source"])) for cell in notebook["cells"]]
    return hashlib.sha256(json.dumps(cells).encode()).hexdigest()
