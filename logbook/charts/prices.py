"""What a material has cost per square metre, from one change of price to the next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import plotly.graph_objects as go

from logbook.charts.theme import dressed, palette
from logbook.runs.materials import Product


@dataclass(frozen=True, slots=True)
class PriceHistory:
    """The prices of a material as drawn: up to a day, in a currency."""

    product: Product
    until: date
    currency: str


def draw(result: PriceHistory, *, dark: bool = False) -> go.Figure:
    """Draw the prices as steps; where one has yet to begin, today is marked.

    Parameters
    ----------
    result
        At least one price.
    dark
        Which of the two palettes.
    """
    colours = palette(dark=dark)
    steps = result.product.prices
    end = max(result.until, steps[-1].since)
    days = [*(step.since for step in steps), end]
    amounts = [*(step.per_m2 for step in steps), steps[-1].per_m2]
    figure = go.Figure()
    figure.add_scatter(
        x=days,
        y=amounts,
        mode="lines",
        line={"color": colours.thread, "width": 2.5, "shape": "hv"},
        hoverinfo="skip",
    )
    figure.add_scatter(
        x=[step.since for step in steps],
        y=[step.per_m2 for step in steps],
        mode="markers+text",
        marker={"color": colours.thread, "size": 9},
        text=[f"{step.per_m2:.2f}" for step in steps],
        textposition="top center",
        textfont={"color": colours.ink},
        cliponaxis=False,
        hovertemplate="%{y:.2f} from %{x|%-d %b %Y}<extra></extra>",
    )
    if result.until < steps[-1].since:
        figure.add_vline(x=result.until, line={"color": colours.usual, "dash": "dot"})
    title = f"{result.currency} per m²"
    dressed(figure, title=title, dark=dark, height=230)
    figure.update_yaxes(rangemode="tozero", tickformat=".2f", nticks=5, range=[0, _top(amounts)])
    figure.update_xaxes(type="date", nticks=4, tickformat="%b %Y", tickangle=0)
    figure.update_layout(margin={"t": 44, "b": 36, "r": 28})
    return figure


def _top(amounts: list[float]) -> float:
    """Room for the figures above the highest step."""
    return max(amounts) * 1.3 or 1.0
