"""Owns the tests of pieces of a page: escaping, descriptions, what the font can draw."""

import base64
import re

import matplotlib as mpl
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analysis.show.base.html import Told, box, bullets, paragraph
from analysis.show.base.pictures import drawable, figure, picture

HOSTILE = '"><script>x</script>'
TOLD = Told(alt="Best at 40 ft", caption="Rates", missing="Nothing here.")


def write_label(frame: pd.DataFrame, *, ax: Axes, label: str = "plain") -> Axes:
    ax.plot(frame["x"], frame["x"])
    ax.set_title(label)
    return ax


@pytest.mark.parametrize("make", [paragraph, lambda text: bullets([text]), lambda t: box([t], "a")])
def test_text_is_escaped(make: object) -> None:
    assert callable(make)
    markup = make(HOSTILE).html
    assert "<script>" not in markup
    assert "&lt;script&gt;" in markup


def test_description_and_caption_are_escaped() -> None:
    markup = figure(Figure(), alt=HOSTILE, caption=HOSTILE).html
    assert "<script>" not in markup
    assert markup.count("&#34;&gt;&lt;script&gt;") == 2


def test_figure_without_description_is_refused() -> None:
    with pytest.raises(ValueError, match="a figure needs a description"):
        figure(Figure(), alt=" ")


def test_picture_is_a_vector_and_the_same_each_time() -> None:
    frame = pd.DataFrame({"x": [1, 2]})
    first = picture(write_label, frame, told=TOLD).html
    assert first == picture(write_label, frame, told=TOLD).html
    found = re.search(r'src="data:image/svg\+xml;base64,([^"]+)" alt="Best at 40 ft"', first)
    assert found is not None
    assert base64.b64decode(found[1]).startswith(b"<?xml")


def test_frame_without_rows_becomes_its_sentence() -> None:
    fragment = picture(write_label, pd.DataFrame({"x": []}), told=TOLD)
    assert fragment.html == '<p class="absent">Nothing here.</p>'


def test_drawing_changes_no_setting_of_the_process() -> None:
    before = dict(mpl.rcParams)
    picture(write_label, pd.DataFrame({"x": [1]}), told=TOLD)
    assert dict(mpl.rcParams) == before


@pytest.mark.parametrize("name", ["$5 lure", "a $\\bad{ name$", "x_1^2", "50 % silver"])
def test_signs_of_mathematics_are_plain_text(name: str) -> None:
    fragment = picture(write_label, pd.DataFrame({"x": [1]}), told=TOLD, label=name)
    assert fragment.html.startswith("<figure>")


def test_what_the_font_lacks_is_a_box_and_no_warning() -> None:
    label = drawable("mère \N{FISH} 鱒 \N{LATIN SMALL LETTER O WITH STROKE}")
    assert label == "mère □ □ ø"
    picture(write_label, pd.DataFrame({"x": [1]}), told=TOLD, label=label)
