"""Owns what must hold of every log: rows conserved, order and units without influence."""

import tempfile
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from analysis.log import read_log
from analysis.units import UNITS, from_si

# each example reads files: shrinking a failure would take minutes
ROOM = settings(max_examples=15, phases=[Phase.explicit, Phase.reuse, Phase.generate])
JUNK = st.one_of(
    st.sampled_from(["", "-1", "12,5", "1,250", "25:00", "2026-03-29 02:30", "T1", "divr", "1e9"]),
    st.text(st.characters(exclude_categories=["Cs"], exclude_characters='"\x00\r'), max_size=8),
)


def table_of(header, rows):
    quoted = [",".join(f'"{cell}"' for cell in row) for row in rows]
    return "\n".join([header, *quoted]) + "\n"


@ROOM
@given(data=st.data())
def test_rows_read_are_rows_kept_and_rows_set_aside(season_files, data):
    texts = {}
    for name in ("sets", "strikes", "readings", "casts", "soaks"):
        header, *lines = season_files.TABLES[name].splitlines()
        rows = [line.split(",") for line in lines]
        rows += data.draw(st.lists(st.sampled_from(rows).map(list), max_size=3))
        for row in rows:
            row[:] = [cell if data.draw(st.integers(0, 6)) else data.draw(JUNK) for cell in row]
        rows = [row for row in rows if any(cell.strip() for cell in row)]
        texts[name] = (table_of(header, rows), len(rows))
    with tempfile.TemporaryDirectory() as folder:
        log = read_log(season_files.write(Path(folder), **{n: t for n, (t, _) in texts.items()}))
    counted = log.rows.set_index("table")
    assert (counted["read"] == counted["kept"] + counted["set_aside"]).all()
    for name, (_, written) in texts.items():
        frame, aside = getattr(log, name), log.set_aside.loc[log.set_aside["table"] == name]
        assert counted.loc[name].tolist() == [written, len(frame), len(aside)]
        # every row is in exactly one of the two, under its own line
        assert frame["line"].is_unique
        assert aside["row"].is_unique
        assert not set(frame["line"]) & set(aside["row"])
    for text in ("reason", "remedy"):
        assert (log.set_aside[text] != "").all()
        assert (log.changed[text] != "").all()
    kept = {name: set(getattr(log, name)["line"]) for name in season_files.TABLES}
    assert all(row in kept[table] for table, row in log.changed[["table", "row"]].to_numpy())


@ROOM
@given(data=st.data())
def test_order_of_rows_changes_nothing(season_files, data):
    extra = {
        "sets": (
            "T1,P1,port,diver,1,,,6,spoon,06:00,08:00,",
            "T1,P1,port,diver,1,80,,,,07:00,07:30,",
        ),
        "strikes": ("T1,05:00,P1,,,,,", "T1,08:00,P1,lake trout,landed,24,5.5,"),
        "readings": ("T1,07:00,2.8,ground,59",),
    }
    first = {name: season_files.add(name, *rows) for name, rows in extra.items()}
    first = season_files.TABLES | first
    second = {}
    for name, text in first.items():
        header, *lines = text.splitlines()
        second[name] = "\n".join([header, *data.draw(st.permutations(lines))]) + "\n"
    with tempfile.TemporaryDirectory() as folder:
        one = read_log(season_files.write(Path(folder) / "a", **first))
        other = read_log(season_files.write(Path(folder) / "b", **second))
    for name in season_files.TABLES:
        left, right = getattr(one, name), getattr(other, name)
        pd.testing.assert_frame_equal(left.drop(columns="line"), right.drop(columns="line"))
    pd.testing.assert_frame_equal(one.rows, other.rows)
    assert sorted(one.set_aside["column"]) == sorted(other.set_aside["column"])


QUANTITY = {
    **{"line_out": "length", "lead": "length", "leader_length": "length", "depth": "depth"},
    **{"probe_depth": "depth", "speed": "speed", "surface_temp": "temperature"},
    **{"depth_temp": "temperature", "temp": "temperature"},
    **{"length": "fish_length", "weight": "fish_weight"},
}
SI_TABLES = {
    "sets": [
        *({"line_out": 24.5, "lead": np.nan, "leader_length": 1.8}, {"line_out": 500.0}),
        *({"line_out": 0.1, "lead": 3.0}, {"line_out": 36.25, "leader_length": 0.0}),
    ],
    "strikes": [{"length": 0.62, "weight": 2.4}, {"length": 3.0}, {"weight": 150.0}],
    "readings": [
        *({"speed": 1.1, "surface_temp": 15.5, "depth_temp": 7.25, "probe_depth": 21.5},),
        *({"speed": 0.0, "surface_temp": -2.0}, {"speed": 10.0, "surface_temp": 40.0}),
    ],
    "casts": [
        {"depth": 0.0, "temp": 15.5},
        {"depth": 12.5, "temp": 9.1},
        {"depth": 300, "temp": 4},
    ],
    "soaks": [{"line_out": 24.5, "speed": 1.1, "depth": 12.75}],
}


def written_in(units, season_files):
    """Write the numbers of the usual season's rows in some units, to ten digits."""
    texts = {}
    for name, rows in SI_TABLES.items():
        header, *lines = season_files.TABLES[name].splitlines()
        names = header.split(",")
        names += [key for row in rows for key in row if key not in names]
        names = list(dict.fromkeys(names))
        out = [",".join(names)]
        for line, values in zip(lines, rows, strict=False):
            cells = dict(zip(header.split(","), line.split(","), strict=True))
            for key in names:
                if key in QUANTITY:
                    quantity = QUANTITY[key]
                    value = float(from_si(values.get(key, np.nan), quantity, units[quantity]))
                    cells[key] = "" if np.isnan(value) else f"{value:.10g}"
            out.append(",".join(cells[key] for key in names))
        texts[name] = "\n".join(out) + "\n"
    boat = season_files.BOAT
    for quantity, unit in units.items():
        usual = f'\n{quantity} = "{UNITS[quantity][0]}"'
        assert usual in boat
        boat = boat.replace(usual, f'\n{quantity} = "{unit}"')
    return {"boat": boat, **texts}


@ROOM
@given(units=st.fixed_dictionaries({q: st.sampled_from(u) for q, u in UNITS.items()}))
def test_units_of_the_log_change_nothing(season_files, units):
    usual = {quantity: names[0] for quantity, names in UNITS.items()}
    with tempfile.TemporaryDirectory() as folder:
        first = season_files.write(Path(folder) / "a", **written_in(usual, season_files))
        second = season_files.write(Path(folder) / "b", **written_in(units, season_files))
        one, other = read_log(first), read_log(second)
    assert one.set_aside.empty
    assert other.set_aside.empty
    assert one.changed.empty
    assert other.changed.empty
    for name in season_files.TABLES:
        pd.testing.assert_frame_equal(
            getattr(one, name), getattr(other, name), rtol=1e-8, atol=1e-8
        )


def test_the_written_numbers_are_the_si_ones(tmp_path, season_files):
    units = {quantity: names[-1] for quantity, names in UNITS.items()}
    log = read_log(season_files.write(tmp_path, **written_in(units, season_files)))
    assert log.strikes.sort_values("line")["weight_kg"].tolist() == pytest.approx(
        [2.4, np.nan, 150.0], nan_ok=True
    )
    speeds = log.readings.sort_values("line")["speed_mps"].tolist()
    assert speeds == pytest.approx([1.1, 0.0, 10.0])
