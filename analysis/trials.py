"""Owns what trials with a depth logger taught of a gear, as it is worked out and as it is shown."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Learnt:
    """What the trials taught about one parameter.

    Attributes
    ----------
    label
        The parameter.
    unit
        `degrees`, or `%` of its value.
    prior_sd, sd
        How well it was and is known, in that unit.
    shift
        How far it moved, in that unit.
    learnt
        Whether its sd fell below half.
    source
        Where the prior comes from.
    """

    label: str
    unit: str
    prior_sd: float
    sd: float
    shift: float
    learnt: bool
    source: str


@dataclass(frozen=True, kw_only=True)
class NextTrial:
    """The trial that would teach most.

    Attributes
    ----------
    setting, line_out_m, speed_mps
        What to tow.
    sd_now, sd_then
        Root mean square sd of predicted depth over the uses, as a share, now and after it.
    """

    setting: float
    line_out_m: float
    speed_mps: float
    sd_now: float
    sd_then: float
