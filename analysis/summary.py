"""Owns what ``summary.json`` of a review holds, key by key."""

from typing import NotRequired, TypedDict


class BestOfPeriod(TypedDict):
    """What a period's answer names; depths are None where it names nothing.

    ``an_average`` marks a season's depth that is no answer: the fish followed the water, so the
    depth is the mean of days whose water lay elsewhere.
    """

    period: str
    band_low_m: float | None
    band_high_m: float | None
    rather_low_m: float | None
    rather_high_m: float | None
    verdict: str
    an_average: bool
    p_named: float
    p_near: float
    rate: float
    rate_low: float
    rate_high: float
    sentence: str


class Parameters(TypedDict):
    """What a person chose of the analysis."""

    band_m: float
    seed: int


class Summary(TypedDict):
    """What a season came to, and with what it was worked out."""

    boats: list[str]
    season: str
    units: dict[str, str]
    trips: int
    sets: int
    rod_hours: float
    rod_hours_on_spread: float
    strikes: int
    strikes_placed: int
    landed: int
    set_aside: int
    best: list[BestOfPeriod]
    first_lines: list[str]
    model: str
    formula: str
    why: str
    status: str
    version: str
    parameters: Parameters
    hashes: dict[str, str]
    told: NotRequired[dict[str, list[str]]]
