"""Money lost by level, dearest on top."""

from __future__ import annotations

import math

import plotly.graph_objects as go

from logbook.charts.theme import plain_text
from logbook.charts.worded_bars import worded_bars
from logbook.questions.losses.result import LossesResult
from logbook.questions.losses.words import named
from logbook.wording import money, percent

SHOWN = 12


def draw(result: LossesResult, *, dark: bool = False) -> go.Figure:
    """Draw bars of money, each with its amount and its share; unknown amounts are left out."""
    known = [each for each in result.levels if not math.isnan(each.cost)]
    shown = known[:SHOWN]
    said = [
        f"{plain_text(named(result, each))}: {money(each.cost, result.currency)} "
        f"({percent(each.share_of_cost, 0)})"
        for each in shown
    ]
    title = f"Lost to defects by {result.by_label.lower()}, {result.currency}"
    if len(result.levels) > len(shown):
        title += f"<br>(the first {len(shown)} of {len(result.levels)})"
    return worded_bars(
        places=list(range(len(shown))),
        sizes=[each.cost for each in shown],
        words=said,
        text=said,
        hovertemplate="%{text}<extra></extra>",
        title=title,
        dark=dark,
    )
