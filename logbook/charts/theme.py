"""The look that every figure carries, light and dark."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

import plotly.graph_objects as go

FONT = "system-ui, 'Segoe UI', 'DejaVu Sans', sans-serif"


@dataclass(frozen=True, slots=True)
class Palette:
    """Colours by what they mean; readers of every colour vision can tell them apart."""

    ink: str
    """Text and axes."""
    quiet: str
    """Secondary text."""
    paper: str
    """Page."""
    card: str
    """Raised ground."""
    rule: str
    """Grid and dividing lines."""
    edge: str
    """Borders of what is typed into or tapped."""
    thread: str
    """The measured series."""
    usual: str
    """The usual rate and its limits."""
    band: str
    """Ground between the limits."""
    alarm: str
    """Worse than usual."""
    relief: str
    """Better than usual."""


LIGHT = Palette(
    ink="#1F2A33",
    quiet="#57605E",
    paper="#FBFAF6",
    card="#FFFFFF",
    rule="#D9D6CC",
    edge="#878A85",
    thread="#0E5E6F",
    usual="#6C603E",
    band="rgba(108, 96, 62, 0.10)",
    alarm="#B3110F",
    relief="#0063C7",
)
DARK = Palette(
    ink="#EDEAE2",
    quiet="#B8BCBA",
    paper="#171C21",
    card="#20272E",
    rule="#3A434B",
    edge="#717C85",
    thread="#7CC7D6",
    usual="#EACF78",
    band="rgba(234, 207, 120, 0.14)",
    alarm="#F8988F",
    relief="#9BA9FE",
)


def palette(*, dark: bool) -> Palette:
    """The colours of one of the two themes."""
    return DARK if dark else LIGHT


def plain_text(words: str) -> str:
    """Keep text of users from being read as the markup that figures understand."""
    return escape(words, quote=False)


def dressed(figure: go.Figure, *, title: str, dark: bool, height: int = 360) -> go.Figure:
    """Give a figure the theme: fonts, grid, margins, title in words.

    Parameters
    ----------
    figure
        The figure to dress, changed in place.
    title
        What it shows, in words as users wrote them; long titles break at ``<br>``.
    dark
        Which of the two palettes.
    height
        In pixels.

    Returns
    -------
    plotly.graph_objects.Figure
        The same figure.
    """
    colours = palette(dark=dark)
    figure.update_layout(
        template="none",
        title={
            "text": plain_text(title).replace("&lt;br&gt;", "<br>"),
            "x": 0,
            "xref": "paper",
            "xanchor": "left",
            "font": {"size": 15, "color": colours.ink},
        },
        font={"family": FONT, "size": 13, "color": colours.ink},
        paper_bgcolor=colours.card,
        plot_bgcolor=colours.card,
        hoverlabel={
            "bgcolor": colours.paper,
            "bordercolor": colours.rule,
            "font": {"family": FONT, "color": colours.ink},
        },
        height=height,
        margin={"l": 56, "r": 16, "t": 56, "b": 48},
        showlegend=False,
        dragmode=False,
    )
    axis = {
        "gridcolor": colours.rule,
        "linecolor": colours.rule,
        "zeroline": False,
        "tickfont": {"color": colours.quiet},
        "automargin": True,
        "fixedrange": True,
    }
    figure.update_xaxes(**axis, showgrid=False)
    figure.update_yaxes(**axis)
    return figure
