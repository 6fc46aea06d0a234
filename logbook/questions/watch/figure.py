"""A finding's course: observed against expected, week by week, and the moment it began."""

from __future__ import annotations

import plotly.graph_objects as go

from logbook.calendar_weeks import iso_week
from logbook.charts.theme import dressed, palette
from logbook.questions.watch.result import Finding, WatchResult
from logbook.questions.watch.words.findings import where

HEIGHT = 240
NAMED = 6


def draw(result: WatchResult, *, dark: bool = False) -> go.Figure:
    """Draw the course of the first finding; empty axes where there is none."""
    if not result.findings:
        title = "Nothing departs from what was to be expected"
        return dressed(go.Figure(), title=title, dark=dark, height=HEIGHT)
    return course(result.findings[0], dark=dark)


def course(finding: Finding, *, dark: bool = False) -> go.Figure:
    """Draw one finding: what came as bars, what was to be expected as a line."""
    colours = palette(dark=dark)
    weeks = [each.week for each in finding.weekly]
    began = iso_week(finding.since)
    departs = colours.alarm if finding.direction == "above" else colours.relief
    counted = "events" if finding.kind.measure == "events" else "pieces"
    figure = go.Figure()
    figure.add_bar(
        x=weeks,
        y=[each.observed for each in finding.weekly],
        marker={"color": [departs if week >= began else colours.thread for week in weeks]},
        hovertemplate="%{x}: %{y} " + counted + "<extra></extra>",
    )
    figure.add_scatter(
        x=weeks,
        y=[each.expected for each in finding.weekly],
        mode="lines",
        line={"color": colours.usual, "width": 2, "shape": "hvh"},
        hovertemplate="%{x}: %{y:.1f} expected<extra></extra>",
    )
    start = next((place for place, week in enumerate(weeks) if week >= began), None)
    if start is not None:
        figure.add_vline(x=start - 0.5, line={"color": departs, "width": 1.5, "dash": "dot"})
    figure.add_annotation(
        text=f"bars: {counted} · line: expected · dotted: began",
        xref="paper",
        yref="paper",
        x=1,
        y=1,
        xanchor="right",
        yanchor="bottom",
        showarrow=False,
        font={"color": colours.quiet, "size": 12},
    )
    title = f"{where(finding.level)}: {finding.kind.label.lower()}"
    dressed(figure, title=title, dark=dark, height=HEIGHT)
    every = max(1, -(-len(weeks) // NAMED))
    named = weeks[::-1][::every][::-1]
    figure.update_xaxes(
        type="category", tickangle=0, tickvals=named, ticktext=[week[5:] for week in named]
    )
    figure.update_yaxes(rangemode="tozero", title={"text": f"{counted} a week"})
    return figure
