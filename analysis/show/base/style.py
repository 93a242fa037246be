"""Owns how pictures look: colours, sizes, fonts; nothing is set for the whole process."""

from types import MappingProxyType
from typing import Any

INK = "#1b1f24"
SOFT = "#4a525c"
LINE = "#c3c9d1"
EFFORT = "#dde3e9"
BEST = "#0b4f6c"
OTHER = "#7fa3b5"
RAW = "#d58a2b"
"""The few colours in use.

They differ in lightness as well as in hue (`BEST` dark, `RAW` and `OTHER` middling, `EFFORT`
pale), so that a reader who cannot tell the hues apart, or a grey print, still tells the parts
apart; and no meaning rests on colour alone: a named band also has a filled mark and bold text.
"""

RATE_SHADES = ("#f1f5f8", "#cfdfe8", "#9dbfd0", "#5f94ad", "#2b6b88", "#0b4f6c")
"""Low to high, in one hue and evenly spaced in lightness; prints as a row of greys."""
_FIRST_DARK = 4
"""Shade from which white text reads better than dark."""


def text_on(share: float) -> str:
    """Return the colour of text, dark or white, on the shade of a share of the highest.

    It stands out by at least 4.5 to 1, which no scale without steps can promise: half-way from
    pale to dark neither would.

    Examples
    --------
    >>> text_on(0.66), text_on(0.67)
    ('#1b1f24', 'white')
    """
    return "white" if share * len(RATE_SHADES) >= _FIRST_DARK else INK


WIDTH_IN = 5.6
"""Width of every picture: shown on a phone, its 11 point text is still 7 points high."""

CARD_SIZES_IN = MappingProxyType({"a5": (5.83, 8.27), "half-letter": (5.5, 8.5)})
"""Width and height of a card on each paper."""

SETTINGS: MappingProxyType[Any, Any] = MappingProxyType(
    {
        "font.family": ["DejaVu Sans"],  # comes with matplotlib, so pictures are alike everywhere
        "font.size": 11.0,
        "axes.titlesize": 11.0,
        "axes.titleweight": "bold",
        "axes.titlelocation": "left",
        "axes.labelsize": 10.5,
        "axes.labelcolor": INK,
        "axes.edgecolor": SOFT,
        "axes.linewidth": 0.8,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.axisbelow": True,
        "axes.unicode_minus": True,
        "xtick.color": SOFT,
        "ytick.color": SOFT,
        "xtick.labelcolor": INK,
        "ytick.labelcolor": INK,
        "xtick.labelsize": 10.0,
        "ytick.labelsize": 10.5,
        "text.color": INK,
        "text.parse_math": False,  # a dollar sign in a lure's name is a dollar sign
        "lines.linewidth": 2.0,
        "legend.frameon": False,
        "figure.facecolor": "white",
        "savefig.facecolor": "white",
        "hatch.linewidth": 0.6,
        "hatch.color": LINE,
        "svg.fonttype": "path",
        "svg.hashsalt": "rodhours",  # the same picture gives the same bytes
    }
)
"""matplotlib settings, for use in ``matplotlib.rc_context`` around drawing and saving."""
