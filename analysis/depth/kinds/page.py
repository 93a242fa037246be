"""Owns the page of every key of `[gear.NAME]`, written from the parameters themselves."""

from __future__ import annotations

from dataclasses import MISSING, Field, fields
from typing import Any

from analysis.depth.kinds import KINDS, Gear, Part
from analysis.depth.kinds.examples import EXAMPLES
from analysis.depth.kinds.parts import Clip
from analysis.depth.lures import CLASSES, Lure
from analysis.depth.own_units import LINES, line_size

TITLE = """\
# Gear in boat.toml

Each gear that the log names is a table `[gear.NAME]` of `boat.toml`; a name with a space stands in
quotation marks. Only `kind` is required, and `parts` of a weighted or a flat line: every other key
takes its default. None of the defaults was measured. They are physically plausible, and a gear
that matters should be calibrated with a depth logger (`soaks`). All keys are in SI units, whatever
the tables are written in. Weights are in water.

A key without its unit takes a text with any unit of the quantity: `ball_mass_kg = 4.536` may be
written `ball_mass = "10 lb"` (or `ball_weight`), `line_diameter_mm = 0.30` as
`line_diameter = "0.012 in"`, `lump_weight_n = 0.27` as `lump_weight = "1 oz"`.
"""

LINES_INTRO = """\
## Lines by name

`line = "30 lb braid"` gives a line, or a part, its diameter and its weight in water. The rules are
from memory and makers differ: the doubt (one standard deviation) goes into the depth's. Give the
diameter where it was measured.

| kind | diameter, mm | doubt | weight in water, N/m | doubt | 30 lb, mm |
|---|---|---|---|---|---|
"""


def _row(spec: Field[Any]) -> str:
    """Write a key's row: unit, default and meaning."""
    default: Any = spec.default
    if default in ((), False):
        default = "false" if default is False else "none"
    elif spec.name == "roll_deg":
        text = ", ".join(f'"{setting:g}" = {roll:g}' for setting, roll in default)
        default = f"{{ {text} }}"
    shown = {MISSING: "required", None: "open"}.get(default, f"{default}")
    return f"| `{spec.name}` | {spec.metadata['unit']} | {shown} | {spec.metadata['meaning']} |"


def _table(kind: type[Gear] | type[Part] | type[Clip] | type[Lure], *hidden: str) -> str:
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
    lures = (
        "## Lures that dive\n\nA table `[lures]` of boat.toml: the lure's name in the log, and one "
        "of `diving`, `runs` or `lift_area_m2`. `diving` is "
        + ", ".join(f"`{word}` ({lift:g} m2)" for word, lift in CLASSES.items())
        + ". `runs` has `depth`, `line_out`, `speed`, `line` (or `line_diameter`) and may have "
        f"`tip_height`, each with its unit.\n\n{_table(Lure, 'name')}\n"
    )
    clips = f"## Weights clipped on\n\nThe list `clipped` of a line.\n\n{_table(Clip)}\n"
    return "\n".join([TITLE, *sections, parts, clips, lures, _lines(), _examples()])


def _lines() -> str:
    """Write the rules of lines named as on their label."""
    rows = []
    for kind, rule in LINES.items():
        grows = rule.weight_n_per_m
        weight = f"{grows:g} x lb" if grows else f"{rule.weight_at_any:g}"
        known = f"{rule.weight_doubt:.0%}" if rule.weight_doubt else "-"
        size = line_size("line", f"30 lb {kind}")
        rows.append(
            f"| {kind} | {rule.diameter_mm:g} x root of lb | {rule.diameter_doubt:.0%} | "
            f"{weight} | {known} | {size.diameter_mm:.2f} |"
        )
    return LINES_INTRO + "\n".join(rows) + "\n"


def _examples() -> str:
    """Write the worked examples."""
    found = [f"### {title}\n\n{words}\n\n```toml\n{toml}```\n" for title, words, toml in EXAMPLES]
    return "\n".join(["## Worked examples\n", *found])


def _first(kind: type[Gear]) -> str:
    """Return the first sentence of a kind's docstring."""
    return (kind.__doc__ or "").splitlines()[0]
