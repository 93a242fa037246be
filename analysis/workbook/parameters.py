"""Owns the refusal of a notebook's misspelt parameter, whoever runs it."""

from __future__ import annotations

import ast

from IPython import get_ipython

from analysis import labels
from analysis.errors import UsageError
from analysis.log.wording.spelling import nearest

_INJECTED = "# Parameters"
"""How papermill begins the cell in which it puts what it was given."""


def refuse_unknown() -> None:
    """Refuse a parameter that the cell of parameters does not have; papermill only warns of it.

    Called by the cell after that one.

    Raises
    ------
    UsageError
        Naming the nearest one.
    """
    shell = get_ipython()
    cells = [] if shell is None else list(shell.user_ns.get("In", []))
    given = [at for at, cell in enumerate(cells) if cell.startswith(_INJECTED)]
    if not given:
        return
    own, wished = _assigned(cells[given[-1] - 1]), _assigned(cells[given[-1]])
    for name in wished:
        if name not in own:
            like = nearest(name, own)
            hint = f"did you mean {like!r}? " if like else ""
            there = labels.listing([repr(one) for one in own])
            msg = f"this notebook has no parameter {name!r}; {hint}There are: {there}."
            raise UsageError(msg)


def _assigned(source: str) -> list[str]:
    """Names that a cell assigns."""
    return [
        target.id
        for statement in ast.parse(source).body
        if isinstance(statement, ast.Assign)
        for target in statement.targets
        if isinstance(target, ast.Name)
    ]
