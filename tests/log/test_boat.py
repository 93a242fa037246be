"""Owns the tests of boat.toml: what is read from it, and how each mistake is named."""

import re

import pytest

from analysis.depth.kinds import Diver, Rigger
from analysis.errors import LogError
from analysis.log.boat import read_boat


@pytest.fixture
def boat(tmp_path, season_files):
    """Read the usual boat.toml with some of its text replaced."""

    def read(old="", new="", *, text=None):
        file = tmp_path / "boat.toml"
        text = season_files.BOAT if text is None else text
        assert old in text
        file.write_text(text.replace(old, new, 1) if old else text + new, encoding="utf-8")
        return read_boat(file)[0]

    return read


def test_what_is_written_is_read(boat):
    read = boat()
    assert (read.name, read.club) == ("Dunlin", "Ostermere Trolling Club")
    assert read.time_zone.key == "Europe/Oslo"
    assert read.units.speed == "mph"
    assert read.tip_height_of("P1") == 2.0
    assert (read.counter_scale_of("S1"), read.counter_scale_of("P1")) == (1.04, 1.0)
    assert isinstance(read.gears["diver"], Diver)
    assert isinstance(read.gears["rigger"], Rigger)
    assert read.name_boat is False


def test_what_may_be_absent(boat, season_files):
    text = season_files.BOAT[: season_files.BOAT.index("[rods]")].replace("club", "#club")
    read = boat(text=text)
    assert read.club is None
    assert read.tip_height_of("P1") == 1.5
    assert read.counter_scale_of("P1") == 1.0
    assert dict(read.gears) == {}
    assert read.water.density_kg_m3 == 999.7


def test_tip_height_per_rod(boat):
    read = boat("tip_height_m = 2.0", "tip_height_m = { P1 = 1.8 }")
    assert (read.tip_height_of("P1"), read.tip_height_of("S1")) == (1.8, 1.5)


def test_sharing_and_water(boat):
    read = boat(new="[sharing]\nname_boat = true\n[water]\ndensity_kg_m3 = 1025.0\n")
    assert read.name_boat is True
    assert read.water.density_kg_m3 == 1025.0


def test_windows_file_with_byte_order_mark(tmp_path, season_files):
    file = tmp_path / "boat.toml"
    file.write_bytes(b"\xef\xbb\xbf" + season_files.BOAT.replace("\n", "\r\n").encode())
    assert read_boat(file)[0].name == "Dunlin"


MISTAKES = [
    ('boat = "Dunlin"', "", 'key boat: this key is missing. Remedy: write boat = "..."'),
    ('"Dunlin"', "7", 'key boat: this must be text (found 7). Remedy: write boat = "..."'),
    ('"Dunlin"', '" "', "key boat: this must be text (found ' ')"),
    ('time_zone = "Europe/Oslo"', "", "key time_zone: this key is missing"),
    ("Europe/Oslo", "Europe/Olso", 'Remedy: did you mean "Europe/Oslo"?'),
    ("Europe/Oslo", "../etc", 'key time_zone: this time zone is not known (found "../etc")'),
    ("Europe/Oslo", "Europe", "key time_zone: this time zone is not known (found 'Europe')"),
    ("club", "clubb", "key clubb: this key is not known. Remedy: did you mean club?"),
    ("club", "zzz", "key zzz: this key is not known. Remedy: known keys: boat, club"),
    ('"mph"', '"knots"', "key units.speed: this is not a unit of speed (found 'knots')"),
    ('"mph"', '"knots"', "Remedy: under [units] write speed = one of mph, kn, km/h, m/s."),
    ('speed = "mph"', "", "key units.speed: this unit is missing"),
    ('speed = "mph"', 'sped = "mph"', "key units.sped: this key is not known"),
    ("tip_height_m = 2.0", "tip_heigth_m = 2.0", "Remedy: did you mean tip_height_m?"),
    ("tip_height_m = 2.0", "tip_height_m = 60", "rods.tip_height_m: this must lie between 0 and"),
    ("tip_height_m = 2.0", 'tip_height_m = "2"', "rods.tip_height_m: this must be a number"),
    ("2.0", "true", "key rods.tip_height_m: this must be a number (found True)"),
    ("{ S1 = 1.04 }", "{ S1 = 104 }", "rods.counter_scale.S1: this must lie between 0.5 and 2"),
    ("{ S1 = 1.04 }", "{ S1 = nan }", "rods.counter_scale.S1: this must lie between 0.5 and 2"),
    ("{ S1 = 1.04 }", "1.04", "key rods.counter_scale: this must be a table (found 1.04)"),
    ("", "[sharing]\nname_bote = true\n", "sharing.name_bote: this key is not known"),
    ("", '[sharing]\nname_boat = "no"\n', "sharing.name_boat: this must be true or false"),
    ("", '[columns.strike]\na = "time"\n', "columns.strike: this key is not known. Remedy: did"),
    ("", '[columns.strikes]\na = "tyme"\n', "Remedy: did you mean time?"),
    ('kind = "diver"', 'kind = "kite"', "key gear.diver.kind"),
    ('kind = "diver"', 'kind = "diver"\nweight = 1', "key gear.diver.weight"),
    ("", "[water]\ndensity = 1000\n", "key water.density"),
    ('"Dunlin"', "Dunlin", "line 1: this file cannot be read as TOML"),
]


@pytest.mark.parametrize(("old", "new", "message"), MISTAKES)
def test_mistakes_name_file_key_and_remedy(boat, old, new, message):
    message = message.replace('"../etc"', "'../etc'")
    with pytest.raises(LogError, match=re.escape(message)) as caught:
        boat(old, new)
    assert "boat.toml" in str(caught.value)
    assert "Remedy: " in str(caught.value)


def test_latin_1_boat_is_an_error(tmp_path, season_files):
    file = tmp_path / "boat.toml"
    file.write_bytes(season_files.BOAT.replace("Dunlin", "Ærfugl").encode("latin-1"))
    with pytest.raises(LogError, match=r"boat\.toml, line 1: this file is not UTF-8 text"):
        read_boat(file)
