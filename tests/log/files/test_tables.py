"""Owns the tests of CSV files as spreadsheets and old programs write them."""

import pytest

from analysis.errors import LogError

STRIKES = "trip,time,rod,species,outcome,length,weight,note\n"


def test_utf8_with_or_without_byte_order_mark_is_the_same(read, season_files):
    text = season_files.STRIKES
    plain, marked = read(), read(strikes=b"\xef\xbb\xbf" + text.encode())
    assert plain.strikes.equals(marked.strikes)
    assert len(plain.strikes) == 3


def test_windows_line_ends_change_nothing(read, season_files):
    plain = read()
    windows = read(
        **{name: text.replace("\n", "\r\n") for name, text in season_files.TABLES.items()}
    )
    for name in season_files.TABLES:
        assert getattr(plain, name).equals(getattr(windows, name))


@pytest.mark.parametrize(
    ("encoding", "told"),
    [("latin-1", "Windows-1252"), ("utf-16", "UTF-16"), ("utf-16-le", "UTF-16-LE"), ("utf-8", "")],
)
def test_letters_of_any_common_encoding_are_read_and_told(read, encoding, told):
    rows = (STRIKES + "T1,07:00,P1,ørret,landed,,,fanget på sølvskje ved øya\n").encode(encoding)
    log = read(strikes=rows)
    assert log.strikes["species"].tolist() == ["ørret"]
    found = [note for note in log.notes if "read as" in note]
    assert found == ([f"strikes.csv: read as {told}"] if told else [])


def test_an_encoding_that_boat_toml_names_is_taken(read, season_files):
    boat = season_files.BOAT + '[reading]\nencoding = "mac_roman"\n'
    rows = (STRIKES + "T1,07:00,P1,ørret,landed,,,\n").encode("mac_roman")
    assert read(boat=boat, strikes=rows).strikes["species"].tolist() == ["ørret"]
    boat = boat.replace("mac_roman", "utf-8")
    with pytest.raises(LogError, match=r"strikes\.csv, line 2: this file is not UTF-8 text"):
        read(boat=boat, strikes=rows)


def test_bytes_that_are_no_text_are_refused(read):
    with pytest.raises(LogError, match=r"strikes\.csv: this file is not text"):
        read(strikes=b"trip,time,rod\nT1,\0\0\0\0,P1,1\n")


@pytest.mark.parametrize(
    ("delimiter", "word"), [(";", "semicolons"), ("\t", "tabs"), ("|", "vertical bars")]
)
def test_other_marks_between_columns_are_read_and_told(read, season_files, delimiter, word):
    plain = read()
    other = read(**{n: t.replace(",", delimiter) for n, t in season_files.TABLES.items()})
    for name in season_files.TABLES:
        assert getattr(plain, name).equals(getattr(other, name))
    assert f"trips.csv: its columns are separated by {word}" in other.notes


def test_semicolons_with_decimal_commas_are_read(read):
    log = read(strikes="trip;time;rod;length\nT1;07:00;P1;12,5\n")
    assert log.strikes["length_m"].tolist() == pytest.approx([12.5 * 0.0254])


def test_two_marks_that_fit_equally_well_are_asked(read, season_files):
    rows = "trip,time;rod,species;note\nT1,07:00;P1,a;b\n"
    boat = season_files.BOAT + '[columns.strikes]\n"time;rod" = "rod"\n"trip,time" = "trip"\n'
    with pytest.raises(LogError, match=r"may be separated by commas or semicolons.*delimiter = "):
        read(boat=boat, strikes=rows)


@pytest.mark.parametrize("text", ["", "\n\n", ",,,\n"])
def test_empty_table_is_an_error(read, text):
    with pytest.raises(
        LogError, match=r"strikes\.csv: this table is empty.*Remedy: write a header"
    ):
        read(strikes=text)


def test_header_only_strikes_are_no_strikes(read):
    log = read(strikes=STRIKES)
    assert len(log.strikes) == 0
    assert str(log.strikes["time"].dtype) == "datetime64[us, UTC]"


def test_header_only_trips_are_an_error(read):
    with pytest.raises(LogError, match=r"trips\.csv: this table has no trip"):
        read(trips="trip,date,start,end\n")


def test_columns_in_any_order_and_extra_ones_are_kept(read, season_files):
    rows = [line.split(",") for line in season_files.STRIKES.splitlines()]
    turned = "".join(",".join([*reversed(row), str(i)]) + "\n" for i, row in enumerate(rows))
    turned = turned.replace("trip,0", "trip,crew", 1)
    plain, other = read().strikes, read(strikes=turned).strikes
    assert other.drop(columns="crew").equals(plain)
    assert other["crew"].tolist() == ["1", "2", "3"]


