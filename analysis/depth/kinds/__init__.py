"""The kinds of gear, one file each: its keys, loads, dial, priors, place on the boat and words."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from typing import Any

from analysis.depth.fields import table
from analysis.depth.kinds.diver import Diver
from analysis.depth.kinds.parted import FlatLine, WeightedLine
from analysis.depth.kinds.parts import Part
from analysis.depth.kinds.planer import Planer
from analysis.depth.kinds.protocol import Gear
from analysis.depth.kinds.rigger import Rigger
from analysis.depth.kinds.slider import Slider
from analysis.errors import GearError, toml_key

__all__ = [
    "KINDS",
    "Diver",
    "FlatLine",
    "Gear",
    "Part",
    "Planer",
    "Rigger",
    "Slider",
    "WeightedLine",
    "gear_from_toml",
]

_KINDS: tuple[type[Gear], ...] = (Diver, Rigger, WeightedLine, FlatLine, Slider, Planer)
KINDS: dict[str, type[Gear]] = {kind.kind: kind for kind in _KINDS}
"""Every kind by the word behind `kind =`; a new kind is named here and nowhere else."""


def gear_from_toml(name: str, mapping: Mapping[str, Any]) -> Gear:
    """Make a gear from its `[gear.NAME]` table of boat.toml.

    Parameters
    ----------
    name
        The gear's name in the log.
    mapping
        The table's keys and values. `kind` is required, and `parts` of a weighted or flat
        line; any other key left out takes the default of its kind.

    Raises
    ------
    GearError
        For an unknown kind or key (with the nearest known one), a missing part, or a value
        that is no number or physically absurd. It names the key and the remedy.

    Examples
    --------
    >>> gear_from_toml("diver", {"kind": "diver", "line_diameter_mm": 0.36}).line_diameter_mm
    0.36
    """
    where = toml_key("gear", name)
    given = dict(table(where, mapping))
    kind = given.pop("kind", None)
    if not isinstance(kind, str) or kind not in KINDS:
        near = difflib.get_close_matches(str(kind), KINDS, n=1, cutoff=0.5)
        hint = f"; did you mean {near[0]!r}?" if near else ""
        raise GearError(
            problem="the kind is missing" if kind is None else f"{kind!r} is no kind of gear",
            key=f"{where}.kind",
            remedy=f"write one of {', '.join(map(repr, KINDS))}{hint}",
        )
    return KINDS[kind].from_toml(name, given)
