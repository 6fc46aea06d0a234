"""The files that pages and reports are made of, read as text: drawings, templates, examples."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Literal
from xml.etree import ElementTree

if TYPE_CHECKING:
    from jinja2 import Environment, Template

FOLDER = Path(__file__).parent
SVG = "{http://www.w3.org/2000/svg}"
Side = Literal["sound", "faulty"]
"""The work as it should be, and the same work with the defect."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """One drawing in the colours of a theme, and what is to be seen in it."""

    svg: str
    words: str


@cache
def drawing(kind: str, *, side: Side = "faulty", dark: bool = False) -> Drawing | None:
    """Read the drawing of a defect kind.

    Parameters
    ----------
    kind
        The kind's column name; its files are ``defects/KIND.svg`` and ``defects/sound/KIND.svg``.
    side
        With the defect, or sound work.
    dark
        Which theme's colours (``defects/dark.css``, ``defects/light.css``) go into it.

    Returns
    -------
    Drawing or None
        None for kinds that a shop has added for itself.
    """
    folder = FOLDER / "defects"
    path = (folder / "sound" if side == "sound" else folder) / f"{kind}.svg"
    if not path.is_file():
        return None
    colours = (folder / ("dark.css" if dark else "light.css")).read_text(encoding="utf-8")
    # An image inside a page sees neither the page's colours nor other files: they go into it.
    _, start, shapes = path.read_text(encoding="utf-8").partition("<svg")
    svg = start + shapes.replace("</desc>", f"</desc>\n<style>{colours}</style>", 1)
    return Drawing(svg, ElementTree.fromstring(svg).findtext(f"{SVG}desc", ""))


def page_template(name: str) -> Template:
    """The template of a page, ``pages/NAME.html.j2``; what is put into it is escaped."""
    return _templates().get_template(f"{name}.html.j2")


@cache
def _templates() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    return Environment(
        loader=FileSystemLoader(FOLDER / "pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
