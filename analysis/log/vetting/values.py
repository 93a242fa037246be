"""Owns the judgement of single cells: text to SI values, and whether a value can be."""

import math
import re
from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis.depth.kinds import Gear
from analysis.errors import toml_table
from analysis.log.files.words import coded, worded
from analysis.log.schema import Field
from analysis.log.vetting.rows import Mask, Vetting
from analysis.log.wording.spelling import nearest
from analysis.units import UNITS, from_si, to_si

Texts = npt.NDArray[np.object_]

_NUMBER = re.compile(r"[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?", re.ASCII)
# 1,250 may be one and a quarter or one thousand: nobody can tell
_UNCLEAR = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}", re.ASCII)


def _written_number(text: str) -> tuple[float, str]:
    """Return the number a text stands for (NaN for none), and how it is written.

    Examples
    --------
    >>> [_written_number(text) for text in ("2.5", "12,5", "1,250", "80 ft")]
    [(2.5, 'number'), (12.5, 'decimal comma'), (nan, 'unclear'), (nan, 'text')]
    """
    if not _NUMBER.fullmatch(text):
        return math.nan, "text" if text else "missing"
    if _UNCLEAR.fullmatch(text):
        return math.nan, "unclear"
    return float(text.replace(",", ".")), "decimal comma" if "," in text else "number"


def judge_values(vet: Vetting) -> None:
    """Turn text, numbers and choices into clean columns; judge what is bad or missing."""
    for field in vet.fields:
        text = vet.text[field.name]
        if field.kind == "number":
            _numbers(vet, field, text)
            continue
        if field.kind == "choice":
            _choices(vet, field, text)
            continue
        vet.clean[field.clean] = text
        if field.value_needed and field.kind == "text":
            missing = (text == "").to_numpy()
            vet.set_aside(missing, field.name, "missing", f"write the {field.name}")


def _numbers(vet: Vetting, field: Field, text: "pd.Series[str]") -> None:
    codes, words = coded(text)
    read = [_written_number(word) for word in words]
    written = np.array([number for number, _ in read], dtype=float)
    how = np.array([kind for _, kind in read], dtype=object)
    unit = vet.units.of(field.quantity) if field.quantity else ""
    value = to_si(written, field.quantity, unit) if field.quantity else written
    # one part in 1e9 of slack, so that a limit written in the boat's unit is not beyond it
    slack = 1e-9 * max(abs(field.low), abs(field.high))
    too_low = (value <= field.low) if field.above else (value < field.low - slack)
    too_high = value > field.high + slack
    vet.clean[field.clean] = np.where(too_low | too_high, np.nan, value)[codes]

    in_unit = f" in {unit}" if unit else ""
    seen = set(how)  # what no word is, no row needs to be asked
    if field.value_needed and "missing" in seen:
        remedy = f"write the {field.name}{in_unit}"
        vet.set_aside((how == "missing")[codes], field.name, "missing", remedy)
    if "text" in seen:
        remedy = f"write a plain number{in_unit}, without the unit"
        vet.judge((how == "text")[codes], field, "not a number", remedy)
    if "unclear" in seen:
        remedy = "write it without thousands mark and with a decimal point"
        unclear = (how == "unclear")[codes]
        vet.judge(unclear, field, "a decimal comma or a thousands mark?", remedy)
    low, high = _limits(field, unit)
    more = "must be more than" if field.above else "must be at least"
    if (too_low | too_high).any():
        of_word = _check_number(field, unit, written) if unit else None
        check = "check the number" if of_word is None else of_word[codes]
        vet.judge(too_low[codes], field, f"{more} {low}", check)
        vet.judge(too_high[codes], field, f"must be at most {high}", check)
    if "decimal comma" in seen:
        comma = ((how == "decimal comma") & ~too_low & ~too_high)[codes]
        reason = "decimal comma, read as a decimal point"
        vet.change(comma, field.name, reason, "write a decimal point")


def _check_number(field: Field, unit: str, written: npt.NDArray[np.float64]) -> Texts:
    """Return what to do about a number out of range: it may be one of another unit."""
    assert field.quantity is not None
    remedies = np.full(len(written), f"check the number; it is read in {unit}", dtype=object)
    for other in UNITS[field.quantity]:
        value = to_si(written, field.quantity, other)
        low = value > field.low if field.above else value >= field.low
        fits = low & (value <= field.high) & (other != unit)
        remedies[fits] = f"check the number; it is read in {unit}, and would fit in {other}"
    return remedies


