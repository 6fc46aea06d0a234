"""How pages show figures, remember choices in the address, and explain an empty book."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Callable, Sequence
from html import escape
from typing import Any

import plotly.graph_objects as go
import streamlit as st


def show_figure(draw: Callable[..., go.Figure], result: Any, *, key: str) -> None:
    """Draw a result in the theme that the reader has chosen; it can be downloaded."""
    dark = st.context.theme.type == "dark"
    st.plotly_chart(
        draw(result, dark=dark),
        theme=None,
        key=key,
        # The one button is named and moved below the figure by the style sheet.
        config={
            "displaylogo": False,
            "displayModeBar": True,
            "modeBarButtons": [["toImage"]],
            "toImageButtonOptions": {"format": "png", "scale": 2, "filename": f"logbook-{key}"},
        },
    )


def address_of(svg: str) -> str:
    """A drawing of ours as the address of an image: pages let no SVG stand in the open."""
    return "data:image/svg+xml;base64," + b64encode(svg.encode()).decode()


def picture(svg: str, *, alt: str) -> str:
    """A drawing of ours as an image that fills its box."""
    return f'<img src="{address_of(svg)}" alt="{escape(alt)}" style="width:100%;height:auto">'


def answer_follows(waiting: str) -> None:
    """Let what stands below be blanked as soon as something else is asked.

    Until the new answer is there, what is being worked out is said in its place.

    Parameters
    ----------
    waiting
        What is being worked out: ``Comparing like jobs…``.
    """
    st.html(f'<p class="waiting" role="status">{escape(waiting)}</p>')


def remembered(name: str, choices: Sequence[str]) -> int:
    """Find the place of the choice that the address remembers; the first where there is none."""
    asked = st.query_params.get(name)
    return choices.index(asked) if asked in choices else 0


def empty_book(words: str) -> None:
    """Say what an empty book will show, and how to fill it."""
    st.info(f"This book has no runs yet. {words} Begin with a run, or with your own spreadsheet:")
    ways = {"log": "Log a run", "bring": "Bring in a sheet"}
    st.html(
        " ".join(
            f'<a class="tap" href="/{address}" target="_self">{label}</a>'
            for address, label in ways.items()
        )
    )


def plain_markdown(text: str) -> str:
    """Keep text of users from being read as Markdown."""
    for mark in "\\`*_{}[]<>#|~$:":
        text = text.replace(mark, f"\\{mark}")
    return text
