"""Owns pieces of a page: HTML in which every text is escaped, unless it is markup by type."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from markupsafe import Markup


@dataclass(frozen=True, repr=False)
class Fragment:
    r"""A piece of HTML; notebooks display it as it is.

    Parameters
    ----------
    html : Markup
        The markup. A bare string is refused by the type: it is put in by ``Markup.format`` or
        `each`, which escape it.

    Examples
    --------
    >>> (paragraph("a < b") + paragraph("c")).html
    Markup('<p>a &lt; b</p>\n<p>c</p>')
    """

    html: Markup = field(default_factory=Markup)

    def __repr__(self) -> str:
        """Return the text of it without its marks and pictures, cut short."""
        return f"Fragment({shortened(self.html.striptags(), 80)!r})"

    def _repr_html_(self) -> str:
        """Return the markup, for notebooks."""
        return self.html

    def __add__(self, other: "Fragment") -> "Fragment":
        """Return both pieces, one after the other."""
        return Fragment(Markup("\n").join((self.html, other.html)))


@dataclass(frozen=True, kw_only=True)
class Told:
    """What words go with a picture.

    Parameters
    ----------
    alt : str
        What it shows, for those who do not see it; its finding, not its looks.
    caption : str
        A line under it, for those who do.
    missing : str
        The sentence in its place when there is nothing to draw.
    """

    alt: str
    caption: str = ""
    missing: str


def each(pattern: str, texts: Iterable[str]) -> Markup:
    """Fill a pattern of markup with each text, escaped, and join them.

    Examples
    --------
    >>> each("<li>{}</li>", ["a < b", Markup("<b>c</b>")])
    Markup('<li>a &lt; b</li><li><b>c</b></li>')
    """
    return Markup().join(Markup(pattern).format(text) for text in texts)


def marked(kind: str) -> Markup:
    """Write a class of the style sheet as an attribute; nothing for none."""
    return Markup(' class="{}"').format(kind) if kind else Markup()


def paragraph(text: str, kind: str = "") -> Fragment:
    """Return a paragraph of plain text, escaped.

    Parameters
    ----------
    text : str
        Plain text; markup in it is shown, not obeyed.
    kind : str
        A class of the page's style sheet, such as ``absent``.
    """
    return Fragment(Markup("<p{}>{}</p>").format(marked(kind), text))


def fold(summary: str, inner: Markup) -> Fragment:
    """Fold a piece of the page away under a summary, which is escaped."""
    pattern = Markup("<details><summary>{}</summary>{}</details>")
    return Fragment(pattern.format(summary, inner))


def bullets(lines: list[str] | tuple[str, ...], kind: str = "") -> Fragment:
    """Return plain-text lines as a list, escaped; nothing for no lines."""
    if not lines:
        return Fragment()
    return Fragment(Markup("<ul{}>{}</ul>").format(marked(kind), each("<li>{}</li>", lines)))


def box(lines: list[str] | tuple[str, ...], kind: str) -> Fragment:
    """Return plain-text lines as the paragraphs of one marked block, escaped."""
    inner = each("<p>{}</p>", lines)
    return Fragment(Markup("<div{}>{}</div>").format(marked(kind), inner))


def shortened(text: str, length: int = 24) -> str:
    """Cut a long name, so that it does not push the picture aside.

    Examples
    --------
    >>> shortened("a lure with a very long name", 12)
    'a lure with…'
    """
    return text if len(text) <= length else f"{text[: length - 1].rstrip()}…"
