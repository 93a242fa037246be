"""Owns the taking of keys out of a boat.toml: each is checked, each fault names file and key."""

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from analysis.errors import LogError
from analysis.log.wording.spelling import nearest


class TomlKeys:
    """Take keys out of one boat.toml, with errors that name the file and the key."""

    def __init__(self, file: Path) -> None:
        """Begin with the file's name."""
        self.file = file

    def fail(self, problem: str, key: str, remedy: str, value: object = None) -> LogError:
        """Return an error that names file and key."""
        return LogError(problem, file=self.file, key=key, value=value, remedy=remedy)

    def refuse_unknown(self, table: Mapping[str, Any], known: Collection[str], where: str) -> None:
        """Refuse a table with a key that is not known."""
        for key in table:
            if key not in known:
                like = nearest(key, known)
                remedy = f"did you mean {like}?" if like else f"known keys: {', '.join(known)}"
                msg = "this key is not known"
                raise self.fail(msg, where + key, remedy)

    def text(self, table: Mapping[str, Any], key: str) -> str:
        """Return a text that must be there."""
        if key not in table:
            remedy = f'write {key} = "..." at the top of the file'
            msg = "this key is missing"
            raise self.fail(msg, key, remedy)
        value = table[key]
        if not isinstance(value, str) or not value.strip():
            msg = "this must be text"
            raise self.fail(msg, key, f'write {key} = "..."', value)
        return value.strip()

    def table(self, table: Mapping[str, Any], key: str, where: str = "") -> Mapping[str, Any]:
        """Return a table, empty where it is not there."""
        value = table.get(key, {})
        if not isinstance(value, dict):
            remedy = f"write it as a table: [{where}{key}]"
            msg = "this must be a table"
            raise self.fail(msg, where + key, remedy, value)
        return value

    def number(self, value: object, key: str, low: float, high: float) -> float:
        """Return a number within its limits."""
        if isinstance(value, bool) or not isinstance(value, int | float):
            msg = "this must be a number"
            raise self.fail(msg, key, "write a number", value)
        if not low <= value <= high:
            msg = f"this must lie between {low:g} and {high:g}"
            raise self.fail(msg, key, "check the number and its unit", value)
        return float(value)
