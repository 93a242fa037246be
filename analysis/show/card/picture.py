"""Owns the picture of a card: the water by depth, and each rod in it with its doubt."""

from matplotlib.axes import Axes

from analysis.show.base.pictures import drawable
from analysis.show.base.style import BEST, EFFORT, INK, OTHER, SOFT
from analysis.show.card.text import CardText

DEEPER = 1.5
"""How far beyond the deepest rod the picture goes."""


def rods_in_water(card: CardText, *, ax: Axes) -> Axes:
    """Draw the temperature by depth, the band named, and the rods at their depths.

    Parameters
    ----------
    card : CardText
        With at least one rod.
    ax : matplotlib.axes.Axes
    """
    deepest = DEEPER * max(rod.high for rod in card.rods)
    ax.set_ylim(deepest, 0.0)
    ax.set_ylabel(f"depth ({card.depth_unit})")
    if card.band is not None:
        ax.axhspan(*card.band, color=EFFORT, zorder=0)
    water = ax
    if len(card.profile):
        depth, middle, low, high = card.profile.T
        water.fill_betweenx(depth, low, high, color=OTHER, alpha=0.35, linewidth=0)
        water.plot(middle, depth, color=BEST)
        water.set_xlabel(f"water ({card.temp_unit})")
        least, most = float(low.min()), float(high.max())
    else:
        least, most = 0.0, 1.0
        water.set_xticks([])
    room = most - least
    water.set_xlim(least - 0.05 * room, most + 1.25 * room)
    water.set_xticks([tick for tick in water.get_xticks() if least <= tick <= most])
    for at, rod in enumerate(card.rods):
        x = most + room * (0.12 + 1.05 * (at + 0.5) / len(card.rods))
        water.plot([x, x], [rod.low, rod.high], color=SOFT, linewidth=2.5)
        water.plot(x, rod.at, "o", color=INK, markersize=6)
        water.text(x, rod.low - 0.02 * deepest, drawable(rod.rod), ha="center", va="bottom")
    return ax
