"""Owns what may be called from Python: gathered from the package itself, no list is kept by hand.

What stands at the top of `rodhours` is public, and so is every class of the workbook or of what it
shows that a public call returns.
"""

from __future__ import annotations

import inspect
import pkgutil
import typing
from collections.abc import Iterator
from functools import cache, cached_property
from importlib import import_module
from typing import Any

from analysis.show.base.html import Fragment
from analysis.show.workbook import api_page
from analysis.show.workbook.rows import Documented

_ROOMS = ("analysis.workbook.", "analysis.show.")
"""Whose classes are handed to a person; those of the models are named where they are returned."""


def api() -> Fragment:
    """Return the page of all that may be called from Python, made from the docstrings.

    Examples
    --------
    >>> "season.where" in api().html, "Parameters" in api().html
    (True, True)
    """
    return api_page.page(documented())


def documented() -> list[Documented]:
    """Return every public name with its call and docstring, in the order in which it is met.

    Examples
    --------
    >>> [one.name for one in documented()][:2]
    ['rodhours.example', 'rodhours.open']
    """
    package = import_module("rodhours")  # this very package, by the name that people call it
    found: list[Documented] = []
    classes: list[tuple[str, type]] = []
    for name in sorted(dir(package), key=str.swapcase):  # calls before classes
        what = getattr(package, name)
        if name.startswith("_") or not getattr(what, "__module__", "").startswith(_ROOMS):
            continue
        if isinstance(what, type):
            classes.append((_own_name(what), what))
        else:
            found.append(_entry(f"rodhours.{name}", what))
            classes += [(_own_name(of), of) for of in _returned(what)]
    met: list[type] = []
    while classes:
        place, of = classes.pop(0)
        if of in met:
            continue
        met.append(of)
        found.append(_entry(of.__name__, of))
        for name, member in _members(of):
            here = f"{place}.{name}"
            found.append(_entry(here, member))
            is_property = _called(member) is not member
            for given in _returned(_called(member)):
                classes.append((here if is_property else _own_name(given), given))
    return found


def _own_name(of: type) -> str:
    """Return what one of a class is called in the examples."""
    return of.__name__.lower()


def _members(of: type) -> Iterator[tuple[str, Any]]:
    """Give the public methods and properties of a class, those of its bases last."""
    seen = set()
    for base in of.__mro__:
        if not base.__module__.startswith(_ROOMS):
            continue
        for name, member in vars(base).items():
            is_one = inspect.isfunction(_called(member)) and not name.startswith("_")
            if is_one and name not in seen:
                seen.add(name)
                yield name, member


def _called(member: Any) -> Any:
    """Return the function behind a method or property; what is none as it is."""
    if isinstance(member, property):
        return member.fget
    if isinstance(member, cached_property):
        return member.func
    return getattr(member, "__func__", member)


def _entry(name: str, what: Any) -> Documented:
    behind = _called(what)
    is_call = inspect.isfunction(behind) and behind is what
    return Documented(
        name=name,
        call=_written(behind) if is_call else "",
        doc=inspect.getdoc(what) or "",
        is_class=isinstance(what, type),
    )


def _written(function: Any) -> str:
    """Write how a function is called, without types: those stand in its docstring."""
    signature = inspect.signature(function)
    plain = [
        one.replace(annotation=inspect.Parameter.empty)
        for one in signature.parameters.values()
        if one.name != "self"
    ]
    bare = inspect.Signature.empty
    return str(signature.replace(parameters=plain, return_annotation=bare))


def _returned(function: Any) -> list[type]:
    """Return the classes of ours that a function gives."""
    known = _classes() | function.__globals__
    told = typing.get_type_hints(function, localns=known).get("return")
    inside = (told, *typing.get_args(told))
    return [one for one in inside if isinstance(one, type) and one.__module__.startswith(_ROOMS)]


@cache
def _classes() -> dict[str, Any]:
    """Return all classes that the workbook names: some it imports only when they are asked for."""
    room = import_module("analysis.workbook")
    names = [found.name for found in pkgutil.iter_modules(room.__path__)]
    modules = [import_module(f"{room.__name__}.{name}") for name in names]
    return {
        name: value
        for module in modules
        for name, value in vars(module).items()
        if isinstance(value, type)
    }
