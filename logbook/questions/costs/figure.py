"""What each kind of defect cost, dearest first."""

from __future__ import annotations

import plotly.graph_objects as go

from logbook.charts.theme import dressed, palette, plain_text
from logbook.questions.costs.result import CostsResult
from logbook.questions.costs.words import amount_and_share, not_drawn

SHOWN = 10
ROW_PIXELS = 46
BAR = 0.4
"""Of a row's height."""
MARGINS = 130


def draw(result: CostsResult, *, dark: bool = False) -> go.Figure:
    """Draw kinds as bars, longest on top, each with its amount and its share.

    Parameters
    ----------
    result
        The kinds in their order.
    dark
        Which of the two palettes.

    Returns
    -------
    plotly.graph_objects.Figure
        Bars of cost, or of counts where the order is by count.
    """
    colours = palette(dark=dark)
    shown = result.drawn[:SHOWN]
    sizes = [result.size(each) for each in shown]
    figure = go.Figure()
    figure.add_bar(
        x=sizes,
        y=[each.kind.label for each in shown],
        orientation="h",
        marker={"color": colours.thread},
        width=BAR,
        text=[amount_and_share(result, each) for each in shown],
        textposition="none",
        hovertemplate="%{y}: %{text}<extra></extra>",
    )
    # Words stand above their bar, so that a phone has the whole width for both.
    for each in shown:
        figure.add_annotation(
            x=0,
            y=each.kind.label,
            text=f"{plain_text(each.kind.label)}: {amount_and_share(result, each)}",
            xanchor="left",
            yanchor="bottom",
            yshift=BAR * ROW_PIXELS / 2,
            showarrow=False,
            font={"color": colours.ink},
        )
    title = f"What it cost, {result.currency}" if result.by_cost else "How often it came up"
    if len(result.drawn) > SHOWN:
        title += f"<br>(the first {SHOWN} of {len(result.drawn)} kinds)"
    elif not_drawn(result):
        title += "<br>(without kinds whose cost is not known)"
    dressed(figure, title=title, dark=dark, height=MARGINS + ROW_PIXELS * max(len(shown), 2))
    figure.update_layout(margin={"l": 12, "t": 64})
    figure.update_xaxes(range=[0, 1.04 * max(sizes, default=1.0)], showgrid=True, nticks=5)
    figure.update_yaxes(range=[len(shown) - 0.5, -0.75], showticklabels=False)
    return figure
