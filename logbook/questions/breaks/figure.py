"""Breaks by place: the share of each beside its share of the stitches."""

from __future__ import annotations

import plotly.graph_objects as go

from logbook.charts.theme import dressed, palette, plain_text
from logbook.questions.breaks.result import BreaksResult
from logbook.wording import number, percent


def draw(result: BreaksResult, *, dark: bool = False) -> go.Figure:
    """Draw the clearest pattern, or the one with most breaks: bars, and what was to be expected."""
    colours = palette(dark=dark)
    out = result.standing_out
    each = out[0] if out else max(result.judged, key=lambda one: one.breaks)
    guilty = each.fit.largest if each.stands_out else None
    labels = [plain_text(label) for label in each.tally.labels]
    shares, expected = each.fit.share, each.fit.expected_share
    figure = go.Figure()
    figure.add_bar(
        x=labels,
        y=[float(share) for share in shares],
        width=0.6,
        marker={
            "color": [
                colours.alarm if at == guilty else colours.thread for at in range(len(labels))
            ]
        },
        error_y={
            "type": "data",
            "symmetric": False,
            "array": (each.fit.upper - shares).tolist(),
            "arrayminus": (shares - each.fit.lower).tolist(),
            "color": colours.quiet,
        },
        text=[f"{number(count)} breaks" for count in each.tally.counts],
        textposition="none",
        hovertemplate="%{x}: %{text}, %{y:.0%}<extra></extra>",
    )
    figure.add_scatter(
        x=labels,
        y=[float(share) for share in expected],
        mode="markers",
        marker={
            "symbol": "line-ew",
            "size": 30,
            "line": {"width": 3, "color": colours.usual},
        },
        text=[percent(float(share), 0) for share in expected],
        hovertemplate="%{text} of the stitches<extra></extra>",
    )
    title = (
        f"Breaks of {each.tally.subject} by {each.kind.label},"
        "<br>and each one's share of the stitches (line)"
    )
    dressed(figure, title=title, dark=dark)
    figure.update_yaxes(tickformat=".0%", rangemode="tozero")
    figure.update_xaxes(type="category", title={"text": plain_text(each.kind.label)})
    figure.update_layout(margin={"t": 72})
    return figure
