"""The one writer: what it writes never says less, or more, than the number does."""

import math
import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

import analysis
from analysis import labels
from analysis.units import Units, to_si

FEET = Units(
    length="ft", depth="ft", speed="mph", temperature="F", fish_length="in", fish_weight="lb"
)
METRES = Units(
    length="m", depth="m", speed="kn", temperature="C", fish_length="cm", fish_weight="kg"
)


@pytest.mark.parametrize("units", [FEET, METRES])
@pytest.mark.parametrize(
    ("height", "unit"), [(2.5, "ft"), (10, "ft"), (1.5, "m"), (1.25, "m"), (0.5, "m"), (3, "m")]
)
def test_the_edges_of_a_band_read_apart_and_as_they_are(height, unit, units):
    edges_m = to_si(height * np.arange(12), "depth", unit)
    texts = [labels.band(a, b, units, unit=False) for a, b in pairwise(edges_m)]
    read = [tuple(float(end) for end in text.split("–")) for text in texts]
    true = edges_m / (0.3048 if units.depth == "ft" else 1.0)
    step = true[1]
    for band, (low, high) in enumerate(read):
        assert low == pytest.approx(true[band], abs=0.011 * step)
        assert high == pytest.approx(true[band + 1], abs=0.011 * step)
    assert all(above[1] == below[0] for above, below in pairwise(read))


def test_whole_edges_are_written_whole():
    assert labels.band(*to_si([30, 40], "depth", "ft"), FEET) == "30–40 ft"
    assert labels.band(4.5, 6.0, METRES) == "4.5–6 m"


@pytest.mark.parametrize("value", [0.3, 0.049, 0.0049, 0.0012, 0.00034])
def test_a_small_rate_keeps_two_digits(value):
    for write in (labels.rate, labels.ratio):
        assert float(write(value)) == pytest.approx(value, rel=0.05)


@pytest.mark.parametrize("write", [labels.rate, labels.ratio, labels.percent, labels.chance])
def test_what_is_not_nought_never_reads_nought(write):
    for value in 10.0 ** np.arange(-12, 0):
        text = write(value)
        assert text.startswith("under") or float(text.split()[0]) > 0
    assert write(math.nan) == "–"


def test_an_interval_is_written_as_its_rate_is():
    assert labels.interval(0.0012, 0.0049) == "0.0012 to 0.0049"
    assert labels.interval(0.94, 1.19, labels.ratio) == "0.94 to 1.19"
    assert labels.interval(math.nan, math.nan) == "–"


def test_no_other_place_writes_rates_bands_months_or_plurals_by_itself():
    """What the writer is for must not come back as a copy: formats of its own in the texts."""
    own = re.compile(
        r"strftime\(.%[Bb]|month_name|:\.[23]f\} strikes|:\.0f\} rod-hours|'' if \w+ == 1 else 's'"
        r"|\(s\)|:\.0f\}–|:\.0f\} %"
    )
    root = Path(analysis.__file__).parent
    found = [
        f"{path.relative_to(root)}: {line.strip()}"
        for path in sorted(root.rglob("*.py"))
        if path.name != "labels.py"
        for line in path.read_text(encoding="utf-8").splitlines()
        if own.search(line)
    ]
    assert found == []


@pytest.mark.parametrize(
    ("rate", "low", "high", "written"),
    [
        # the step is the power of ten that fits into a quarter of the interval
        (0.1014, 0.094, 0.108, ("0.101", "0.094 to 0.108")),
        (0.134, 0.114, 0.157, ("0.13", "0.11 to 0.16")),
        (0.335, 0.06, 0.802, ("0.3", "0.1 to 0.8")),
        (0.998, 0.59, 1.39, ("1.0", "0.6 to 1.4")),
        # and what a step would make nought keeps one digit
        (0.155, 0.012, 0.446, ("0.2", "0.01 to 0.4")),
        (0.0004, 0.0002, 0.0009, ("0.0004", "0.0002 to 0.001")),
        (1e-6, 1e-7, 1e-5, ("under 0.0001", "under 0.0001 to under 0.0001")),
        (0.25, 0.25, 0.25, ("0.250", "0.250 to 0.250")),
        (math.nan, math.nan, math.nan, ("–", "–")),
    ],
)
def test_a_rate_has_the_digits_that_its_interval_leaves_it(rate, low, high, written):
    assert labels.rate_and_interval(rate, low, high) == written
