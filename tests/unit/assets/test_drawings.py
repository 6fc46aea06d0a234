"""Every kind of the trade is drawn, and each drawing is sound SVG in the theme's colours alone."""

from __future__ import annotations

import re
from itertools import product
from pathlib import Path
from xml.etree import ElementTree

import pytest

from logbook.assets import FOLDER, SVG, Side, drawing
from logbook.vocabulary import DEFECT_KINDS, DefectKind

DEFECTS = FOLDER / "defects"
FILES = sorted(DEFECTS.glob("**/*.svg"))
MOST_BYTES = 40_000
"""A wall of all of them has to load over a workshop's wireless."""
ELEMENTS = {
    *("svg", "title", "desc", "defs", "pattern", "filter", "feGaussianBlur"),
    *("g", "path", "rect", "circle", "ellipse", "use"),
}
SIDES: tuple[Side, ...] = ("sound", "faulty")
each_file = pytest.mark.parametrize(
    "path", FILES, ids=lambda each: f"{each.parent.name}-{each.stem}"
)


@pytest.mark.parametrize("folder", [DEFECTS, DEFECTS / "sound"], ids=["faulty", "sound"])
def test_every_kind_of_the_trade_is_drawn_and_no_other(folder: Path) -> None:
    assert {path.stem for path in folder.glob("*.svg")} == {kind.name for kind in DEFECT_KINDS}


def test_a_kind_of_the_shops_own_has_no_drawing() -> None:
    assert drawing("loose_ends") is None


@each_file
def test_each_file_is_an_image_that_says_what_it_shows(path: Path) -> None:
    root = ElementTree.parse(path).getroot()
    labels = {kind.name: kind.label for kind in DEFECT_KINDS}
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    assert root.get("viewBox") == "0 0 320 240"
    assert root.findtext(f"{SVG}title", "").startswith(f"{labels[path.stem]}: ")
    assert len(root.findtext(f"{SVG}desc", "")) > 20
    assert path.stat().st_size < MOST_BYTES


@each_file
def test_a_file_holds_shapes_alone_and_asks_for_nothing_outside(path: Path) -> None:
    elements = list(ElementTree.parse(path).iter())
    assert {each.tag.removeprefix(SVG) for each in elements} <= ELEMENTS
    names = {name for each in elements for name in each.attrib}
    assert not {name for name in names if name.startswith("on") or name == "style"}
    text = path.read_text(encoding="utf-8").partition("<svg")[2]
    asked = re.findall(r'href="([^"]*)"|url\(([^)]*)\)', text)
    assert {one or other for one, other in asked} <= {
        f"#{name}" for name in re.findall(r'\bid="(\w+)"', text)
    }


@each_file
def test_a_file_has_the_colours_of_the_theme_alone(path: Path) -> None:
    elements = list(ElementTree.parse(path).iter())
    used = {
        each.attrib[name] for each in elements for name in ("fill", "stroke") if name in each.attrib
    }
    known = {f"var({name})" for name in _colours("light")}
    assert {each for each in used if each != "none" and not each.startswith("url(#")} <= known


@pytest.mark.parametrize(("side", "dark"), list(product(SIDES, (False, True))))
def test_the_theme_is_put_into_the_image(side: Side, dark: bool) -> None:
    drawn = drawing("gaps", side=side, dark=dark)
    assert drawn is not None
    root = ElementTree.fromstring(drawn.svg)
    style = root.findtext(f"{SVG}style", "")
    assert all(
        f"{name}: {colour};" in style
        for name, colour in _colours("dark" if dark else "light").items()
    )
    assert drawn.words == root.findtext(f"{SVG}desc")
    assert "xml-stylesheet" not in drawn.svg


@pytest.mark.parametrize("kind", DEFECT_KINDS, ids=lambda kind: kind.name)
def test_the_defect_is_drawn_and_not_only_named(kind: DefectKind) -> None:
    sound, faulty = drawing(kind.name, side="sound"), drawing(kind.name)
    assert sound is not None
    assert faulty is not None
    assert sound.words != faulty.words
    assert sound.svg.partition("</desc>")[2] != faulty.svg.partition("</desc>")[2]


def test_both_themes_name_the_same_colours() -> None:
    assert list(_colours("light")) == list(_colours("dark"))


def _colours(theme: str) -> dict[str, str]:
    text = (DEFECTS / f"{theme}.css").read_text(encoding="utf-8")
    return dict(re.findall(r"(--[a-z-]+): (#[0-9A-F]{6});", text))
