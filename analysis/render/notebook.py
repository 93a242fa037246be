"""Owns the one papermill call: a notebook and its parameters in, an executed notebook out."""

import ast
import re
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import nbformat
import papermill
from nbclient.exceptions import CellTimeoutError, DeadKernelError
from nbformat import NotebookNode
from papermill.exceptions import PapermillExecutionError
from papermill.execute import ERROR_MARKER_TAG

from analysis.errors import RodhoursError
from analysis.render.kernels import KeptKernel, ThisPython
from analysis.render.scratch import scratch_folder

_COLOUR_CODES = re.compile(r"\x1b\[[0-9;]*m")


class NotebookError(RodhoursError):
    """A notebook that cannot be run as asked, or that failed.

    Parameters
    ----------
    message : str
        What went wrong, which cell, and the remedy.
    executed : NotebookNode, optional
        The notebook as far as it ran, for a failed run.
    """

    def __init__(self, message: str, executed: NotebookNode | None = None) -> None:
        super().__init__(message)
        self.executed = executed


def read_notebook(path: Path) -> NotebookNode:
    """Read a notebook file.

    Parameters
    ----------
    path : Path
        An ``.ipynb`` file.

    Returns
    -------
    NotebookNode
        The notebook in format 4.

    Raises
    ------
    NotebookError
        When the file is absent or not a notebook.
    """
    try:
        notebook: NotebookNode = nbformat.read(path, as_version=4)
    except FileNotFoundError as error:
        msg = (
            f"{path}: no such notebook. Remedy: look at its name; one of rodhours' own comes back "
            "when rodhours is installed again."
        )
        raise NotebookError(msg) from error
    except nbformat.reader.NotJSONError as error:
        msg = f"{path}: not a notebook. Remedy: restore the file, for instance from git."
        raise NotebookError(msg) from error
    return notebook


def default_parameters(notebook: NotebookNode, name: str) -> dict[str, Any]:
    """Return what the ``parameters`` cell of a notebook assigns.

    Parameters
    ----------
    notebook : NotebookNode
        The notebook.
    name : str
        What to call it in an error.

    Returns
    -------
    dict
        Parameter name to default; the defaults are literals.

    Raises
    ------
    NotebookError
        Without exactly one cell tagged ``parameters``, or when that cell holds anything but
        assignments of literals.
    """
    cells = [
        cell
        for cell in notebook.cells
        if cell.cell_type == "code" and "parameters" in cell.metadata.get("tags", [])
    ]
    if len(cells) != 1:
        msg = (
            f"{name}: {len(cells)} cells are tagged 'parameters', and there must be one. "
            "Remedy: tag the cell that assigns the parameters."
        )
        raise NotebookError(msg)
    found: dict[str, Any] = {}
    for statement in ast.parse(cells[0].source).body:
        if not (
            isinstance(statement, ast.Assign)
            and len(statement.targets) == 1
            and isinstance(statement.targets[0], ast.Name)
        ):
            msg = (
                f"{name}: line {statement.lineno} of the parameters cell is no plain assignment. "
                "Remedy: write each parameter as name = literal."
            )
            raise NotebookError(msg)
        try:
            found[statement.targets[0].id] = ast.literal_eval(statement.value)
        except ValueError as error:
            msg = (
                f"{name}: parameter {statement.targets[0].id} is not a literal. "
                "Remedy: write a number, a text, True, False, None, or a list of these."
            )
            raise NotebookError(msg) from error
    return found


def check_parameters(parameters: Mapping[str, Any], defaults: Mapping[str, Any], name: str) -> None:
    """Refuse a parameter that the notebook does not have, or of another kind than its default.

    Parameters
    ----------
    parameters : Mapping
        What the notebook would be run with.
    defaults : Mapping
        From `default_parameters`.
    name : str
        What to call the notebook in an error.

    Raises
    ------
    NotebookError
        For an unknown name or a value of another kind (a whole number may stand for a decimal
        one, and anything for a default of None).
    """
    for key, value in parameters.items():
        if key not in defaults:
            known = ", ".join(defaults) or "none"
            msg = f"{name} has no parameter {key!r}. Remedy: use one of its own: {known}."
            raise NotebookError(msg)
        wanted = type(defaults[key])
        if defaults[key] is None or type(value) is wanted:
            continue
        if wanted is float and type(value) is int:
            continue
        msg = (
            f"{name}: parameter {key} is {value!r} ({type(value).__name__}), but must be of type "
            f"{wanted.__name__}, as its default {defaults[key]!r} is."
        )
        raise NotebookError(msg)


