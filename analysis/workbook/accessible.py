"""Owns what a page lacks for those who do not see it: a name at every knob of a slider."""

from __future__ import annotations

import ipywidgets as widgets
from IPython.display import Javascript, display

_NAMES = """
const name = () => document.querySelectorAll('.widget-slider, .widget-hslider').forEach(slider => {
  const label = slider.querySelector('.widget-label');
  const knobs = slider.querySelectorAll('.noUi-handle');
  const ends = knobs.length > 1 ? [', from', ', to'] : [''];
  knobs.forEach((knob, at) => label && knob.setAttribute(
    'aria-label', label.textContent.trim() + ends[at]));
});
name();
const seen = new MutationObserver(name);
seen.observe(document.body, {childList: true, subtree: true});
setTimeout(() => seen.disconnect(), 20000);
"""
"""The widgets' sliders have a label beside them that their knobs do not refer to."""


def with_names(widget: widgets.Widget) -> None:
    """Show widgets, and give each knob the name that stands beside its slider."""
    display(widget)  # type: ignore[no-untyped-call]
    display(Javascript(_NAMES))  # type: ignore[no-untyped-call]
