"""Owns the name `rodhours`: every module of it is the module of the same name in `analysis`.

The wheel holds this file as the package ``rodhours``. Notebooks import by that name, so that an
``analysis.py`` of somebody's own beside a notebook is not taken for ours. As long as the process
lives, the name ``analysis`` is ours then; what was imported by it before stays as it was.
"""

import importlib
import sys
from collections.abc import Iterator, Sequence
from difflib import get_close_matches
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec, PathFinder
from importlib.util import find_spec, module_from_spec
from pathlib import Path
from types import ModuleType

_OURS = "analysis"
_BEGINNING = '"""rodhours:'


class _SameModule(MetaPathFinder, Loader):
    """Finds ``rodhours.x.y`` where ``analysis.x.y`` is, and gives that very module."""

    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        """Return how to load a module of ours under this name."""
        package, _, rest = fullname.partition(".")
        if package != __name__ or not rest or find_spec(f"{_OURS}.{rest}") is None:
            return None
        return ModuleSpec(fullname, self)

    def exec_module(self, module: ModuleType) -> None:
        """Put our module in the place of the empty one."""
        rest = module.__name__.partition(".")[2]
        sys.modules[module.__name__] = importlib.import_module(f"{_OURS}.{rest}")


def _candidates() -> Iterator[ModuleSpec | None]:
    """Give every package of our name that can be found, the one beside this first."""
    for entry in (str(Path(__file__).parents[1]), *sys.path):
        yield PathFinder.find_spec(_OURS, [entry])
    for finder in sys.meta_path:  # those of an installation that can be edited
        if finder is not PathFinder:
            yield finder.find_spec(_OURS, None)


def _is_ours(folders: Sequence[str] | None) -> bool:
    """Tell our package by how it begins; the name alone says nothing."""
    for folder in folders or ():
        first = Path(folder) / "__init__.py"
        if first.is_file() and first.read_text(encoding="utf-8").startswith(_BEGINNING):
            return True
    return False


def _claim() -> None:
    """Make the name `analysis` ours.

    Raises
    ------
    ImportError
        When the package is not there.
    """
    if _is_ours(getattr(sys.modules.get(_OURS), "__path__", None)):
        return
    for spec in _candidates():
        if spec is None or spec.loader is None or not _is_ours(spec.submodule_search_locations):
            continue
        for name in [name for name in sys.modules if name.partition(".")[0] == _OURS]:
            del sys.modules[name]
        module = sys.modules[_OURS] = module_from_spec(spec)
        spec.loader.exec_module(module)
        return
    msg = "rodhours is not whole: its modules are missing. Remedy: install it again."
    raise ImportError(msg)


_NAMES = {"open": "open_season", "example": "example", "Season": "Season"}
"""What stands at the top of the package, and its name in the room `workbook`."""


def __getattr__(name: str) -> object:
    """Fetch a name at the top of the package when it is first used: importing alone stays quick.

    Raises
    ------
    AttributeError
        For a name that is not there.
    """
    if name not in _NAMES:
        like = get_close_matches(name, _NAMES, 1)
        hint = f"; did you mean {like[0]!r}?" if like else ""
        msg = f"module {__name__!r} has no attribute {name!r}{hint}"
        raise AttributeError(msg)
    return getattr(importlib.import_module(f"{_OURS}.workbook"), _NAMES[name])


def __dir__() -> list[str]:
    """Name what `__getattr__` fetches, for those who press tab."""
    return sorted([*(name for name in globals() if name.startswith("__")), *_NAMES])


if __name__ == "rodhours":
    _claim()
    sys.meta_path.insert(0, _SameModule())