def run_notebook(
    path: Path,
    parameters: Mapping[str, Any],
    *,
    folder: Path,
    progress: bool = True,
    kernel: KeptKernel | None = None,
) -> NotebookNode:
    """Run a notebook and return it with its outputs.

    Parameters
    ----------
    path : Path
        The notebook; it is only read.
    parameters : Mapping
        Values for its ``parameters`` cell; checked before anything runs.
    folder : Path
        The working folder of the kernel, against which relative paths are read.
    progress : bool
        Show a bar, one step a cell, on the standard error stream.
    kernel : KeptKernel, optional
        A kernel to run it in, emptied of what the notebook before left; by default a fresh one.

    Returns
    -------
    NotebookNode
        The executed notebook, without the run's own paths and times in its metadata.

    Raises
    ------
    NotebookError
        For a parameter the notebook does not have, a missing ``parameters`` cell, a failing cell
        (named, with its source and error; the attribute ``executed`` holds the notebook as far
        as it ran) or a kernel that died.
    """
    notebook = read_notebook(path)
    check_parameters(parameters, default_parameters(notebook, path.name), path.name)
    try:
        if kernel is None:
            # Not papermill's `cwd`: it moves this whole process, and with it the relative paths
            # of whatever else runs in it meanwhile.
            how = {
                "resources": {"metadata": {"path": str(folder.absolute())}},
                "kernel_manager_class": ThisPython,
            }
            executed = _execute(notebook, parameters, how, progress=progress)
        else:
            with kernel.running(notebook, folder) as (emptied, manager):
                executed = _execute(emptied, parameters, {"km": manager}, progress=progress)
    except (DeadKernelError, CellTimeoutError) as error:
        msg = (
            f"{path.name}: the notebook's kernel died before the end. Remedy: close other "
            "programs (most often the memory ran out) and run it again."
        )
        raise NotebookError(msg) from error
    executed = _without_traces(executed)
    _refuse_failed(path.name, notebook, executed)
    return executed


def _execute(
    notebook: NotebookNode, parameters: Mapping[str, Any], how: Mapping[str, Any], *, progress: bool
) -> NotebookNode:
    """Call papermill; a run that failed is read back as far as it got."""
    with scratch_folder(Path(tempfile.gettempdir())) as scratch:
        saved = scratch / "run.ipynb"
        try:
            executed: NotebookNode = papermill.execute_notebook(
                notebook,
                saved,
                dict(parameters),
                kernel_name="python3",
                progress_bar={"desc": "Notebook", "disable": not progress},
                request_save_on_cell_execute=False,
                **how,
            )
        except PapermillExecutionError:
            executed = read_notebook(saved)
    return executed


def _refuse_failed(name: str, notebook: NotebookNode, executed: NotebookNode) -> None:
    """Raise for the first cell with an error; one that merely quits is one, too."""
    for cell in executed.cells:
        for output in cell.get("outputs", []):
            if output.output_type != "error":
                continue
            # The run has cells more than the file, so the cell is counted in the file.
            number = [own.id for own in notebook.cells].index(cell.id) + 1
            source = "\n".join(f"    {line}" for line in cell.source.splitlines())
            value = _COLOUR_CODES.sub("", output.evalue)
            what = (
                "ended the run before its end"
                if output.ename == "SystemExit"
                else f"failed with {output.ename}: {value}"
            )
            msg = f"{name}: cell {number} {what}\nThe cell reads:\n{source}"
            raise NotebookError(msg, executed)


def _without_traces(notebook: NotebookNode) -> NotebookNode:
    """Drop what papermill notes of a run: its own marks, this machine's paths, times."""
    notebook.metadata.pop("papermill", None)
    ours = [cell for cell in notebook.cells if not _is_error_mark(cell)]
    notebook.cells = [cell for cell in ours if KeptKernel.TAG not in cell.metadata.get("tags", [])]
    for cell in notebook.cells:
        for key in ("papermill", "execution"):
            cell.metadata.pop(key, None)
    return notebook


def _is_error_mark(cell: NotebookNode) -> bool:
    """Tell a cell that papermill put in to point at a failure."""
    return ERROR_MARKER_TAG in cell.metadata.get("tags", [])
