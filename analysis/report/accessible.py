"""Owns what widgets lack: a name at every knob of a slider, and a field to type its number into."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets
from IPython.display import Javascript, display
from markupsafe import escape

from analysis.log.reading.numbers import sure_number

_WHEN_SHOWN = """
const begin = () => element.isConnected ? work() : setTimeout(begin, 50);
const work = () => {{
const output = element.closest('.jp-OutputArea') || document.body;
{}
}};
begin();
"""
"""A script runs before its output is in the page."""
_NAMES = """
const label = slider => slider.querySelector('.widget-label').textContent.trim();
const name = () => {
  output.querySelectorAll('.widget-slider, .widget-hslider').forEach(slider => {
    const knobs = slider.querySelectorAll('.noUi-handle');
    const ends = knobs.length > 1 ? [', from', ', to'] : [''];
    knobs.forEach((knob, at) => knob.setAttribute('aria-label', label(slider) + ends[at]));
  });
  output.querySelectorAll('.rh-typed').forEach(pair => pair.querySelector('input').setAttribute(
    'aria-label', label(pair) + ', typed'));
  output.querySelectorAll('select, button, .noUi-handle').forEach(
    control => control.setAttribute('data-lm-suppress-shortcuts', 'true'));
};
name();
new MutationObserver(name).observe(output, {childList: true, subtree: true});
"""
"""The widgets' sliders have a label beside them that their knobs do not refer to; and JupyterLab
takes the arrow keys of a list or knob for its own, and goes to the next cell."""
_IN_SIGHT = """
const grows = new ResizeObserver(() => output.scrollIntoView({block: 'nearest'}));
grows.observe(output);
setTimeout(() => grows.disconnect(), 3000);
"""
"""Widgets are drawn one after the other, and the page must not move once somebody reads."""


def into_sight() -> Javascript:
    """Return a script that moves the page to the output it is displayed in."""
    return Javascript(_WHEN_SHOWN.format(_IN_SIGHT))  # type: ignore[no-untyped-call]


class Named(widgets.VBox):  # type: ignore[misc]
    """A box of widgets that are read out by name.

    Parameters
    ----------
    children : sequence of Widget
    in_sight : bool
        Whether the page moves so far that all of it is seen when it is shown.
    """

    def __init__(
        self, children: list[widgets.Widget], *, in_sight: bool = False, **more: Any
    ) -> None:
        super().__init__(children, **more)
        self._script = _WHEN_SHOWN.format(_NAMES + (_IN_SIGHT if in_sight else ""))

    def _ipython_display_(self) -> None:
        display(dict(self._repr_mimebundle_()), raw=True)  # type: ignore[no-untyped-call]
        display(Javascript(self._script))  # type: ignore[no-untyped-call]


def with_field(slider: widgets.FloatSlider) -> widgets.HBox:
    """Put a field beside a slider, in which a number is typed with a point or a comma.

    The sliders' own field takes the 2 of "2,7" and forgets the rest. What is not surely a number,
    or outside the slider's range, is refused in words, and the slider stays where it was.

    Examples
    --------
    >>> slider = widgets.FloatSlider(value=2.5, min=0.9, max=5.6)
    >>> _, field, note = with_field(slider).children
    >>> field.value = "2,7"
    >>> slider.value, note.value
    (2.7, '')
    >>> field.value = "fast"
    >>> slider.value, note.value
    (2.7, '‘fast’ is not taken: write a number from 0.9 to 5.6.')
    """
    slider.readout = False
    field = widgets.Text(
        value=f"{slider.value:g}", continuous_update=False, layout=widgets.Layout(width="5em")
    )
    note = widgets.HTML()

    def moved(_: object) -> None:
        field.value, note.value = f"{slider.value:g}", ""

    def typed(_: object) -> None:
        if field.value == f"{slider.value:g}":
            return
        number = sure_number(field.value)
        if number is None or not slider.min <= number <= slider.max:
            allowed = f"write a number from {slider.min:g} to {slider.max:g}"
            note.value = f"‘{escape(field.value)}’ is not taken: {allowed}."
            return
        slider.value = number
        moved(None)  # where it was that number already, in other words

    slider.observe(moved, names="value")
    field.observe(typed, names="value")
    widgets.dlink((slider, "disabled"), (field, "disabled"))
    pair = widgets.HBox([slider, field, note])
    pair.add_class("rh-typed")
    return pair
