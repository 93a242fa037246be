"""Owns what a season and all parts of it share: its logs, counted, and the answer to them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from analysis.workbook.counted import Counted
from analysis.workbook.kept import reused

if TYPE_CHECKING:
    from analysis.decision.answer import Answer
    from analysis.season import Options


@dataclass(frozen=True, kw_only=True)
class Source:
    """What a season and all parts of it share: its logs, counted, and their answer.

    Attributes
    ----------
    logs : str
        The `kept.fingerprint` of all season folders that were opened together.
    counted : Counted
    band : str or None
        Height of the depth bands with its unit; by default that of a review.
    """

    logs: str
    counted: Counted
    band: str | None = None

    @cached_property
    def options(self) -> Options:
        """What the season's answer is worked out by."""
        from analysis.season import Options

        return Options(band=self.band)

    @cached_property
    def answer(self) -> Answer:
        """The review's answer: fitted, judged and checked once, and kept for the next time."""
        from analysis.decision.answer import Answer
        from analysis.season import season_answer

        counted = self.counted
        return reused(
            f"answer {counted.year}",
            self.logs,
            repr(self.options),
            Answer,
            lambda: season_answer(counted.seasons, counted.exposure, self.options, counted.units),
        )
