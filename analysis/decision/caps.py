"""Why a verdict may not be clear: codes with the numbers that belong to them, no words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from analysis.effort.losses import Loss

Code = Literal[
    "loss",
    "picked",
    "water-unknown",
    "water-unseen",
    "water-alike",
    "layers-unknown",
    "follower-unknown",
    "foretells-nothing",
    "not-fitted",
    "few-strikes",
    "few-trips",
    "boats-apart",
    "week-of-few-strikes",
    "week-on-spread",
    "week-of-few-boats",
    "week-of-few-depths",
]


@dataclass(frozen=True, kw_only=True)
class Cap:
    """One reason why no verdict may be clear; `analysis.show.sentences.caps` puts it in words.

    Attributes
    ----------
    code : str
        ``loss``, what a log lost; ``picked``, a part of a season that was picked to look at;
        ``water-unknown``, ``water-unseen`` (below the surface; of less than a month),
        ``water-alike`` and ``layers-unknown``, what is not known of the water;
        ``follower-unknown``, whether fish follow a temperature or keep to a depth in a water seen
        at its surface alone;
        ``foretells-nothing``, a model that predicts no unseen trip; ``not-fitted``;
        ``few-strikes`` and ``few-trips`` that compare rods; ``boats-apart``, boats that met other
        fish than the club; and those of a week.
    count : int
        Strikes or trips, where they are too few.
    name : str
        Of the model that is as good, or the status of the fit.
    loss : Loss or None
    boat : str
        Whose loss it is, where there are several, or which boats met other fish.
    """

    code: Code
    count: int = 0
    name: str = ""
    loss: Loss | None = None
    boat: str = ""
