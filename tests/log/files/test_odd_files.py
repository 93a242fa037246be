"""Owns the tests of files that are none, and of tables of absurd width."""

import os
import resource
import signal
import time
from pathlib import Path

import pytest

from analysis.errors import LogError
from analysis.log import read_log
from analysis.report.depth_command import write_depths
from analysis.report.fingerprints import inputs_digest

NO_FILE = r"this file cannot be read \(it is a folder, a pipe or a device\)"


@pytest.fixture(autouse=True)
def _ends():
    """End a test that waits for a pipe, or reads a file without an end."""

    def stop(number, frame):
        msg = "still reading after a minute"
        raise TimeoutError(msg)

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(60)
    yield
    signal.alarm(0)
    signal.signal(signal.SIGALRM, before)


@pytest.fixture
def folder(tmp_path, season_files):
    """Write the usual season."""
    return season_files.write(tmp_path / "Dunlin-2026")


def spoil(file, kind):
    """Put what is no file in a file's place."""
    file.unlink()
    if kind == "pipe":
        os.mkfifo(file)
    elif kind == "folder":
        file.mkdir()
    else:
        file.symlink_to("/dev/zero")


@pytest.mark.parametrize("name", ["casts.csv", "boat.toml"])
@pytest.mark.parametrize("kind", ["pipe", "folder", "device"])
def test_what_is_no_ordinary_file_is_refused_at_once(folder, name, kind):
    spoil(folder / name, kind)
    with pytest.raises(LogError, match=NO_FILE):
        read_log(folder)


@pytest.mark.parametrize("kind", ["pipe", "device"])
def test_the_weekly_look_at_the_files_ends_too(folder, kind):
    whole = inputs_digest([folder])
    spoil(folder / "casts.csv", kind)
    assert inputs_digest([folder]) != whole


@pytest.mark.parametrize("kind", ["pipe", "device"])
def test_the_depth_command_refuses_them_too(folder, kind):
    table = folder / "casts.csv"
    spoil(table, kind)
    with pytest.raises(LogError, match=NO_FILE):
        write_depths(table, folder / "boat.toml", folder / "out.csv")


def test_a_link_to_nothing_is_an_error(folder):
    (folder / "casts.csv").unlink()
    (folder / "casts.csv").symlink_to(folder / "nowhere.csv")
    with pytest.raises(LogError, match=r"casts\.csv: this file cannot be read \(No such file"):
        read_log(folder)


def test_a_folder_that_may_not_be_read_is_an_error(folder, monkeypatch):
    # a superuser may read everything, so the refusal of the system is played
    def refuse(self):
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(Path, "iterdir", refuse)
    with pytest.raises(LogError, match=r"this folder cannot be read \(Permission denied\)"):
        read_log(folder)


def test_five_thousand_columns_are_read_in_time_that_grows_with_their_number(folder, season_files):
    header, *rows = season_files.STRIKES.splitlines()

    def seconds(count):
        wide = [f"{header},{','.join(f'x{i}' for i in range(count))}"]
        wide += [f"{row},{','.join(map(str, range(count)))}" for row in [*rows, rows[0]]]
        (folder / "strikes.csv").write_text("\n".join(wide) + "\n")
        begin = time.process_time()  # a busy machine has no part in it
        log = read_log(folder)
        took = time.process_time() - begin
        assert log.strikes[f"x{count - 1}"].tolist() == [str(count - 1)] * 3
        assert log.set_aside["reason"].tolist() == ["duplicate row of line 2"]
        return took

    seconds(10)  # what is imported when first used
    assert seconds(5000) < 12.0 * seconds(1000)


