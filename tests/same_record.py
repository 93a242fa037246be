"""Owns what tests compare records by: frozen dataclasses of arrays, frames and plain values."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass

import numpy as np
import pandas as pd


def same(one: object, other: object) -> bool:
    """Whether two records hold the same, field by field and type by type."""
    if isinstance(one, np.ndarray):
        return one.dtype == other.dtype and np.array_equal(
            one, other, equal_nan=one.dtype.kind == "f"
        )
    if isinstance(one, pd.DataFrame):
        return one.dtypes.equals(other.dtypes) and one.equals(other)
    if is_dataclass(one):
        return type(one) is type(other) and all(
            same(getattr(one, field.name), getattr(other, field.name)) for field in fields(one)
        )
    if isinstance(one, Mapping):
        return set(one) == set(other) and all(same(one[key], other[key]) for key in one)
    if isinstance(one, tuple | list):
        return type(one) is type(other) and len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, float) and np.isnan(one):
        return np.isnan(other)
    return one == other
