"""Owns records of numbers as one file: frozen dataclasses to an archive of arrays, and back.

Nothing in such a file is ever run: it holds plain arrays and a JSON tree that names classes, and
only classes that the reader lists are made from it.
"""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

_TREE = "tree"
_OF = "of"
Record = TypeVar("Record")


class UnreadableError(Exception):
    """A file that is no whole record of the classes expected."""


def pack(record: Any, path: Path) -> None:
    """Write a record and all records in it.

    Parameters
    ----------
    record : dataclass
        Of numbers, texts, arrays, tuples, mappings with text for keys, and such records.
    path : Path
        An ``.npz`` file. An array that stands in several places is written once.

    Raises
    ------
    TypeError
        For anything else in the record: a fault of the program.
    """
    arrays: dict[str, np.ndarray[Any, Any]] = {}
    seen: dict[int, str] = {}
    tree = json.dumps(_plain(record, arrays, seen))
    arrays[_TREE] = np.frombuffer(tree.encode(), dtype=np.uint8)
    with path.open("wb") as file:
        np.savez(file, allow_pickle=False, **arrays)


def unpack(path: Path, kind: type[Record], classes: Iterable[type]) -> Record:
    """Read a record back.

    Parameters
    ----------
    path : Path
    kind : type
        What the file should hold.
    classes : iterable of type
        All dataclasses that may be in it.

    Raises
    ------
    UnreadableError
        Where there is no such file, or it is damaged or of other classes.
    """
    known = {_name(one): one for one in (kind, *classes)}
    try:
        # Read whole first: numpy leaves a file open that it cannot read.
        with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as archive:
            tree = json.loads(archive[_TREE].tobytes().decode())
            record = _made(tree, archive, known, {})
    except (OSError, EOFError, ValueError, KeyError, TypeError, zipfile.BadZipFile) as error:
        raise UnreadableError(str(path)) from error
    if not isinstance(record, kind):
        raise UnreadableError(str(path))
    return record


def _name(kind: type) -> str:
    return f"{kind.__module__}.{kind.__qualname__}"


def _plain(value: Any, arrays: dict[str, np.ndarray[Any, Any]], seen: dict[int, str]) -> Any:
    """Return a value as JSON can hold it, its arrays put aside."""
    if isinstance(value, np.ndarray):
        if value.dtype.hasobject:
            msg = "an array of objects cannot be packed"
            raise TypeError(msg)
        if id(value) not in seen:
            seen[id(value)] = f"a{len(arrays)}"
            arrays[seen[id(value)]] = value
        return {_OF: "array", "name": seen[id(value)]}
    if is_dataclass(value) and not isinstance(value, type):
        inside = {
            field.name: _plain(getattr(value, field.name), arrays, seen)
            for field in fields(value)
            if field.init
        }
        return {_OF: "record", "class": _name(type(value)), "fields": inside}
    if isinstance(value, Mapping):
        return {_OF: "mapping", "items": {k: _plain(v, arrays, seen) for k, v in value.items()}}
    if isinstance(value, frozenset):
        return {_OF: "set", "items": sorted(_plain(item, arrays, seen) for item in value)}
    if isinstance(value, tuple | list):
        return {_OF: "tuple", "items": [_plain(item, arrays, seen) for item in value]}
    if isinstance(value, np.generic):
        return value.item()
    if value is None or isinstance(value, str | int | float):
        return value
    msg = f"{type(value).__name__} cannot be packed"
    raise TypeError(msg)


def _made(tree: Any, archive: Any, known: Mapping[str, type], read: dict[str, Any]) -> Any:
    """Make the value that a tree describes."""
    if not isinstance(tree, dict):
        return tree
    kind = tree[_OF]
    if kind == "array":
        name = tree["name"]
        if name not in read:
            read[name] = archive[name]
        return read[name]
    if kind == "record":
        inside = {name: _made(item, archive, known, read) for name, item in tree["fields"].items()}
        return known[tree["class"]](**inside)
    if kind == "mapping":
        return {name: _made(item, archive, known, read) for name, item in tree["items"].items()}
    items = tuple(_made(item, archive, known, read) for item in tree["items"])
    return frozenset(items) if kind == "set" else items
