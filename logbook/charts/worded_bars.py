"""Bars with their words above them, so that a phone has the whole width for both."""

from __future__ import annotations

from collections.abc import Sequence

import plotly.graph_objects as go

from logbook.charts.theme import dressed, palette

ROW_PIXELS = 46
BAR = 0.4
"""Of a row's height."""
AROUND = 130


def worded_bars(
    *,
    places: Sequence[str] | Sequence[int],
    sizes: Sequence[float],
    words: Sequence[str],
    text: Sequence[str],
    hovertemplate: str,
    title: str,
    dark: bool,
) -> go.Figure:
    """Draw bars from left to right, the first on top.

    Parameters
    ----------
    places
        (N,) where each bar stands: its name, or its number where names could be read as numbers.
    sizes
        (N,) their lengths, in what the title says; below nought they reach to the left.
    words
        (N,) what stands above each, users' text escaped.
    text, hovertemplate
        What is said of a bar that is pointed at.
    title
        What is drawn.
    dark
        Which of the two palettes.
    """
    colours = palette(dark=dark)
    least, most = min([*sizes, 0.0]), max([*sizes, 0.0])
    # Where nothing was lost, the axis still needs a width.
    room = 0.04 * (most - least) or 1.0
    reach = [least - room if least < 0 else 0.0, most + room]
    figure = go.Figure()
    figure.add_bar(
        x=sizes,
        y=places,
        orientation="h",
        marker={"color": colours.thread},
        width=BAR,
        text=text,
        textposition="none",
        hovertemplate=hovertemplate,
    )
    for place, said in zip(places, words, strict=True):
        figure.add_annotation(
            x=least,
            y=place,
            text=said,
            xanchor="left",
            yanchor="bottom",
            yshift=BAR * ROW_PIXELS / 2,
            showarrow=False,
            font={"color": colours.ink},
        )
    dressed(figure, title=title, dark=dark, height=AROUND + ROW_PIXELS * max(len(places), 2))
    figure.update_layout(margin={"l": 12, "t": 64})
    figure.update_xaxes(range=reach, showgrid=True, nticks=5)
    figure.update_yaxes(range=[len(places) - 0.5, -0.75], showticklabels=False)
    return figure
