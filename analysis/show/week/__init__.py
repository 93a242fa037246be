"""Pictures, tables and sentences of the weekly report."""

from analysis.show.week.parts import (
    ahead,
    answer,
    cautions,
    depth,
    figures,
    protection,
    subject,
    tackle,
)

__all__ = ["ahead", "answer", "cautions", "depth", "figures", "protection", "subject", "tackle"]
