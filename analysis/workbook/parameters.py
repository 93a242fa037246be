"""Owns the refusal of a notebook's misspelt parameter, and that errors are in sight."""

from __future__ import annotations

import ast
from types import TracebackType

from IPython import get_ipython
from IPython.core.interactiveshell import InteractiveShell
from IPython.display import display

from analysis import labels
from analysis.errors import RodhoursError, UsageError
from analysis.log.wording.spelling import nearest

_INJECTED = "# Parameters"
"""How papermill begins the cell in which it puts what it was given."""


def refuse_unknown() -> None:
    """Refuse a parameter that the cell of parameters does not have; papermill only warns of it.

    Called by the cell after that one. From then on the page moves to an error of ours: after
    "Run All" it stands at the last cell, and the one that failed may be far above.

    Raises
    ------
    UsageError
        Naming the nearest one.
    """
    shell = get_ipython()
    if shell is None:
        return
    shell.set_custom_exc((RodhoursError,), _seen)
    cells = list(shell.user_ns.get("In", []))
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


def _seen(
    shell: InteractiveShell,
    kind: type[BaseException],
    error: BaseException,
    trace: TracebackType,
    tb_offset: int | None = None,
) -> None:
    """Show an error as ever, with the page moved to it."""
    from analysis.report.accessible import into_sight  # here: widgets are heavy, errors seldom

    display(into_sight())  # type: ignore[no-untyped-call]
    shell.showtraceback((kind, error, trace), tb_offset=tb_offset)


def _assigned(source: str) -> list[str]:
    """Names that a cell assigns."""
    return [
        target.id
        for statement in ast.parse(source).body
        if isinstance(statement, ast.Assign)
        for target in statement.targets
        if isinstance(target, ast.Name)
    ]
