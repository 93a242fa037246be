"""Owns the tests of who may be told what: audiences, merged cells, what subtraction leaves."""

import itertools
from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.log.boat import Boat, read_boat
from analysis.weekly.disclosure import (
    CLUB,
    ONE_BOAT,
    PAIR,
    SharingError,
    audience_of,
    merge_neighbours,
    merge_small,
    stands,
)
from analysis.weekly.disclosure_audit import gives_away, parts_told

MakeBoat = Callable[[str, bool], Boat]

CELLS = st.lists(
    st.dictionaries(st.sampled_from("ABCDE"), st.floats(0.1, 50.0), max_size=5),
    min_size=1,
    max_size=8,
)


@pytest.fixture
def make_boat(tmp_path, season_files) -> MakeBoat:
    def make(name: str, name_boat: bool) -> Boat:
        file = tmp_path / "boat.toml"
        text = season_files.BOAT.replace('"Dunlin"', f'"{name}"')
        sharing = f"[sharing]\nname_boat = {str(name_boat).lower()}\n"
        file.write_text(text.replace("[gear.diver]", sharing + "[gear.diver]", 1))
        return read_boat(file)[0]

    return make


def test_one_boat_reports_to_itself_whatever_its_folders(make_boat: MakeBoat) -> None:
    audience = audience_of([make_boat("Ant", False), make_boat(" ANT", False)])
    assert (audience.kind, audience.least) == (ONE_BOAT, 1)


def test_two_boats_must_both_allow_it(make_boat: MakeBoat) -> None:
    both = [make_boat("Ant", True), make_boat("Bee", True)]
    assert (audience_of(both).kind, audience_of(both).least) == (PAIR, 2)
    with pytest.raises(SharingError, match=r"two boats.*subtracting.*Remedy: add the log of a thi"):
        audience_of([make_boat("Ant", True), make_boat("Bee", False)])


def test_a_boat_that_allows_it_in_one_year_only_does_not_allow_it(make_boat: MakeBoat) -> None:
    boats = [make_boat("Ant", True), make_boat("Bee", True), make_boat("Bee", False)]
    with pytest.raises(SharingError, match="not both allow it"):
        audience_of(boats)


def test_three_boats_are_a_club_even_where_all_allow_to_be_named(make_boat: MakeBoat) -> None:
    audience = audience_of([make_boat(name, True) for name in ("Ant", "Bee", "Cod")])
    assert (audience.kind, audience.least) == (CLUB, 3)


def total(cells: list[dict[str, float]]) -> dict[str, float]:
    """Add up cells boat by boat, by pandas and not by the code that is tested."""
    return pd.DataFrame(cells).sum().to_dict()


@given(CELLS)
def test_neighbours_are_merged_into_groups_that_stand_or_into_one(
    cells: list[dict[str, float]],
) -> None:
    groups = merge_neighbours(cells, 3)
    assert [index for group in groups for index in group] == list(range(len(cells)))
    if len(groups) > 1:
        for group in groups:
            parts = total([cells[index] for index in group])
            big = max(parts.values())
            assert sum(part >= 0.05 * big for part in parts.values() if part > 0) >= 3


@given(CELLS)
def test_no_way_to_merge_neighbours_tells_more(cells: list[dict[str, float]]) -> None:
    """Try every way to cut the row of cells."""
    most = 1
    for cuts in range(2 ** (len(cells) - 1)):
        edges = [0, *(i + 1 for i in range(len(cells) - 1) if cuts >> i & 1), len(cells)]
        parts = [cells[a:b] for a, b in itertools.pairwise(edges)]
        if all(stands(total(part), 3) for part in parts):
            most = max(most, len(parts))
    assert len(merge_neighbours(cells, 3)) == most


@given(CELLS)
def test_what_is_left_of_the_total_stands_too(cells: list[dict[str, float]]) -> None:
    named = {f"species {number}": cell for number, cell in enumerate(cells)}
    told, merged = merge_small(named, 3)
    filled = {name for name, cell in named.items() if cell}
    assert sorted([*told, *merged]) == sorted(filled)
    assert all(stands(named[name], 3) for name in told)
    if told and merged:
        assert stands(total([named[name] for name in merged]), 3)


def test_least_of_one_tells_every_cell_apart() -> None:
    cells = [{"A": 1.0}, {"A": 0.2}, {"A": 30.0}]
    assert merge_neighbours(cells, 1) == [[0], [1], [2]]
    assert merge_small({"a": cells[0], "b": cells[2]}, 1) == (["b", "a"], [])


def works_out(told: np.ndarray, boats: list[str]) -> bool:
    """Tell by brute force whether one boat can work out a sum over another's atoms alone.

    Independent of ranks: for each atom of the other boat, look by least squares for multiples of
    the figures that hold this atom once and no atom of a third boat.
    """
    of = np.array(boats)
    for knows in set(boats):
        for other in set(boats) - {knows}:
            third = told[:, (of != knows) & (of != other)]
            for atom in np.flatnonzero(of == other):
                system = np.vstack([third.T, told[:, [atom]].T])
                wanted = np.append(np.zeros(third.shape[1]), 1.0)
                found = np.linalg.lstsq(system, wanted, rcond=None)[0]
                if np.allclose(system @ found, wanted, atol=1e-8):
                    return True
    return False


@given(st.integers(0, 10_000))
def test_audit_agrees_with_brute_force(seed: int) -> None:
    rng = np.random.default_rng(seed)
    boats = rng.choice(list("ABCD"), 7).tolist()
    atoms = pd.DataFrame({"boat": boats, "band": rng.integers(0, 3, 7), "lure": rng.choice(7, 7)})
    tables = {"band": [(0,), (1, 2)], "lure": [(0, 1, 2), (3, 4, 5, 6)]}
    told = parts_told(atoms, tables)
    assert gives_away(told, boats) == works_out(told, boats)


def test_two_tables_that_are_safe_alone_can_give_away_a_boat_together() -> None:
    """All of band 0 less all on lure x is what D did there on y less what it did deeper on x."""
    atoms = pd.DataFrame(
        [("A", 0, "x"), ("B", 0, "x"), ("D", 0, "y"), ("D", 1, "x"), ("A", 1, "y"), ("C", 1, "y")],
        columns=["boat", "band", "lure"],
    )
    bands, lures = {"band": [(0,), (1,)]}, {"lure": [("x",), ("y",)]}
    boats = list(atoms["boat"])
    assert not gives_away(parts_told(atoms, bands), boats)
    assert not gives_away(parts_told(atoms, lures), boats)
    assert gives_away(parts_told(atoms, bands | lures), boats)
