"""The look of the pages: our colours, sizes that a thumb can hit, and a line of stitches."""

from __future__ import annotations

import streamlit as st

from logbook.charts.theme import DARK, LIGHT, Palette

TOUCH_PIXELS = 48
"""Least height and width of anything that is tapped."""


def wear() -> None:
    """Dress the page; once in every run of a page."""
    st.html(f"<style>{style()}</style>")


def style() -> str:
    """Return the style sheet, light and dark."""
    return (
        f":root {{ {_names(LIGHT)} }}\n"
        f"@media (prefers-color-scheme: dark) {{ :root {{ {_names(DARK)} }} }}\n{RULES}"
    )


def stitches(width: int = 120) -> str:
    """Draw a row of running stitches, as inline SVG that takes the colour of its text."""
    return (
        f'<svg class="stitches" width="{width}" height="6" viewBox="0 0 {width} 6" '
        'aria-hidden="true" focusable="false"><path d="M2 3 H'
        f'{width - 2}" fill="none" stroke="currentColor" stroke-width="3" '
        'stroke-linecap="round" stroke-dasharray="9 8"/></svg>'
    )


def heading(title: str) -> None:
    """Write the heading of a page, with its line of stitches."""
    st.html(f'<div class="page-heading"><h1>{title}</h1>{stitches()}</div>')


def _names(palette: Palette) -> str:
    return " ".join(f"--{name}: {getattr(palette, name)};" for name in Palette.__dataclass_fields__)


RULES = f"""
.page-heading h1 {{ padding: 0; margin: 0; }}
.page-heading .stitches {{ color: var(--thread); display: block; margin-top: 0.35rem; }}
.stButton button, .stFormSubmitButton button, .stDownloadButton button,
[data-testid="stPills"] button, [data-testid="stSegmentedControl"] button {{
  min-height: {TOUCH_PIXELS}px;
}}
.stButton button[kind="primary"] {{ color: var(--paper); }}
"""
