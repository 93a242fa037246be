"""Owns the start of JupyterLab on this machine alone, on a page that lists the notebooks."""

from __future__ import annotations

import json
import os
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import webbrowser
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NoReturn

from analysis.errors import UsageError
from analysis.places import IN_A_CLONE, NOTEBOOKS
from analysis.render.scratch import scratch_folder
from analysis.workbook.given import LOG_VARIABLE, find_season

HOST = "127.0.0.1"
FIRST_PORT = 8888
PORTS_TRIED = 50
PAGE = "start.ipynb"
SETTINGS = {
    "@jupyterlab/apputils-extension:notification": {
        "fetchNews": "false",
        "checkForUpdates": False,
    },
    "@jupyterlab/notebook-extension:tracker": {"windowingMode": "none"},
}
"""No question whether to fetch news, no look for updates; and every cell stays in the page, so
that a picture far down is there when somebody scrolls to it."""


def open_lab(
    logs: Sequence[Path],
    *,
    port: int | None = None,
    folder: Path | None = None,
    browser: bool = True,
) -> int:
    """Run JupyterLab until it is stopped; its exit code.

    Parameters
    ----------
    logs : sequence of Path
        Season folders that every notebook takes where its own ``season`` is None; by default the
        demo.
    port : int, optional
        By default the first free one from `FIRST_PORT` on.
    folder : Path, optional
        Where the notebooks are to lie that are worked on; see `notebooks_in`.
    browser : bool
        Whether to open a browser.

    Raises
    ------
    UsageError
        For a log that is none, a port that is taken, or a folder that cannot be written to.
    """
    given = find_season([str(log) for log in logs]) if logs else None
    notebooks = notebooks_in(folder)
    chosen = _port(port)
    token = secrets.token_urlsafe(24)
    address = f"http://{HOST}:{chosen}/lab/tree/{PAGE}?token={token}"
    with scratch_folder(Path(tempfile.gettempdir())) as scratch:
        settings = scratch / "labconfig" / "default_setting_overrides.json"
        settings.parent.mkdir()
        settings.write_text(json.dumps(SETTINGS), encoding="utf-8")
        environment = os.environ | {"JUPYTER_TOKEN": token}
        paths = [str(scratch), environment.get("JUPYTER_CONFIG_PATH", "")]
        environment["JUPYTER_CONFIG_PATH"] = os.pathsep.join(path for path in paths if path)
        if given:
            known = [given.results] if given.results else given.folders
            environment[LOG_VARIABLE] = os.pathsep.join(map(str, known))
        shows = browser and _has_browser()
        print(f"JupyterLab runs on this machine alone: {address}")
        if not shows:
            print("No browser is opened here: copy this address into one on this machine.")
        print("Ctrl-C in this window ends it; what was saved stays in", notebooks, flush=True)
        command = [*_command(chosen, notebooks), *([] if shows else ["--no-browser"])]
        return _run(command, environment)


def _run(command: list[str], environment: Mapping[str, str]) -> int:
    """Run a server until it ends, and end it when this process is ended."""

    def end(*_: object) -> NoReturn:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, end)
    server = subprocess.Popen(command, env=environment)
    try:
        return server.wait()
    except KeyboardInterrupt:
        return 0
    finally:
        server.terminate()
        server.wait()
        signal.signal(signal.SIGTERM, before)


def _command(port: int, notebooks: Path) -> list[str]:
    """Return how JupyterLab is started: on loopback, asking no other machine for anything."""
    root = ["--ServerApp.allow_root=True"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    return [
        *(sys.executable, "-m", "jupyterlab", *root),
        *(f"--ServerApp.ip={HOST}", f"--ServerApp.port={port}", "--ServerApp.port_retries=0"),
        f"--ServerApp.root_dir={notebooks}",
        f"--LabApp.default_url=/lab/tree/{PAGE}",
        "--LabApp.news_url=None",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--LabApp.extension_manager=readonly",
        "--ServerApp.log_level=WARN",
    ]


def notebooks_in(folder: Path | None) -> Path:
    """Return the folder of notebooks to work on, filled where it is a copy.

    A clone's own notebooks are worked on where they lie. Of an installed package they are copied,
    for the next installation would empty them; what is in the copy already stays as it is.

    Parameters
    ----------
    folder : Path, optional
        By default ``rodhours-notebooks`` in the home folder.
    """
    if folder is None and IN_A_CLONE:
        return NOTEBOOKS
    target = folder or Path.home() / "rodhours-notebooks"
    try:
        for source in sorted(path for path in NOTEBOOKS.rglob("*") if path.is_file()):
            own = target / source.relative_to(NOTEBOOKS)
            if not own.exists() and ".ipynb_checkpoints" not in own.parts:
                own.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(source, own)
    except OSError as error:
        msg = f"{target}: notebooks cannot be put here ({error}). Remedy: name another --folder."
        raise UsageError(msg) from error
    return target.resolve()


def _port(wished: int | None) -> int:
    """Return a free port.

    Raises
    ------
    UsageError
        Where the wished one, or all that are tried, are taken.
    """
    tried = [wished] if wished else range(FIRST_PORT, FIRST_PORT + PORTS_TRIED)
    for port in tried:
        if _is_free(port):
            return port
    taken = f"port {wished} is" if wished else f"ports {tried[0]} to {tried[-1]} are"
    msg = f"{taken} taken. Remedy: end the program that has it, or name another with --port."
    raise UsageError(msg)


def _is_free(port: int) -> bool:
    with socket.socket() as tried:
        try:
            tried.bind((HOST, port))
        except (OSError, OverflowError):
            return False
    return True


def _has_browser() -> bool:
    try:
        webbrowser.get()
    except webbrowser.Error:
        return False
    return True