def test_extra_column_may_not_pass_for_one_of_ours(read):
    log = read(strikes="trip,time,rod,length,length_m,line\nT1,07:00,P1,20,99,7\n")
    assert log.strikes["length_m"].tolist() == pytest.approx([0.508])
    assert log.strikes["length_m as written"].tolist() == ["99"]
    assert log.strikes["line"].tolist() == [2]
    assert log.strikes["line as written"].tolist() == ["7"]


def test_headings_are_matched_without_regard_to_case(read, season_files):
    header, rest = season_files.STRIKES.split("\n", 1)
    assert read(strikes=header.upper() + "\n" + rest).strikes.equals(read().strikes)


def test_own_headings_are_renamed(read, season_files):
    boat = season_files.BOAT + '[columns.strikes]\n"Fish on" = "time"\n'
    own = season_files.STRIKES.replace("trip,time", "trip,Fish on")
    assert read(boat=boat, strikes=own).strikes.equals(read().strikes)


def test_renaming_a_heading_that_is_not_there_is_noted(read, season_files):
    boat = season_files.BOAT + '[columns.strikes]\n"Fish on" = "time"\n'
    assert any('renames "Fish on", which is not there' in note for note in read(boat=boat).notes)


def test_heading_that_is_also_a_renamed_one_is_refused(read, season_files):
    boat = season_files.BOAT + '[columns.strikes]\n"Fish on" = "time"\n'
    twice = season_files.STRIKES.replace("note\n", "Fish on\n", 1)
    with pytest.raises(LogError, match=r"strikes\.csv, line 1, column time: two columns have this"):
        read(boat=boat, strikes=twice)


def test_duplicate_heading_is_refused_only_when_we_read_it(read):
    with pytest.raises(LogError, match=r"column rod: two columns have this name"):
        read(strikes="trip,time,rod,rod\nT1,07:00,P1,P2\n")
    log = read(strikes="trip,time,rod,sky,sky\nT1,07:00,P1,grey,blue\n")
    assert log.strikes[["sky", "sky again"]].to_numpy().tolist() == [["grey", "blue"]]


def test_missing_column_names_the_nearest_heading(read, season_files):
    own = season_files.STRIKES.replace("trip,time", "trip,tme")
    message = r'column time: this column is missing.*"tme" = "time" under \[columns\.strikes\]'
    with pytest.raises(LogError, match=message):
        read(strikes=own)


def test_quoted_fields_may_hold_commas_quotes_and_line_ends(read):
    rows = STRIKES + 'T1,07:00,P1,lake trout,landed,,,"big, ""old""\nfish"\nT1,oops,P1,,,,,\n'
    log = read(strikes=rows)
    assert log.strikes["note"].tolist() == ['big, "old"\nfish']
    assert log.strikes["line"].tolist() == [2]
    assert log.set_aside["row"].tolist() == [4]


def test_open_quotation_mark_does_not_swallow_rows(read):
    rows = STRIKES + 'T1,07:00,P1,lake trout,landed,,,"big\nT1,08:00,P1,,,,,\n'
    with pytest.raises(LogError, match=r"strikes\.csv, line 2: a quotation mark opens in this row"):
        read(strikes=rows)


def test_inches_mark_inside_a_field_is_text(read):
    rows = STRIKES + 'T1,07:00,P1,lake trout,landed,,,5" spoon\n'
    assert read(strikes=rows).strikes["note"].tolist() == ['5" spoon']


def test_rows_with_too_many_or_too_few_fields_are_set_aside(read):
    rows = STRIKES + "T1,07:00,P1,lake trout,landed,12,5,,\n" + "T1,07:10,P1\n"
    rows += "T1,07:20,P1,lake trout,landed,12,5,,,,,\n" + "T1,07:30,P1,a,landed,12,5,,surplus\n"
    log = read(strikes=rows)
    assert log.strikes["line"].tolist() == [2, 4]  # empty fields at the end do not count
    assert log.set_aside["row"].tolist() == [3, 5]
    assert log.set_aside["reason"].tolist() == [
        "the row has 3 fields, the header has 8",
        "the row has 9 fields, the header has 8",
    ]


def test_blank_lines_are_no_rows_but_count_as_lines(read):
    log = read(strikes=STRIKES + "\n,,,,,,,\nT1,07:00,P1,,,,,\n")
    assert log.rows.set_index("table").loc["strikes", "read"] == 1
    assert log.strikes["line"].tolist() == [4]


def test_folder_in_place_of_a_file_is_an_error(tmp_path, season_files, read):
    (tmp_path / "Dunlin-2026" / "casts.csv").mkdir(parents=True)
    with pytest.raises(LogError, match=r"casts\.csv: this file cannot be read"):
        read(casts=None)
