"""The workbook: a season opened to be asked, in Python, in notebooks and by controls."""

from analysis.workbook.opening import example, open_season
from analysis.workbook.season import Season

__all__ = ["Season", "example", "open_season"]
