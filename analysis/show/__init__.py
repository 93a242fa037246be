"""Pictures, tables and sentences from frames."""

from analysis.show import figures, season_tables, words
from analysis.show.picture import Fragment, figure, picture

__all__ = ["Fragment", "figure", "figures", "picture", "season_tables", "words"]
