"""Notebooks to pages and files put in place; knows nothing of fishing."""

import sys

_GRAMMAR = "rfc3987_syntax"

# `nbformat` checks notebooks by `jsonschema`, which where it can loads a grammar of international
# web addresses: a second, and no notebook's schema asks for one. A module that is None cannot be
# imported, and `jsonschema` then goes without.
if _GRAMMAR not in sys.modules:
    sys.modules[_GRAMMAR] = None  # type: ignore[assignment]
    try:
        import nbformat  # noqa: F401 - for its own sake
    finally:
        del sys.modules[_GRAMMAR]
