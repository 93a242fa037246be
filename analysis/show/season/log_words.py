"""Owns what is said of a log before any answer: what it lost, and the findings of its vetting."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from analysis import labels

if TYPE_CHECKING:
    from analysis.effort.losses import Loss
    from analysis.log.findings import Finding

MOST_FINDINGS = 10
"""Findings that are told in full; the tables hold every row."""
_SEVERITY = {"stops": "Stops", "changes": "Changes the answer", "cosmetic": "Cosmetic"}


def loss_words(loss: Loss) -> str:
    """Say how much of what was lost, and to which reason; no sentence end."""
    what = loss.table
    if loss.part == "hour":
        what = f"{what} between {int(loss.of):02d}:00 and {(int(loss.of) + 1) % 24:02d}:00"
    elif loss.part == "month":
        what = f"{what} of {labels.month(loss.of)}"
    elif loss.part:
        what = f"{what} of {loss.part} {loss.of}"
    if loss.unheld:
        return f"no set holds {loss.lost} of {loss.read} {what} ({loss.reason})"
    if loss.doubted:
        return f"{loss.lost} of {loss.read} {what} are in doubt ({loss.reason})"
    parts = [f"{part}s" for part in loss.lopsided]
    return (
        f"{loss.lost} of {loss.read} {what} were set aside ({labels.percent(loss.share)}), most "
        f"often because of: {loss.reason}"
        + (
            f"; the loss is not even over {labels.listing(parts)}, or its rows do not tell"
            if parts
            else ""
        )
    )


def first_words(losses: Sequence[Loss]) -> list[str]:
    """Sentences on what a log lost, for the top of a page or of the check; none for little."""
    return [f"{labels.opening(loss_words(loss))}{_so(loss)}." for loss in losses]


def _so(loss: Loss) -> str:
    """Say what follows from a loss."""
    if loss.stops or loss.doubted:
        return ": no verdict will be clear"
    if loss.unheld:
        return ", and those count in no rate: look whether its sets are whole"
    return ""


def kept_of(kept: int, read: int) -> str:
    """Say how many rows of a table count of those read."""
    return f"{labels.number(kept)} of {labels.number(read)}"


def finding_words(finding: Finding) -> str:
    """Say one finding: what, where, how often, its cost and the remedy."""
    column = f", {finding.column}" if finding.column else ""
    value = f" {finding.value!r}" if finding.value else ""
    more = f" and {labels.number(finding.count - 1)} more" if finding.count > 1 else ""
    place = f"{finding.table}{column}{value}{more}, line {finding.places}"
    cost = cost_words(finding.rod_hours, finding.strikes)
    costs = "Rests on it" if finding.doubted else "Cost"
    kind = "In doubt" if finding.doubted else _SEVERITY[finding.severity]
    end = "" if finding.remedy.endswith("?") else "."
    return (
        f"{kind}: {place}: {finding.reason}."
        + (f" {costs}: {cost}." if cost else "")
        + (f" Remedy: {finding.remedy}{end}" if finding.remedy else "")
    )


def cost_words(rod_hours: float, strikes: int) -> str:
    """Say what a finding costs in rod-hours and strikes; empty for nothing."""
    parts = []
    if rod_hours >= 0.05:
        parts.append(f"{rod_hours:.1f} rod-hours")
    if strikes:
        parts.append(labels.count(strikes, "strike"))
    return " and ".join(parts)
