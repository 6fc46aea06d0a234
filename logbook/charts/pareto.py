"""What each kind of defect cost, dearest first."""

from __future__ import annotations

import plotly.graph_objects as go

from logbook.analysis.pareto import ParetoResult
from logbook.charts.theme import dressed, palette
from logbook.costing import KindCost
from logbook.wording import money, number, percent

SHOWN = 10


def draw(result: ParetoResult, *, dark: bool = False) -> go.Figure:
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
    by_cost = result.costed.ordered_by == "cost"
    counted = [each for each in result.costed.kinds if each.count > 0]
    shown = counted[:SHOWN]
    sizes = [each.cost if by_cost else float(each.count) for each in shown]
    figure = go.Figure()
    figure.add_bar(
        x=sizes,
        y=[each.kind.label for each in shown],
        orientation="h",
        marker={"color": colours.thread},
        text=[_said(each, result, by_cost=by_cost) for each in shown],
        textposition="outside",
        cliponaxis=False,
        textfont={"color": colours.ink},
        hovertemplate="%{y}: %{text}<extra></extra>",
    )
    title = f"What it cost, {result.currency}" if by_cost else "How often it came up"
    if len(counted) > SHOWN:
        title += f" (the first {SHOWN} of {len(counted)} kinds)"
    dressed(figure, title=title, dark=dark, height=96 + 34 * max(len(shown), 2))
    # Room for the words after the longest bar.
    figure.update_xaxes(range=[0, 1.45 * max([*sizes, 1e-9])], showgrid=True)
    figure.update_yaxes(autorange="reversed", ticklabelstandoff=6)
    return figure


def _said(each: KindCost, result: ParetoResult, *, by_cost: bool) -> str:
    if not by_cost:
        return f"{number(each.count)} ({percent(each.share_of_count, 0)})"
    return f"{money(each.cost, result.currency)} ({percent(each.share_of_cost, 0)})"
