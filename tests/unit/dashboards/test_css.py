"""Contrast by the formula of WCAG 2.2 (relative luminance, success criteria 1.4.3 and 1.4.11)."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from dashboards.css import TOUCH_PIXELS, style_sheet
from logbook.charts.theme import DARK, LIGHT, Palette

CONFIG = Path(__file__).parents[3] / "dashboards" / ".streamlit" / "config.toml"
TEXT_CONTRAST = 4.5
SHAPE_CONTRAST = 3.0


def _luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one: str, other: str) -> float:
    darker, lighter = sorted((_luminance(one), _luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def test_the_formula_gives_the_standards_extremes() -> None:
    assert _contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert _contrast("#777777", "#FFFFFF") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("ground", ["paper", "card"])
@pytest.mark.parametrize("text", ["ink", "quiet", "thread", "usual", "alarm", "relief"])
def test_text_is_read_on_every_ground(palette: Palette, ground: str, text: str) -> None:
    assert _contrast(getattr(palette, text), getattr(palette, ground)) >= TEXT_CONTRAST


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_the_words_on_the_main_button_are_read(palette: Palette) -> None:
    assert _contrast(palette.paper, palette.thread) >= TEXT_CONTRAST


@pytest.mark.parametrize(("name", "palette"), [("light", LIGHT), ("dark", DARK)])
def test_the_widgets_wear_the_same_colours(name: str, palette: Palette) -> None:
    theme = tomllib.loads(CONFIG.read_text(encoding="utf-8"))["theme"][name]
    assert theme["primaryColor"] == theme["linkColor"] == palette.thread
    assert theme["backgroundColor"] == palette.paper
    assert theme["secondaryBackgroundColor"] == palette.card
    assert theme["textColor"] == palette.ink
    assert theme["borderColor"] == palette.edge
    assert theme["redColor"] == palette.alarm
    assert theme["blueColor"] == palette.relief
    assert _contrast(theme["grayTextColor"], palette.paper) >= TEXT_CONTRAST


def test_nothing_is_fetched_from_outside_and_nothing_is_told_outside() -> None:
    text = CONFIG.read_text(encoding="utf-8")
    assert tomllib.loads(text)["browser"]["gatherUsageStats"] is False
    assert not re.search(r"https?://|@import|url\(", text + style_sheet())


def test_buttons_are_as_large_as_a_thumb() -> None:
    assert TOUCH_PIXELS >= 44
    assert f"--touch: {TOUCH_PIXELS}px" in style_sheet()
    assert "min-height: var(--touch)" in style_sheet()
