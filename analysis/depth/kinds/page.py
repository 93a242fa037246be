"""Owns the page of every key of `[gear.NAME]`, written from the parameters themselves."""

from __future__ import annotations

from dataclasses import MISSING, Field, fields
from typing import Any

from analysis.depth.kinds import KINDS, Gear, Part

TITLE = """\
# Gear in boat.toml

Each gear that the log names is a table `[gear.NAME]` of `boat.toml`; a name with a space stands in
quotation marks. Only `kind` is required, and `parts` of a weighted or a flat line: every other key
takes its default. None of the defaults was measured. They are physically plausible, and a gear
that matters should be calibrated with a depth logger (`soaks`). All keys are in SI units, whatever
the tables are written in. Weights are in water.
"""


def _row(spec: Field[Any]) -> str:
    """Write a key's row: unit, default and meaning."""
    default: Any = spec.default
    if isinstance(default, tuple):
        text = ", ".join(f'"{setting:g}" = {roll:g}' for setting, roll in default)
        default = f"{{ {text} }}"
    shown = {MISSING: "required", None: "open"}.get(default, f"{default}")
    return f"| `{spec.name}` | {spec.metadata['unit']} | {shown} | {spec.metadata['meaning']} |"


def _table(kind: type[Gear] | type[Part], *hidden: str) -> str:
    rows = [_row(spec) for spec in fields(kind) if spec.name not in hidden]
    return "\n".join(["| key | unit | default | meaning |", "|---|---|---|---|", *rows])


def gear_page() -> str:
    """Return the page in Markdown, an example of every kind in it."""
    sections = [
        f"## {kind}\n\n{_first(cls)}\n\n```toml\n{cls.example}```\n\n{_table(cls, 'name')}\n"
        for kind, cls in KINDS.items()
    ]
    parts = (
        "## Parts of a line\n\nOnly the last part, at the rod, may leave its length open. A lump "
        "sits at the part's upper end. A drag coefficient left out is the gear's.\n\n"
        f"{_table(Part)}\n"
    )
    return "\n".join([TITLE, *sections, parts])


def _first(kind: type[Gear]) -> str:
    """Return the first sentence of a kind's docstring."""
    return (kind.__doc__ or "").splitlines()[0]
