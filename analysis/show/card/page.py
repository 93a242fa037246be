"""Owns the card as a page for a phone: the answer first, a block a rod, no table to scroll."""

import matplotlib as mpl
from markupsafe import Markup
from matplotlib.figure import Figure

from analysis.show.base.html import each
from analysis.show.base.pictures import figure
from analysis.show.base.style import SETTINGS
from analysis.show.card.picture import rods_in_water
from analysis.show.card.text import RULE, CardText

_STYLE = """
body { font: 1.15rem/1.4 system-ui, sans-serif; color: #1b1f24; background: #fff;
  max-width: 42rem; margin: 0 auto; padding: 1rem }
h1 { font-size: 1.5rem; margin: 0 0 .5rem }
h2 { font-size: 1.1rem; margin: 1.5rem 0 .5rem }
.answer { border-left: .4rem solid #0b4f6c; padding: .2rem 0 .2rem .8rem; margin: .8rem 0 }
.answer p { margin: .3rem 0 }
.answer p:first-child { font-size: 1.4rem; font-weight: 700 }
dl { display: grid; grid-template-columns: auto 1fr; gap: .1rem 1rem; margin: .8rem 0 }
dt { color: #4a525c }
dd { margin: 0 }
ol { list-style: none; margin: 0; padding: 0 }
ol li { border-top: 1px solid #c3c9d1; padding: .5rem 0 }
.set { display: flex; justify-content: space-between; gap: 1rem; margin: 0; font-size: 1.35rem }
.set b { white-space: nowrap }
.small, .cautions { font-size: .95rem; color: #4a525c; margin: .15rem 0 }
figure { margin: 1rem 0 }
img { max-width: 100% }
@media print { body { font-size: 11pt } }
"""
_PAGE = Markup(
    """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{heading}</title><style>{style}</style></head>
<body><main>
<h1>{heading}</h1>
<div class="answer">{answer}</div>
<dl>{facts}</dl>
<h2>What to set</h2>
<ol>{rods}</ol>
<p><b>{total}</b></p>
{picture}
<h2>What it rests on</h2>
<ul class="small">{notes}</ul>
<h2>Cautions</h2>
<ul class="cautions">{cautions}</ul>
</main></body></html>
"""
)
_ROD = Markup(
    '<li><p class="set"><span><b>{rod}</b> {gear}</span> <b>{line_out}</b></p>'
    '<p class="small">{others}runs at {depth}{water}; {rate} strikes an hour ({rates}); '
    "a quarter slower {slow}, faster {fast}.</p></li>"
)


def card_html(card: CardText, cautions: tuple[str, ...]) -> str:
    """Write a card as one page that needs no other file.

    Parameters
    ----------
    card : CardText
        Texts of it may be typed in: all are escaped.
    cautions : tuple of str
        What stands on every report.
    """
    return str(
        _PAGE.format(
            heading=card.heading,
            style=Markup(_STYLE),
            answer=each("<p>{}</p>", card.answer),
            facts=Markup("").join(
                Markup("<dt>{}</dt><dd>{}</dd>").format(*fact) for fact in card.facts
            ),
            rods=Markup("").join(
                _ROD.format(
                    **vars(rod),
                    water=f" in {rod.temp}" if rod.temp else "",
                    others=f"{rod.line_outs}; " if rod.line_outs else "",
                )
                for rod in card.rods
            ),
            total=card.total,
            picture=_picture(card),
            notes=each("<li>{}</li>", (*card.notes, RULE)),
            cautions=each("<li>{}</li>", cautions),
        )
    )


def _picture(card: CardText) -> Markup:
    if not card.rods:
        return Markup("")
    with mpl.rc_context(dict(SETTINGS)):
        fig = Figure(figsize=(5.6, 3.4), layout="constrained")
        rods_in_water(card, ax=fig.subplots())
        return figure(fig, alt=card.alt).html
