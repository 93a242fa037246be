"""Owns the tests of the colours: told apart in grey, dark enough to read."""

from itertools import pairwise

import pytest

from analysis.show.base.style import BEST, EFFORT, INK, OTHER, RATE_SHADES, RAW, SOFT, text_on


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, WCAG 2.2 (W3C, October 2023), definition."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
        for value in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, WCAG 2.2, definition."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("colour", [INK, SOFT, BEST])
def test_text_is_dark_enough_on_white_and_on_the_bars_behind(colour: str) -> None:
    # 4.5 is the criterion 1.4.3 of WCAG 2.2
    assert contrast(colour, "#ffffff") >= 4.5
    assert contrast(colour, EFFORT) >= 4.5


def test_shades_of_a_rate_grow_darker_step_by_step_in_grey() -> None:
    for lighter, darker in pairwise(RATE_SHADES):
        assert contrast(lighter, darker) > 1.2
        assert luminance(lighter) > luminance(darker)


@pytest.mark.parametrize("share", [0.0, 0.2, 0.4, 0.5, 0.66, 0.67, 0.9, 1.0])
def test_text_reads_on_the_shade_of_every_share(share: float) -> None:
    shade = RATE_SHADES[min(int(share * len(RATE_SHADES)), len(RATE_SHADES) - 1)]
    text = text_on(share)
    assert contrast("#ffffff" if text == "white" else text, shade) >= 4.5


def test_parts_that_touch_differ_in_grey() -> None:
    for one, other in ((BEST, OTHER), (RAW, EFFORT), (BEST, RAW), (BEST, EFFORT), (OTHER, EFFORT)):
        assert contrast(one, other) > 1.4
