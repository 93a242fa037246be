"""Owns what the vetting of one log found, with what each finding costs."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import pandas as pd

from analysis.effort.count import Effort
from analysis.effort.losses import Loss, costs, losses
from analysis.effort.resting import resting
from analysis.log import SeasonLog
from analysis.log.doubts import doubts_of
from analysis.log.findings import Finding, findings_of


@dataclass(frozen=True, kw_only=True)
class Found:
    """What was found in a log.

    Attributes
    ----------
    losses : tuple of Loss
        What is said before anything else.
    findings : tuple of Finding
        The one that matters most first.
    set_aside, doubted : pandas.DataFrame
        Every row that does not count, and every one that is doubted, with reason and remedy.
    """

    losses: tuple[Loss, ...]
    findings: tuple[Finding, ...]
    set_aside: pd.DataFrame
    doubted: pd.DataFrame


def look(
    log: SeasonLog, effort: Effort, more_changed: Callable[[], Sequence[pd.DataFrame]] = tuple
) -> Found:
    """Gather what was found in a log.

    Parameters
    ----------
    log : SeasonLog
    effort : Effort
        Of that log.
    more_changed : callable
        Returns what other rooms read otherwise than written, frames of
        `analysis.errors.SET_ASIDE_COLUMNS`; asked last, as it may have to be waited for.
    """
    doubted = doubts_of(log)
    lost = losses(log, effort, doubted)
    rod_hours, strikes = costs(log, effort)
    aside = pd.concat([log.set_aside, effort.set_aside], ignore_index=True)
    rested = resting(log, effort)
    findings = findings_of(
        aside,
        pd.concat([log.changed, effort.changed, *more_changed()], ignore_index=True),
        rod_hours=rod_hours,
        strikes=strikes,
        stopping=frozenset(loss.table for loss in lost if loss.stops),
        doubted=doubted,
        resting=rested,
    )
    return Found(losses=lost, findings=findings, set_aside=aside, doubted=doubted)
