"""What strikes tell of line-outs whose depth nobody measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from analysis.decision.bands import NEAR
from analysis.spread.line_outs import Advised

if TYPE_CHECKING:
    from analysis.rates.build_exposure import BoatSeason


@dataclass(frozen=True, kw_only=True)
class Unmeasured:
    """What the strikes tell of a line-out whose depth nobody measured.

    A verdict on a depth carries the doubt of the depth model; one on a line-out carries as much
    of it as the strikes left, which may be none.

    Attributes
    ----------
    gear : str
    setting : float
    low_m, high_m : float
        Line-outs that do as well.
    depth_low_m, depth_high_m : float
        90 % bounds of where they run.
    verdict : str
        ``clear`` where nineteen draws in twenty give up no more than a tenth of what the best
        line-out of the gear would catch, and nothing caps the answer; ``open`` where no depth is
        told; else ``leaning``.
    """

    gear: str
    setting: float
    low_m: float
    high_m: float
    depth_low_m: float
    depth_high_m: float
    verdict: str


def unmeasured(
    advised: Mapping[tuple[str, str], Sequence[Advised]],
    season: BoatSeason,
    covering: pd.DataFrame,
    *,
    told: bool,
    capped: bool,
) -> tuple[Unmeasured, ...]:
    """Judge the line-outs of a plan on gear that no soak tried.

    Parameters
    ----------
    advised : mapping of (str, str) to sequence of Advised
        By gear and lure that dives.
    season : BoatSeason
    covering : DataFrame
        Rows of the plan for the band: ``gear, setting``.
    told, capped : bool
        Whether the answer tells depths at all, and whether something keeps it from ``clear``: the
        fish that follow the water's temperature do, since of 188 line-outs of such months that
        would have been called clear 18 gave up more than a tenth
        (tests/benchmarks/line_out_study.md; of others 2 of 151 did).
    """
    used = set(zip(covering["gear"], covering["setting"].fillna(-1.0), strict=True))
    found = []
    for (gear, _), lines in advised.items():
        for line in lines:
            key = gear, -1.0 if np.isnan(line.setting) else line.setting
            if key not in used or season.belief(gear).trials:
                continue
            sure = line.advice.loss_high <= 1.0 - NEAR and not capped
            found.append(
                Unmeasured(
                    gear=gear,
                    setting=line.setting,
                    low_m=line.advice.line_out_low_m,
                    high_m=line.advice.line_out_high_m,
                    depth_low_m=line.advice.depth_low_m,
                    depth_high_m=line.advice.depth_high_m,
                    verdict="open" if not told else "clear" if sure else "leaning",
                )
            )
    return tuple(found)
