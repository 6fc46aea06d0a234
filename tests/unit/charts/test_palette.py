"""Both palettes can be read, and their colours told apart, by readers of every colour vision."""

from __future__ import annotations

import re
from itertools import combinations

import pytest
from colour_measures import SIGHTS, ciede2000, contrast, difference, lab

from logbook.assets import FOLDER
from logbook.charts.theme import DARK, LIGHT, Palette, palette

READABLE = 4.5
"""WCAG 2.2, success criterion 1.4.3 (level AA): normal text on its ground."""
SEEN = 3.0
"""WCAG 2.2, success criterion 1.4.11 (level AA): lines, marks and borders on their ground."""
APART = 10.0
"""CIEDE2000. One is just noticed side by side; marks in a figure lie further apart than that."""
TEXTS = ("ink", "quiet", "alarm", "relief", "thread", "usual")
TOGETHER = ("thread", "usual", "alarm", "relief", "quiet")
"""Colours that one figure may hold."""
GROUNDS = ("card", "paper")
in_both = pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])


def _drawn_in(theme: str) -> dict[str, str]:
    text = (FOLDER / "defects" / f"{theme}.css").read_text(encoding="utf-8")
    return dict(re.findall(r"--([a-z-]+): (#\w{6});", text))


drawn_in_both = pytest.mark.parametrize(
    ("drawn", "colours"),
    [(_drawn_in("light"), LIGHT), (_drawn_in("dark"), DARK)],
    ids=["light", "dark"],
)


def test_contrast_gives_the_known_values() -> None:
    # WCAG: black on white is 21:1; #767676 is the lightest grey that passes on white.
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert contrast("#767676", "#FFFFFF") >= READABLE > contrast("#777777", "#FFFFFF")


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        # From the test data of Sharma, Wu and Dalal (2005), table 1.
        ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
        ((50.0, 3.1571, -77.2803), (50.0, 0.0, -82.7485), 2.8615),
        ((50.0, 2.8361, -74.0200), (50.0, 0.0, -82.7485), 3.4412),
        ((50.0, 0.0, 0.0), (50.0, -1.0, 2.0), 2.3669),
        ((50.0, 2.49, -0.001), (50.0, -2.49, 0.0009), 7.1792),
        ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
        ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ],
)
def test_difference_gives_the_published_values(
    one: tuple[float, float, float], other: tuple[float, float, float], expected: float
) -> None:
    assert ciede2000(one, other) == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize("sight", SIGHTS)
def test_no_sight_tints_white_or_grey(sight: str) -> None:
    # Each row of the matrices sums to one: what has no colour stays without.
    assert lab("#FFFFFF", sight=sight) == pytest.approx((100.0, 0.0, 0.0), abs=0.02)
    assert difference("#808080", "#808080", sight=sight) == 0.0


def test_red_and_green_of_one_lightness_are_confused_as_they_should_be() -> None:
    red, green = "#B85450", "#76782E"
    assert difference(red, green) > 2 * difference(red, green, sight="protanopia")
    assert difference(red, green, sight="tritanopia") > 2 * APART


@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("text", TEXTS)
@in_both
def test_every_colour_can_be_read_on_every_ground(colours: Palette, text: str, ground: str) -> None:
    assert contrast(getattr(colours, text), getattr(colours, ground)) >= READABLE


@pytest.mark.parametrize("ground", GROUNDS)
@in_both
def test_borders_of_fields_are_seen(colours: Palette, ground: str) -> None:
    assert contrast(colours.edge, getattr(colours, ground)) >= SEEN


@in_both
def test_words_on_the_main_button_can_be_read(colours: Palette) -> None:
    assert contrast(colours.paper, colours.thread) >= READABLE


@pytest.mark.parametrize("pair", list(combinations(TOGETHER, 2)), ids="-".join)
@pytest.mark.parametrize("sight", SIGHTS)
@in_both
def test_colours_of_one_figure_are_told_apart(
    colours: Palette, sight: str, pair: tuple[str, str]
) -> None:
    one, other = (getattr(colours, name) for name in pair)
    assert difference(one, other, sight=sight) >= APART


@pytest.mark.parametrize("name", ["thread", "second", "mark", "behind", "stain"])
@drawn_in_both
def test_what_a_drawing_shows_is_seen_on_the_cloth(
    drawn: dict[str, str], colours: Palette, name: str
) -> None:
    assert contrast(drawn[name], drawn["cloth"]) >= SEEN


@pytest.mark.parametrize("pair", [("thread", "second"), ("thread", "mark"), ("thread", "bobbin")])
@pytest.mark.parametrize("sight", SIGHTS)
@drawn_in_both
def test_threads_of_a_drawing_are_told_apart(
    drawn: dict[str, str], colours: Palette, sight: str, pair: tuple[str, str]
) -> None:
    one, other = (drawn[name] for name in pair)
    assert difference(one, other, sight=sight) >= APART


@drawn_in_both
def test_drawings_have_the_thread_and_the_mark_of_the_pages(
    drawn: dict[str, str], colours: Palette
) -> None:
    assert (drawn["thread"], drawn["mark"]) == (colours.thread, colours.alarm)


def test_each_theme_has_its_palette() -> None:
    assert palette(dark=False) is LIGHT
    assert palette(dark=True) is DARK
