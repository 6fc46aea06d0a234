"""What each kind of defect cost, dearest first."""

from __future__ import annotations

import plotly.graph_objects as go

from logbook.charts.theme import plain_text
from logbook.charts.worded_bars import worded_bars
from logbook.questions.costs.result import CostsResult
from logbook.questions.costs.words import amount_and_share, not_drawn

SHOWN = 10


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
    shown = result.drawn[:SHOWN]
    amounts = [amount_and_share(result, each) for each in shown]
    title = f"What it cost, {result.currency}" if result.by_cost else "How often it came up"
    if len(result.drawn) > SHOWN:
        title += f"<br>(the first {SHOWN} of {len(result.drawn)} kinds)"
    elif not_drawn(result):
        title += "<br>(without kinds whose cost is not known)"
    return worded_bars(
        places=[each.kind.label for each in shown],
        sizes=[result.size(each) for each in shown],
        words=[
            f"{plain_text(each.kind.label)}: {amount}"
            for each, amount in zip(shown, amounts, strict=True)
        ],
        text=amounts,
        hovertemplate="%{y}: %{text}<extra></extra>",
        title=title,
        dark=dark,
    )
