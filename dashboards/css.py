"""The style sheet of the pages: the files of ``assets/css``, and our colours and sizes in it."""

from __future__ import annotations

from functools import cache
from html import escape
from pathlib import Path

import streamlit as st

from logbook.charts.theme import DARK, FONT, LIGHT, Palette

ASSETS = Path(__file__).parent / "assets"
TOUCH_PIXELS = 48
"""Least height and width of anything that is tapped."""


def apply_css() -> None:
    """Give the page its style sheet; once in every run of a page."""
    st.html(f"<style>{style_sheet()}</style>")


@cache
def style_sheet() -> str:
    """The whole style sheet: light, dark, and black on white in print."""
    files = sorted((ASSETS / "css").glob("*.css"))
    return "\n".join(
        (
            f":root {{ {_names(LIGHT)} --touch: {TOUCH_PIXELS}px; --font: {FONT}; }}",
            f"@media (prefers-color-scheme: dark) {{ :root {{ {_names(DARK)} }} }}",
            *(each.read_text(encoding="utf-8") for each in files),
            f"@media print {{ :root {{ {_names(LIGHT)} --paper: #ffffff; }} }}",
        )
    )


def component_file(name: str) -> str:
    """Read a script or style of a small part of a page, such as ``mark_places.js``."""
    return (ASSETS / "components" / name).read_text(encoding="utf-8")


def heading(title: str) -> None:
    """Write the heading of a page; the style sheet sews a line of stitches under it."""
    st.html(f'<div class="page-heading"><h1>{escape(title)}</h1></div>')


def _names(palette: Palette) -> str:
    return " ".join(f"--{name}: {getattr(palette, name)};" for name in Palette.__dataclass_fields__)
