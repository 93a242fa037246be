"""Owns the kernels that notebooks run in: this very Python, started fresh or kept for the next."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from copy import deepcopy
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

import zmq
from jupyter_client.kernelspec import KernelSpec
from jupyter_client.manager import AsyncKernelManager
from jupyter_core.utils import run_sync
from traitlets import default

if TYPE_CHECKING:
    from nbformat import NotebookNode

_GRAMMAR = "rfc3987_syntax"

# `nbformat` checks notebooks by `jsonschema`, which where it can loads a grammar of international
# web addresses: a second, and no notebook's schema asks for one. A module that is None cannot be
# imported, and `jsonschema` then goes without.
if _GRAMMAR not in sys.modules:
    sys.modules[_GRAMMAR] = None  # type: ignore[assignment]
    try:
        import nbformat  # noqa: F401 - for its own sake
    finally:
        del sys.modules[_GRAMMAR]


class ThisPython(AsyncKernelManager):
    """Starts kernels with the running interpreter, whatever kernels a machine has registered.

    A kernel registered under the same name elsewhere would otherwise win and miss our packages.
    """

    @property
    def kernel_spec(self) -> KernelSpec:
        """Return how to start this interpreter as a kernel."""
        return KernelSpec(
            argv=[
                sys.executable,
                "-m",
                "ipykernel_launcher",
                "-f",
                "{connection_file}",
                # What a cell prints or raises is in the notebook; the kernel's own log at being
                # stopped would only look like an error on the user's screen.
                "--log-level=CRITICAL",
            ],
            display_name="Python 3 (ipykernel)",
            language="python",
            metadata={"supported_encryption": "curve"},
        )

    @default("transport_encryption")
    def _encrypted(self) -> str:
        """Keep other users of the machine from reading what passes to and from the kernel."""
        return "auto" if zmq.has("curve") else "disabled"


class _Kept(ThisPython):
    """Remembers its clients: papermill leaves those of a kernel it does not own running."""

    def __init__(self, imports: str, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.imports = imports
        self.clients: list[Any] = []

    @property
    def kernel_spec(self) -> KernelSpec:
        """Return how to start this interpreter as a kernel that imports at once."""
        spec = super().kernel_spec
        if self.imports:
            spec.argv.append(f"--IPKernelApp.exec_lines={self.imports}")
        return spec

    def client(self, **kwargs: Any) -> Any:
        """Return a new client of the kernel."""
        made = super().client(**kwargs)
        self.clients.append(made)
        return made

    def rest(self) -> None:
        """Stop the clients, threads and all."""
        while self.clients:
            self.clients.pop().stop_channels()


class KeptKernel:
    """A kernel that runs notebook after notebook: started once, its imports stay.

    Names are cleared between notebooks; what a notebook changes in an imported module is not, so
    it is for notebooks that change nothing there, as ours. To be used by one thread only.

    Parameters
    ----------
    imports : str
        A statement that imports what the notebooks will, while they are not there yet.
    goes_along : bool
        Whether it works in the folder of each notebook's run; else where the process works. Not
        for several notebooks: the folder of the one before is gone.
    """

    TAG = "empties-the-kernel"
    """Marks the cell put before a notebook, and taken out again."""

    def __init__(self, imports: str = "", *, goes_along: bool = False) -> None:
        self._imports = imports
        self._goes_along = goes_along
        self._manager: _Kept | None = None

    def __enter__(self) -> Self:
        """Start the kernel; it gets ready while other things are done."""
        self.start()
        return self

    def start(self) -> None:
        """Start the kernel unless it runs."""
        if self._manager is None:
            self._manager = _Kept(self._imports)
            run_sync(self._manager.start_kernel)()

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Stop the kernel."""
        self.stop()

    def stop(self) -> None:
        """Stop the kernel; the next notebook starts another."""
        manager, self._manager = self._manager, None
        if manager is not None:
            manager.rest()
            if manager.has_kernel:
                run_sync(manager.shutdown_kernel)(now=True)

    @contextmanager
    def running(
        self, notebook: NotebookNode, folder: Path
    ) -> Iterator[tuple[NotebookNode, AsyncKernelManager]]:
        """Give a notebook that first empties the kernel, and the kernel's manager.

        ``folder`` is that of its run.

        After any error inside the kernel is stopped, for what is in it then is anybody's guess.
        """
        from nbformat.v4 import new_code_cell  # here: seconds, and often not needed

        self.start()
        assert self._manager is not None
        emptied = deepcopy(notebook)
        first = "%reset -f"
        if self._goes_along:
            first += f"\n__import__('os').chdir({str(folder.absolute())!r})"
        emptied.cells.insert(0, new_code_cell(first, metadata={"tags": [self.TAG]}))
        try:
            yield emptied, self._manager
        except BaseException:
            self.stop()
            raise
        self._manager.rest()
