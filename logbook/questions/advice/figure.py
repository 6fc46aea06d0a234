"""Suggested changes: what each would save, with its interval."""

from __future__ import annotations

import textwrap
from itertools import accumulate
from typing import Any

import plotly.graph_objects as go

from logbook.charts.theme import Palette, dressed, palette, plain_text
from logbook.questions.advice.result import AdviceResult
from logbook.wording import money, number, percent

WRAPPED_AT = 42
"""Letters of a line that a phone has room for."""
LINE, MARK = 18, 40
"""Pixels of a line of words, and of the interval below them."""
TOP, BOTTOM = 64, 64


def draw(result: AdviceResult, *, dark: bool = False) -> go.Figure:
    """Draw each suggestion's saving and its interval, the first on top.

    Each change stands in words above its interval, in as many lines as they take.

    Parameters
    ----------
    result
        The advice.
    dark
        Which of the two palettes.

    Returns
    -------
    plotly.graph_objects.Figure
        In the shop's currency; right is saved. Thin evidence is drawn hollow.
    """
    colours = palette(dark=dark)
    shown = result.suggestions
    names = [
        textwrap.wrap(f"{place}. {each.words()}", WRAPPED_AT, break_on_hyphens=False)
        for place, each in enumerate(shown, start=1)
    ]
    ends = list(accumulate((LINE * len(lines) + MARK for lines in names), initial=0))
    figure = go.Figure()
    figure.add_vline(x=0, line={"color": colours.usual, "width": 1.5, "dash": "dash"})
    figure.add_scatter(
        x=[each.saving_per_100 for each in shown],
        y=[end - MARK / 2 for end in ends[1:]],
        mode="markers",
        marker={
            "size": 13,
            "symbol": ["diamond-open" if each.evidence == "thin" else "diamond" for each in shown],
            "color": colours.thread,
        },
        error_x={
            "type": "data",
            "symmetric": False,
            "array": [max(each.saving_interval[1] - each.saving_per_100, 0) for each in shown],
            "arrayminus": [max(each.saving_per_100 - each.saving_interval[0], 0) for each in shown],
            "color": colours.thread,
            "thickness": 2,
            "width": 5,
        },
        text=[
            f"{money(each.saving_per_100, result.currency)} per 100 pieces, "
            f"{percent(each.expected_rate)} defective, {number(each.pieces)} pieces"
            for each in shown
        ],
        hovertemplate="%{text}<extra></extra>",
        showlegend=False,
    )
    for lines, top in zip(names, ends, strict=False):
        figure.add_annotation(**_words(lines, colours), y=top)
    doubt = f"{percent(result.level, 0)} interval"
    title = f"{result.currency} saved per 100 pieces,<br>with {doubt}"
    dressed(figure, title=title, dark=dark, height=TOP + ends[-1] + BOTTOM)
    figure.update_xaxes(
        title={"text": "← costs more · saves →", "font": {"size": 12}}, showgrid=True, nticks=6
    )
    figure.update_yaxes(range=[ends[-1], 0], showticklabels=False, showgrid=False)
    figure.update_layout(
        title={"x": 0.02, "xref": "container"}, margin={"l": 12, "t": TOP, "b": BOTTOM}
    )
    return figure


def _words(lines: list[str], colours: Palette) -> dict[str, Any]:
    """Words from the left edge on, which hide the lines of the drawing behind them."""
    return {
        "text": "<br>".join(map(plain_text, lines)),
        "font": {"color": colours.ink},
        "bgcolor": colours.card,
        "align": "left",
        "xref": "paper",
        "x": 0,
        "xanchor": "left",
        "yanchor": "top",
        "showarrow": False,
    }
