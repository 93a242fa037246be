"""Owns records of numbers as one file: frozen dataclasses to an archive of arrays, and back.

Nothing in such a file is ever run: it holds plain arrays and a JSON tree that names classes, and
only dataclasses of this program are made from it.
"""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from datetime import date
from importlib import import_module
from pathlib import Path
from typing import Any, TypeVar, cast
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pyarrow as pa

_TREE = "tree"
_OF = "of"
_PACKAGE = __name__.partition(".")[0]
_AS_TEXT: Mapping[str, tuple[type, Callable[[Any], str], Callable[[str], Any]]] = {
    "zone": (ZoneInfo, str, ZoneInfo),
    "path": (Path, str, Path),
    "date": (date, date.isoformat, date.fromisoformat),
}
"""What is written as a text: its class, how it is written and how it is read."""
_SEVERAL: Mapping[str, type] = {"tuple": tuple, "list": list, "set": frozenset}
Record = TypeVar("Record")
Array = np.ndarray[Any, Any]


class UnreadableError(Exception):
    """A file that is no whole record of the class expected."""


def pack(record: Any, path: Path) -> None:
    """Write a record and all records in it.

    Parameters
    ----------
    record : dataclass
        Of numbers, texts, days, time zones, paths, arrays, frames of numbered rows, sequences,
        mappings, and such records. An array or record that stands in several places is written
        once, and comes back as one.
    path : Path
        An ``.npz`` file.

    Raises
    ------
    TypeError
        For anything else in the record: a fault of the program.
    """
    put = _Packing()
    tree = json.dumps(put.plain(record))
    put.arrays[_TREE] = np.frombuffer(tree.encode(), dtype=np.uint8)
    with path.open("wb") as file:
        np.savez(file, allow_pickle=False, **put.arrays)


def unpack(path: Path, kind: type[Record]) -> Record:
    """Read a record back.

    Parameters
    ----------
    path : Path
    kind : type
        What the file should hold.

    Raises
    ------
    FileNotFoundError
        Where there is no such file.
    UnreadableError
        Where it cannot be opened, is damaged, or holds something else.
    """
    try:
        # Read whole first: numpy leaves a file open that it cannot read.
        with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as archive:
            tree = json.loads(archive[_TREE].tobytes().decode())
            record = _Unpacking(archive).made(tree)
    except FileNotFoundError:
        raise
    except (
        *(OSError, EOFError, ValueError, LookupError, TypeError, AttributeError, ImportError),
        *(zipfile.BadZipFile, pa.ArrowException),
    ) as error:
        raise UnreadableError(str(path)) from error
    if not isinstance(record, kind):
        raise UnreadableError(str(path))
    return record


@dataclass
class _Packing:
    """Records as JSON can hold them, their arrays put aside under names."""

    arrays: dict[str, Array] = field(default_factory=dict)
    seen: dict[int, dict[str, Any]] = field(default_factory=dict)
    records: int = 0

    def plain(self, value: Any) -> Any:
        """Return a value as JSON can hold it."""
        if id(value) in self.seen:
            return self.seen[id(value)]
        if isinstance(value, np.ndarray):
            return self._array(value)
        if isinstance(value, pd.DataFrame):
            return {_OF: "frame", "name": self._aside(_arrow(value)), "objects": _objects(value)}
        if is_dataclass(value) and not isinstance(value, type):
            return self._record(value)
        if isinstance(value, Mapping):
            pairs = [[self.plain(key), self.plain(item)] for key, item in value.items()]
            return {_OF: "mapping", "items": pairs}
        for name, (kind, written, _) in _AS_TEXT.items():
            if isinstance(value, kind):
                return {_OF: name, "text": written(value)}
        several = next((name for name, kind in _SEVERAL.items() if isinstance(value, kind)), "")
        if several:
            items = sorted(value, key=repr) if several == "set" else value
            return {_OF: several, "items": [self.plain(item) for item in items]}
        if isinstance(value, slice):
            return {_OF: "slice", "items": [value.start, value.stop, value.step]}
        if isinstance(value, np.generic):
            return value.item()
        if value is None or isinstance(value, str | int | float):
            return value
        msg = f"{type(value).__name__} cannot be packed"
        raise TypeError(msg)

    def _record(self, value: Any) -> dict[str, Any]:
        number, self.records = self.records, self.records + 1
        inside = {
            one.name: self.plain(getattr(value, one.name)) for one in fields(value) if one.init
        }
        self.seen[id(value)] = {_OF: "again", "number": number}
        kind = [type(value).__module__, type(value).__qualname__]
        return {_OF: "record", "class": kind, "number": number, "fields": inside}

    def _array(self, value: Array) -> dict[str, Any]:
        if value.dtype.hasobject:
            items = [self.plain(item) for item in value.ravel()]
            told = {_OF: "objects", "shape": list(value.shape), "items": items}
        else:
            told = {_OF: "array", "name": self._aside(value)}
        self.seen[id(value)] = told
        return told

    def _aside(self, array: Array) -> str:
        name = f"a{len(self.arrays)}"
        self.arrays[name] = array
        return name


@dataclass
class _Unpacking:
    """The values that a tree describes, its arrays in an archive."""

    archive: Mapping[str, Array]
    arrays: dict[str, Array] = field(default_factory=dict)
    records: dict[int, Any] = field(default_factory=dict)

    def made(self, tree: Any) -> Any:
        """Make the value that a tree describes."""
        if not isinstance(tree, dict):
            return tree
        kind = tree[_OF]
        if kind == "array":
            return self._array(tree["name"])
        if kind == "frame":
            frame = pa.ipc.open_stream(self._array(tree["name"])).read_all().to_pandas()
            return frame.astype(dict.fromkeys(tree["objects"], object))
        if kind == "objects":
            array = np.empty(tree["shape"], dtype=object)
            array.ravel()[:] = [self.made(item) for item in tree["items"]]
            return array
        if kind == "record":
            inside = {name: self.made(item) for name, item in tree["fields"].items()}
            self.records[tree["number"]] = record = _class(*tree["class"])(**inside)
            return record
        if kind == "again":
            return self.records[tree["number"]]
        if kind == "mapping":
            return {self.made(key): self.made(item) for key, item in tree["items"]}
        if kind == "slice":
            return slice(*tree["items"])
        if kind in _AS_TEXT:
            return _AS_TEXT[kind][2](tree["text"])
        return _SEVERAL[kind](self.made(item) for item in tree["items"])

    def _array(self, name: str) -> Array:
        if name not in self.arrays:
            self.arrays[name] = self.archive[name]
        return self.arrays[name]


def _class(module: str, name: str) -> type:
    """Return a dataclass of this program by its name, and nothing else that a file may name."""
    if module.partition(".")[0] != _PACKAGE:
        msg = f"{module}.{name} is not of this program"
        raise ValueError(msg)
    found = getattr(import_module(module), name)
    if not (isinstance(found, type) and is_dataclass(found) and found.__module__ == module):
        msg = f"{module}.{name} is no record"
        raise ValueError(msg)
    return cast("type", found)


def _arrow(frame: pd.DataFrame) -> Array:
    """Return a frame as the bytes of an Arrow stream."""
    table = pa.Table.from_pandas(frame)
    stream = pa.BufferOutputStream()
    with pa.ipc.new_stream(stream, table.schema) as writer:
        writer.write_table(table)
    return np.frombuffer(stream.getvalue(), dtype=np.uint8)


def _objects(frame: pd.DataFrame) -> list[str]:
    """Return the columns whose texts come back from Arrow as another type than they had."""
    return [str(name) for name in frame.columns if frame[name].dtype == object]
