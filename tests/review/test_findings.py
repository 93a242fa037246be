"""Owns the tests of the table of findings."""

from crafted_logs import sound, written

from analysis.effort import count_effort
from analysis.log import read_log
from analysis.rates.build_exposure import BoatSeason
from analysis.review.findings import COLUMNS, findings_table


def test_each_cause_is_one_row_with_its_lines_and_what_it_costs(tmp_path, season_files):
    rows = sound()
    rows["sets"][0]["line_out"] = ""  # 06:00 to 07:00, with the strike that ended it
    rows["sets"][1]["line_out"] = ""  # 07:00 to 07:50
    rows["readings"][30]["speed"] = "15"
    folder = season_files.write(tmp_path / "log", casts=None, soaks=None, **written(rows))
    log = read_log(folder)
    frame = findings_table([BoatSeason.of(log, count_effort(log))])
    assert tuple(frame) == COLUMNS
    told = ["table", "column", "count", "lines", "doubted", "strikes"]
    assert frame[told].to_numpy().tolist() == [
        ["sets", "line_out", 2, "2 3", False, 1],
        ["readings", "speed", 1, "32", True, 0],
    ]
    assert frame["rod_hours"].round(2).tolist() == [1.83, 0.0]
