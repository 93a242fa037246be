"""Owns what a season and all parts of it share: its logs, counted, and the answer to them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from analysis.decision.answer import Answer
from analysis.season import Options, season_answer
from analysis.workbook.counted import Counted
from analysis.workbook.kept import reused


@dataclass(frozen=True, kw_only=True)
class Source:
    """What a season and all parts of it share: its logs, counted, and their answer.

    Attributes
    ----------
    logs : str
        The `kept.fingerprint` of all season folders that were opened together.
    counted : Counted
    options : Options
    """

    logs: str
    counted: Counted
    options: Options

    @cached_property
    def answer(self) -> Answer:
        """The review's answer: fitted, judged and checked once, and kept for the next time."""
        counted = self.counted
        return reused(
            f"answer {counted.year}",
            self.logs,
            repr(self.options),
            Answer,
            lambda: season_answer(counted.seasons, counted.exposure, self.options, counted.units),
        )
