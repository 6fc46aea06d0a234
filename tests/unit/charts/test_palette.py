"""Both palettes can be read: contrast by the formula of WCAG 2."""

from __future__ import annotations

import pytest

from logbook.charts.theme import DARK, LIGHT, Palette, palette

READABLE = 4.5
"""WCAG 2.1, success criterion 1.4.3 (level AA): normal text on its ground."""
TEXTS = ("ink", "quiet", "alarm", "relief", "thread", "usual")
GROUNDS = ("card", "paper")


def _luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.1, definition of terms)."""
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (
        value / 12.92 if value <= 0.03928 else ((value + 0.055) / 1.055) ** 2.4
        for value in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_formula_gives_the_known_values() -> None:
    # WCAG: black on white is 21:1; #767676 is the lightest grey that passes on white.
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert contrast("#767676", "#FFFFFF") >= READABLE > contrast("#777777", "#FFFFFF")


@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_every_colour_can_be_read_on_every_ground(colours: Palette, text: str, ground: str) -> None:
    assert contrast(getattr(colours, text), getattr(colours, ground)) >= READABLE


def test_each_theme_has_its_palette() -> None:
    assert palette(dark=False) is LIGHT
    assert palette(dark=True) is DARK
