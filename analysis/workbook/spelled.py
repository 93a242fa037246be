"""Owns what is said of a name after a dot that is not there."""

from __future__ import annotations

from typing import NoReturn

from analysis.errors import NameNotThereError
from analysis.workbook.narrowing import nearest_of


class Spelled:
    """Answers a mistyped name with the nearest there is."""

    __slots__ = ()

    def __getattr__(self, name: str) -> NoReturn:
        """Refuse a name that is not there.

        Raises
        ------
        NameNotThereError
            An `AttributeError`, too.
        """
        known = [one for one in dir(type(self)) if not one.startswith("_")]
        if name.startswith("_") or name in known:  # Python asks, or what is there failed inside
            raise AttributeError(name)
        raise NameNotThereError(nearest_of(f"{type(self).__name__} has no", name, known))
