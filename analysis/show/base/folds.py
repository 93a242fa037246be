"""Owns what folds on a page: a line that says what is inside, and the rest a click away."""

from typing import Protocol

from markupsafe import Markup

from analysis.show.base.html import Fragment, fold


class Piece(Protocol):
    """A table, or any other fragment."""

    @property
    def html(self) -> Markup:
        """Its markup, every text in it escaped."""


def folded(heading: str, *pieces: Piece) -> Fragment:
    """Return pieces of a page folded under a line, closed until somebody opens it.

    Parameters
    ----------
    heading : str
        What is inside, in a few words.
    *pieces : Fragment or Table
        Empty ones are left out; without any the line is left out too.
    """
    inside = Markup("\n").join(piece.html for piece in pieces if piece.html)
    if not inside:
        return Fragment()
    return fold(heading, inside)


def beside(*pieces: Piece) -> Fragment:
    """Return pieces next to each other where the screen is wide, else one below the other."""
    parts = Markup("").join(Markup("<div>{}</div>").format(piece.html) for piece in pieces)
    return Fragment(Markup('<div class="beside">{}</div>').format(parts))


def together(*pieces: Piece) -> Fragment:
    """Return pieces one below the other, as one."""
    return Fragment(Markup("\n").join(piece.html for piece in pieces))
