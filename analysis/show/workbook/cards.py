"""Owns cards: a title, a few sentences and the next call, as plain text and as HTML."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from analysis.show.base.html import each

WIDTH = 88


@dataclass(frozen=True, kw_only=True, repr=False)
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

    def __repr__(self) -> str:
        """Return the card as plain text."""
        return self.text

    def _repr_html_(self) -> str:
        """Return the card for notebooks."""
        return self.html

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
    def html(self) -> Markup:
        """The card as markup, all typed-in text escaped."""
        head = Markup("<p><strong>{}</strong></p>").format(self.title)
        calls = Markup(", ").join(Markup("<code>{}</code>").format(call) for call in self.calls)
        after = Markup("<p>Next: {}</p>").format(calls) if calls else Markup()
        return Markup("<div>{}{}{}</div>").format(head, each("<p>{}</p>", self.lines), after)