def _choices(vet: Vetting, field: Field, text: "pd.Series[str]") -> None:
    codes, unique = coded(text)
    words = [str(word).lower() for word in unique]
    lower = worded(words)
    vet.clean[field.clean] = pd.Categorical.from_codes(
        lower.codes[codes], categories=lower.categories
    )
    known = {"", *field.choices}
    bad = np.array([word not in known for word in words], dtype=bool)[codes]
    remedy = f"write one of {', '.join(field.choices)}, or nothing"
    vet.judge(bad, field, f"not a known {field.name.replace('_', ' ')}", remedy)


def judge_gears(vet: Vetting, known: Mapping[str, Gear], *, needed: bool) -> None:
    """Judge gear names and settings; a setting must lie on the gear's own dial.

    Parameters
    ----------
    vet : Vetting
    known : mapping
        Gear name -> gear.
    needed : bool
        Whether a row is of no use without its gear.
    """
    text = vet.text["gear"]
    unknown = ~text.isin(["", *known]).to_numpy()
    remedies = np.full(len(text) if unknown.any() else 1, "", dtype=object)
    for i in np.flatnonzero(unknown):
        remedies[i] = _gear_remedy(text.iloc[i], known)
    reason = "boat.toml has no gear of this name"
    field = next(f for f in vet.fields if f.name == "gear")
    setting = next(f for f in vet.fields if f.name == "setting")
    off, why, dials = _off_dial(vet, known)
    if needed:
        vet.set_aside(unknown, "gear", reason, remedies)
        has_dial = text.isin([name for name, gear in known.items() if gear.dial]).to_numpy()
        missing = has_dial & vet.clean["setting"].isna().to_numpy()
        vet.set_aside(
            missing & (vet.text["setting"] == "").to_numpy(),
            "setting",
            "the depth cannot be known without the dial's setting",
            "write the dial setting",
        )
        vet.set_aside(
            missing & (vet.text["setting"] != "").to_numpy(),
            "setting",
            "a dial's setting must be a number",
            "write the dial setting as a number",
        )
        vet.set_aside(off, "setting", why, dials)
        idle = ~has_dial & ~unknown & vet.clean["setting"].notna().to_numpy()
        vet.empty(idle, setting, "this gear has no dial", "leave it empty")
    else:
        vet.judge(unknown, field, reason, remedies)
        vet.judge(off, setting, why, dials)


def _off_dial(vet: Vetting, known: Mapping[str, Gear]) -> tuple[Mask, Texts, Texts]:
    """Return which settings lie off the dial of their row's gear, and in words why."""
    off = np.zeros(len(vet.text), dtype=bool)
    why, remedy = np.full((2, len(vet.text)), "", dtype=object)
    setting = vet.clean["setting"].to_numpy(dtype=float)
    for name, gear in known.items():
        if not gear.dial:
            continue
        low, high = gear.dial[0], gear.dial[-1]
        here = (vet.text["gear"] == name).to_numpy() & ((setting < low) | (setting > high))
        off |= here
        why[here] = f"off the dial of {name}, which goes from {low:g} to {high:g}"
        remedy[here] = (
            "correct the setting; if the dial has this mark, write its roll as "
            f"roll_deg under {toml_table('gear', name)} in boat.toml"
        )
    return off, why, remedy


def _gear_remedy(name: str, known: Mapping[str, Gear]) -> str:
    like = nearest(name, known)
    table = toml_table("gear", name)
    if like:
        return f"did you mean {like}? If not, add {table} to boat.toml"
    return f"add {table} to boat.toml, or write one of {', '.join(known) or 'its gears'}"


def _limits(field: Field, unit: str) -> tuple[str, str]:
    """Return a field's limits as text in the boat's own unit."""
    limits = np.array([field.low, field.high])
    if field.quantity:
        limits = from_si(limits, field.quantity, unit)
    low, high = (f"{limit:.4g} {unit}".strip() for limit in limits)
    return low, high
