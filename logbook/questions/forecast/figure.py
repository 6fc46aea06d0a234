"""The chance that an order is enough, by how many pieces it begins with."""

from __future__ import annotations

import plotly.graph_objects as go

from logbook.charts.theme import dressed, palette, plain_text
from logbook.questions.forecast.result import CHANCE, ForecastResult
from logbook.questions.forecast.words import title
from logbook.wording import number


def draw(result: ForecastResult, *, dark: bool = False) -> go.Figure:
    """Draw the chance against the pieces begun, the number to order marked."""
    colours = palette(dark=dark)
    begun = [each for each, _ in result.chances]
    chance = [each for _, each in result.chances]
    figure = go.Figure()
    figure.add_scatter(
        x=begun,
        y=chance,
        mode="lines",
        line={"color": colours.thread, "width": 2.5},
        hovertemplate="%{x} pieces: enough in %{y:.0%}<extra></extra>",
    )
    figure.add_hline(y=CHANCE, line={"color": colours.usual, "width": 1.5, "dash": "dash"})
    if result.order is not None:
        figure.add_scatter(
            x=[result.order],
            y=[CHANCE],
            mode="markers",
            marker={"size": 13, "symbol": "diamond", "color": colours.thread},
            hovertemplate="order %{x}<extra></extra>",
        )
    mark = "" if result.order is None else f"; diamond: {number(result.order)}, the number to order"
    words = title(result)
    heading = f"{plain_text(words[:1].upper() + words[1:])}:"
    heading += f"<br>chance that the pieces begun are enough{mark}"
    dressed(figure, title=heading, dark=dark)
    figure.update_yaxes(tickformat=".0%", range=[0, 1.02])
    figure.update_xaxes(title={"text": "pieces begun"})
    figure.update_layout(margin={"t": 72})
    return figure
