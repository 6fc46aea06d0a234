"""What the runs showed, kind by kind, beside what was to be expected."""

from __future__ import annotations

import plotly.graph_objects as go

from logbook.charts.theme import dressed, palette, plain_text
from logbook.questions.trace.result import TraceResult
from logbook.questions.trace.words import title
from logbook.wording import number


def draw(result: TraceResult, *, dark: bool = False) -> go.Figure:
    """Draw pieces that show each kind as bars, and a line at what was to be expected."""
    colours = palette(dark=dark)
    shown = [each for each in result.counts if each.kind.measure == "pieces"]
    shown.sort(key=lambda each: -max(each.observed, each.expected or 0.0))
    labels = [plain_text(each.kind.label) for each in shown]
    figure = go.Figure()
    figure.add_bar(
        x=labels,
        y=[each.observed for each in shown],
        width=0.6,
        marker={"color": colours.thread},
        hovertemplate="%{x}: %{y} pieces<extra></extra>",
    )
    figure.add_scatter(
        x=labels,
        y=[each.expected for each in shown],
        mode="markers",
        marker={"symbol": "line-ew", "size": 30, "line": {"width": 3, "color": colours.usual}},
        text=["" if each.expected is None else number(each.expected) for each in shown],
        hovertemplate="%{text} expected<extra></extra>",
    )
    words = title(result)
    heading = plain_text(words[:1].upper() + words[1:])
    heading += ":<br>pieces that show each kind, and how many were expected (line)"
    dressed(figure, title=heading, dark=dark)
    figure.update_yaxes(rangemode="tozero", title={"text": "pieces"})
    figure.update_xaxes(type="category")
    figure.update_layout(margin={"t": 72})
    return figure
