"""Money lost by level, dearest on top."""

from __future__ import annotations

import math

import plotly.graph_objects as go

from logbook.charts.theme import dressed, palette, plain_text
from logbook.questions.losses.result import LossesResult
from logbook.questions.losses.words import named
from logbook.wording import money, percent

SHOWN = 12
ROW_PIXELS, AROUND, BAR = 46, 130, 0.4
"""Of a level, of what stands around them, and of a row's height that is bar."""


def draw(result: LossesResult, *, dark: bool = False) -> go.Figure:
    """Draw bars of money, each with its amount and its share; unknown amounts are left out."""
    colours = palette(dark=dark)
    known = [each for each in result.levels if not math.isnan(each.cost)]
    shown = known[:SHOWN]
    said = [
        f"{plain_text(named(result, each))}: {money(each.cost, result.currency)} "
        f"({percent(each.share_of_cost, 0)})"
        for each in shown
    ]
    figure = go.Figure()
    figure.add_bar(
        x=[each.cost for each in shown],
        y=list(range(len(shown))),
        orientation="h",
        marker={"color": colours.thread},
        width=BAR,
        text=said,
        textposition="none",
        hovertemplate="%{text}<extra></extra>",
    )
    # Words stand above their bar, so that a phone has the whole width for both.
    for place, words in enumerate(said):
        figure.add_annotation(
            x=0,
            y=place,
            text=words,
            xanchor="left",
            yanchor="bottom",
            yshift=BAR * ROW_PIXELS / 2,
            showarrow=False,
            font={"color": colours.ink},
        )
    title = f"Lost to defects by {plain_text(result.by_label.lower())}, {result.currency}"
    if len(result.levels) > len(shown):
        title += f"<br>(the first {len(shown)} of {len(result.levels)})"
    dressed(figure, title=title, dark=dark, height=AROUND + ROW_PIXELS * max(len(shown), 2))
    figure.update_layout(margin={"l": 12, "t": 64})
    largest = max((each.cost for each in shown), default=1.0)
    figure.update_xaxes(range=[0, 1.04 * (largest or 1.0)], showgrid=True, nticks=5)
    figure.update_yaxes(range=[len(shown) - 0.5, -0.75], showticklabels=False)
    return figure
