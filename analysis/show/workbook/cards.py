"""Owns cards: a title, a few sentences and the next call, as plain text and as HTML."""

from __future__ import annotations

import html
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from analysis.show.base.html import paragraph

WIDTH = 88


@dataclass(frozen=True, kw_only=True)
class Card:
    """What an object says of itself when it is looked at.

    Attributes
    ----------
    title : str
    lines : sequence of str
    calls : sequence of str
        What may be asked next.

    Examples
    --------
    >>> card = Card(title="Dunlin <2026>", lines=["1 strike."], calls=[".strikes"])
    >>> print(card.text)
    Dunlin <2026>
      1 strike.
      Next: .strikes
    >>> card.html.startswith("<div><p><strong>Dunlin &lt;2026&gt;</strong></p>")
    True
    """

    title: str
    lines: Sequence[str]
    calls: Sequence[str] = ()

    @property
    def text(self) -> str:
        """The card in plain text, its lines no wider than a terminal."""
        next_calls = [f"Next: {'  '.join(self.calls)}"] if self.calls else []
        inner = [
            textwrap.fill(line, WIDTH, initial_indent="  ", subsequent_indent="    ")
            for line in (*self.lines, *next_calls)
        ]
        return "\n".join([self.title, *inner])

    @property
    def html(self) -> str:
        """The card as markup, all typed-in text escaped."""
        head = f"<p><strong>{html.escape(self.title)}</strong></p>"
        body = "".join(paragraph(line).html for line in self.lines)
        calls = ", ".join(f"<code>{html.escape(call)}</code>" for call in self.calls)
        after = f"<p>Next: {calls}</p>" if calls else ""
        return f"<div>{head}{body}{after}</div>"
