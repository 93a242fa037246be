"""Owns pictures on a page: drawn in the house style, with a description, as vectors inside it."""

from __future__ import annotations

import base64
import io
from collections.abc import Callable, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
from markupsafe import Markup
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, get_font

from analysis.show.base.html import Fragment, Told, each, paragraph
from analysis.show.base.style import SETTINGS, WIDTH_IN

if TYPE_CHECKING:
    import pandas as pd


def figure(fig: Figure, *, alt: str, caption: str = "") -> Fragment:
    """Return a figure as a vector picture inside the page, with its description.

    Parameters
    ----------
    fig : matplotlib.figure.Figure
        The figure, drawn.
    alt : str
        What the picture shows, for those who do not see it; its finding, not its looks.
    caption : str
        A line under the picture, for those who do.

    Raises
    ------
    ValueError
        Without a description.
    """
    if not alt.strip():
        msg = "a figure needs a description (alt) that says its finding"
        raise ValueError(msg)
    file = io.BytesIO()
    # Not `savefig`, which draws a figure twice where it lays itself out.
    canvas: Any = FigureCanvasSVG(fig)  # its method is untyped
    canvas.print_svg(file, metadata={"Date": None, "Creator": None})
    data = base64.b64encode(file.getvalue()).decode("ascii")
    below = each("<figcaption>{}</figcaption>", [caption] if caption else [])
    whole = '<figure><img src="data:image/svg+xml;base64,{}" alt="{}">{}</figure>'
    return Fragment(Markup(whole).format(data, alt, below))


def picture(
    draw: Callable[..., Axes],
    frame: pd.DataFrame | Sequence[object],
    *args: Any,
    told: Told,
    height_in: float = 3.6,
    **kwargs: Any,
) -> Fragment:
    """Draw a frame in the house style, or say why there is nothing to draw.

    Parameters
    ----------
    draw : callable
        A function of `analysis.show.season.figures`: frame first, drawn on the keyword ``ax``.
    frame : pandas.DataFrame or sequence
        What to draw; if it has no rows, the page gets the sentence for that instead.
    *args, **kwargs
        Passed on to `draw`.
    told : Told
        The words that go with it.
    height_in : float
        Height in inches; the width is the same for all.
    """
    if not len(frame):
        return paragraph(told.missing, "absent")
    with mpl.rc_context(dict(SETTINGS)):
        fig = Figure(figsize=(WIDTH_IN, height_in), layout="constrained")
        draw(frame, *args, ax=fig.subplots(), **kwargs)
        return figure(fig, alt=told.alt, caption=told.caption)


def height_of(frame: pd.DataFrame) -> float:
    """Return the height in inches of a picture with a line for each row of a frame.

    Examples
    --------
    >>> import pandas as pd
    >>> height_of(pd.DataFrame({"gear": ["diver"] * 10}))
    4.7
    """
    return max(1.8, round(1.2 + 0.35 * len(frame), 2))


@cache
def _font_characters() -> frozenset[int]:
    """Return the characters that the pictures' font can draw."""
    font = get_font(findfont(FontProperties(family=SETTINGS["font.family"])))
    return frozenset(font.get_charmap())


def drawable(text: object) -> str:
    """Return typed-in text with what the pictures' font cannot draw replaced by a box.

    Examples
    --------
    >>> drawable("Ærøskøbing")
    'Ærøskøbing'
    >>> drawable(f"big one {chr(0x1F41F)}")
    'big one □'
    """
    known = _font_characters()
    return "".join(char if ord(char) in known else "□" for char in str(text))
