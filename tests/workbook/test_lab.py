"""Owns the tests of how JupyterLab is started; that it works in a browser is `test_lab_browser`."""

import socket
from pathlib import Path

import pytest

from analysis.errors import UsageError
from analysis.places import NOTEBOOKS
from analysis.workbook import lab
from analysis.workbook.given import LOG_VARIABLE


@pytest.fixture
def started(monkeypatch) -> dict:
    """What JupyterLab would have been started with."""
    seen = {}

    def run(command, env):
        seen.update(command=command, env=env)
        settings = Path(env["JUPYTER_CONFIG_PATH"].split(":")[0])
        seen["settings"] = (settings / "labconfig" / "default_setting_overrides.json").read_text()
        return 0

    monkeypatch.setattr(lab, "_run", run)
    return seen


def test_it_listens_to_this_machine_alone_and_asks_no_other(started, capsys) -> None:
    assert lab.open_lab([Path("petrel-2026")], browser=False) == 0
    assert "--ServerApp.ip=127.0.0.1" in started["command"]
    assert '"fetchNews": "false"' in started["settings"]
    assert started["env"]["JUPYTER_TOKEN"] not in " ".join(started["command"])
    assert started["env"][LOG_VARIABLE].endswith("petrel-2026")
    said = capsys.readouterr().out
    assert f"start.ipynb?token={started['env']['JUPYTER_TOKEN']}" in said
    assert "copy this address" in said


def test_a_port_that_is_taken_is_named_and_another_found(started) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        port = other.getsockname()[1]
        with pytest.raises(UsageError, match=f"port {port} is taken. Remedy"):
            lab.open_lab([], port=port)
    assert not started
    with pytest.raises(UsageError, match="port 99999"):
        lab.open_lab([], port=99999)


def test_a_log_that_is_none_starts_nothing(started) -> None:
    with pytest.raises(UsageError, match="there is no such folder"):
        lab.open_lab([Path("nowhere")])
    assert not started


def test_copies_of_notebooks_are_never_written_over(tmp_path) -> None:
    folder = lab.notebooks_in(tmp_path / "mine")
    names = {path.name for path in NOTEBOOKS.glob("*.ipynb")}
    assert names <= {path.name for path in folder.iterdir()}
    (folder / "start.ipynb").write_text("mine")
    lab.notebooks_in(tmp_path / "mine")
    assert (folder / "start.ipynb").read_text() == "mine"
    (tmp_path / "file").write_text("")
    with pytest.raises(UsageError, match="name another --folder"):
        lab.notebooks_in(tmp_path / "file")
