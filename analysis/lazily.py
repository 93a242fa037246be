"""Owns packages whose names are imported when first asked for, so that what is small is quick."""

from collections.abc import Mapping
from importlib import import_module
from typing import Any


def fetch(package: str, places: Mapping[str, str], name: str) -> Any:
    """Return a name of a package from the module that it stands in.

    Parameters
    ----------
    package : str
    places : mapping of str to str
        Name to the module of the package.
    name : str

    Raises
    ------
    AttributeError
        For a name that is not there.

    Examples
    --------
    >>> fetch("collections", {"Mapping": "abc"}, "Mapping") is Mapping
    True
    """
    if name not in places:
        msg = f"module {package!r} has no attribute {name!r}"
        raise AttributeError(msg)
    return getattr(import_module(f"{package}.{places[name]}"), name)