def refused(folder, reason):
    """Refuse a folder within two seconds of work and 500 MB."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    begin = time.process_time()
    with pytest.raises(LogError, match=reason):
        read_log(folder)
    assert time.process_time() - begin < 2.0
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 500_000  # kB


@pytest.mark.parametrize("name", ["sets.csv", "boat.toml"])
def test_two_gigabytes_are_refused_unread(folder, name):
    with (folder / name).open("ab") as file:
        file.truncate(2_000_000_000)  # a hole: it takes no room on the disk
    refused(folder, rf"{name}: this file holds 2000 MB, and no season is as large")


def test_ten_thousand_columns_are_refused(folder):
    file = folder / "strikes.csv"
    head, *rows = file.read_text().splitlines()
    more = ",".join(f"x{i}" for i in range(10_000))
    file.write_text("\n".join(f"{row},{more}" for row in [head, *rows]))
    refused(folder, r"strikes\.csv, line 1: this table has 100\d\d columns, and no log has as many")


@pytest.mark.parametrize(
    "deep",
    [
        "x = " + "[" * 100_000 + "]" * 100_000,
        "x = " + "{a=" * 5000 + "1" + "}" * 5000,
        ".".join("a" * 100_000) + " = 1",
        "[" + ".".join("a" * 100_000) + "]",
    ],
    ids=["lists", "tables", "key", "heading"],
)
def test_a_boat_toml_nested_without_end_is_refused(folder, deep):
    file = folder / "boat.toml"
    file.write_text(f"{deep}\n{file.read_text()}")
    refused(folder, r"boat\.toml.*: this file nests its tables too deep")


def test_an_endless_boat_toml_is_refused(folder):
    file = folder / "boat.toml"
    file.write_text(file.read_text() + "# more\n" * 100_000)
    refused(folder, r"boat\.toml: this file has \d+ characters, and no boat\.toml is as long")


def test_a_link_to_itself_is_refused(folder):
    (folder / "casts.csv").unlink()
    (folder / "casts.csv").symlink_to(folder / "casts.csv")
    refused(folder, r"casts\.csv: this file cannot be read \(Too many levels of symbolic links\)")


def test_a_table_linked_from_outside_is_refused(folder, tmp_path):
    outside = tmp_path / "secrets.csv"
    outside.write_text((folder / "casts.csv").read_text())
    (folder / "casts.csv").unlink()
    (folder / "casts.csv").symlink_to(outside)
    refused(folder, r"casts\.csv: this is a link out of the season folder\. Remedy: put the file")


@pytest.mark.parametrize("name", ["loggers", "tracks"])
def test_a_folder_linked_from_outside_is_refused(folder, tmp_path, name):
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "a.log").write_text("$GPRMC")
    (folder / name).symlink_to(tmp_path / "elsewhere")
    refused(folder, r"a\.log: this is a link out of the season folder")


def test_a_link_within_the_folder_is_read(folder):
    (folder / "casts.csv").rename(folder / "depths.dat")
    (folder / "casts.csv").symlink_to("depths.dat")
    assert len(read_log(folder).casts) == 4


def test_a_season_folder_that_is_a_link_is_read(folder, tmp_path):
    (tmp_path / "link").symlink_to(folder)
    assert len(read_log(tmp_path / "link").trips) == 2


@pytest.mark.parametrize("megabytes", [100, 400, 599])
def test_a_table_with_a_hole_is_refused(folder, megabytes):
    with (folder / "sets.csv").open("ab") as file:
        file.truncate(megabytes * 1_000_000)
    refused(folder, r"sets\.csv: this file is not text: it holds bytes that no text has")


def test_a_large_table_without_our_columns_is_refused_by_its_header(folder):
    row = "2026-07-04,1,2,3,4,5,6,7,8,9\n"
    with (folder / "sets.csv").open("w") as file:
        file.write("when,a,b,c,d,e,f,g,h,i\n")
        for _ in range(100):
            file.write(row * 40_000)
    refused(folder, r"sets\.csv, line 1, column trip: this column is missing")
    (folder / "sets.csv").unlink()


@pytest.mark.parametrize(("first", "last"), [('"P1"', "P1"), ("P1", "P1,P2")])
def test_a_large_table_that_is_not_plain_is_refused_before_it_is_read(folder, first, last):
    file = folder / "strikes.csv"
    head = "trip,time,rod\n"
    file.write_text(head + f"T1,2026-07-04 07:00,{first}\n")
    with file.open("a") as more:
        more.write("T1,2026-07-04 07:00,P1\n" * 2_000_000 + f"T1,2026-07-04 07:00,{last}\n")
    refused(folder, r"strikes\.csv: this file holds 46 MB, and its rows are not plain")


@pytest.mark.parametrize("pattern", ["(?P<rod>(?:P|PP)+)!", "(?P<rod>(?:(?:P|PP)+x?)+)!"])
def test_a_pattern_that_never_ends_is_stopped(folder, pattern):
    boat = folder / "boat.toml"
    boat.write_text(boat.read_text() + f"[patterns.strikes]\nrod = '{pattern}'\n")
    strikes = folder / "strikes.csv"
    strikes.write_text(strikes.read_text().replace("P1", "P" * 60))
    refused(folder, r"key patterns\.strikes\.rod: this pattern is not done with the column after")


@pytest.mark.parametrize("pattern", ["(?P<rod>((a{99}){99}){99})", "(?P<rod>x{1,65000})"])
def test_a_pattern_that_fills_the_memory_is_refused(folder, pattern):
    boat = folder / "boat.toml"
    boat.write_text(boat.read_text() + f"[patterns.strikes]\nrod = '{pattern}'\n")
    refused(folder, "this pattern repeats its parts more than 1000 times")
