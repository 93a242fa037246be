"""Owns what is said of a week once its report was tried."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Done:
    """What became of one week's report.

    Attributes
    ----------
    week : str
    problem : str
        Why there is none; empty where there is.
    no_pdf : str
        Why it has no PDF; empty where it has.
    """

    week: str
    problem: str = ""
    no_pdf: str = ""
