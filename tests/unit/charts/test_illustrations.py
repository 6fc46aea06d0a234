"""Every kind of the trade is drawn, and each drawing is sound SVG that says what it shows."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from logbook.charts import illustrations
from logbook.charts.illustrations import ILLUSTRATIONS, Illustration, illustration
from logbook.vocabulary import DEFECT_KINDS

SVG = "{http://www.w3.org/2000/svg}"
MOST_BYTES = 40_000
"""A wall of all of them has to load over a workshop's wireless."""
BUILDING_BLOCKS = {
    "__init__",
    "cloth",
    "frame",
    "goods",
    "machine_parts",
    "shapes",
    "stitching",
}
drawn = pytest.mark.parametrize("each", ILLUSTRATIONS, ids=lambda each: each.kind)
in_both_themes = pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])


def test_every_kind_of_the_trade_is_drawn_in_the_order_of_the_vocabulary() -> None:
    assert [each.kind for each in ILLUSTRATIONS] == [kind.name for kind in DEFECT_KINDS]


def test_every_file_is_listed() -> None:
    folder = Path(illustrations.__file__).parent
    files = {path.stem for path in folder.glob("*.py")} - BUILDING_BLOCKS
    assert files == {each.kind for each in ILLUSTRATIONS}


def test_a_kind_of_the_shops_own_has_no_drawing() -> None:
    assert illustration("loose_ends") is None


@drawn
@in_both_themes
def test_each_panel_is_well_formed_and_says_what_it_shows(each: Illustration, dark: bool) -> None:
    panels = (
        (each.draw_sound(title="Its name", dark=dark), each.sound_words),
        (each.draw_faulty(title="Its name", dark=dark), each.faulty_words),
    )
    for svg, words in panels:
        root = ElementTree.fromstring(svg)
        assert root.tag == f"{SVG}svg"
        assert root.get("role") == "img"
        title, said = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
        assert title is not None
        assert (title.text or "").startswith("Its name")
        assert said is not None
        assert said.text == words
        assert len(svg) < MOST_BYTES
        assert set(re.findall(r"url\(#(\w+)\)", svg)) <= set(re.findall(r'id="(\w+)"', svg))


@drawn
def test_the_defect_is_drawn_and_not_only_named(each: Illustration) -> None:
    sound, faulty = _shapes(each.draw_sound(title="x")), _shapes(each.draw_faulty(title="x"))
    assert sound != faulty
    assert each.sound_words != each.faulty_words


@drawn
def test_the_two_themes_differ_in_colour_alone(each: Illustration) -> None:
    by_day, by_night = (each.draw_faulty(title="x", dark=dark) for dark in (False, True))
    assert by_day != by_night
    assert re.sub(r"#[0-9A-F]{6}", "", by_day) == re.sub(r"#[0-9A-F]{6}", "", by_night)


@drawn
def test_a_drawing_is_the_same_each_time(each: Illustration) -> None:
    assert each.draw_faulty(title="x") == each.draw_faulty(title="x")


def test_words_are_escaped() -> None:
    svg = ILLUSTRATIONS[0].draw_sound(title="<b> & co")
    assert ElementTree.fromstring(svg).findtext(f"{SVG}title") == "<b> & co: sound work"


def _shapes(svg: str) -> str:
    return svg[svg.index("</defs>") :]
