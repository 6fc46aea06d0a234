"""The last weeks as one small picture each: pieces, defects, money, breaks."""

from __future__ import annotations

import plotly.graph_objects as go

from logbook.calendar_weeks import days_of
from logbook.charts.theme import Palette, dressed, palette, plain_text
from logbook.questions.today.result import Course, TodayResult
from logbook.questions.today.words import STANDS, newest
from logbook.wording import PER_STITCHES

PANEL_PIXELS = 104
GAP = 0.36
"""Of a panel's share of the height: room for its words."""
NAMED_EVERY = 6
"""Weeks from one that is named to the next."""
SCALES = {"share": 100.0, "events": float(PER_STITCHES), "money": 1.0, "pieces": 1.0}


def draw(result: TodayResult, *, dark: bool = False) -> go.Figure:
    """Draw each figure week by week, with the range that is usual as a band.

    Parameters
    ----------
    result
        How things stand.
    dark
        Which of the two palettes.
    """
    colours = palette(dark=dark)
    figure = go.Figure()
    count = max(len(result.courses), 1)
    for place, course in enumerate(result.courses):
        _panel(figure, course, result, place, colours)
    for place in range(count):
        axis = "" if place == 0 else str(place + 1)
        top = 1 - place / count
        domain = [1 - (place + 1) / count, top - GAP / count]
        figure.update_layout({f"yaxis{axis}": {"domain": domain, "anchor": f"x{axis}"}})
        figure.update_layout({f"xaxis{axis}": {"type": "category", "anchor": f"y{axis}"}})
    height = 64 + PANEL_PIXELS * count
    dressed(figure, title="The last weeks", dark=dark, height=height)
    figure.update_layout(margin={"l": 8, "r": 12, "t": 40, "b": 28})
    figure.update_yaxes(visible=False)
    figure.update_xaxes(showline=False, showticklabels=False)
    if result.courses:
        weeks = result.courses[-1].weeks
        named = weeks[-1::-NAMED_EVERY][::-1]
        words = [f"{(day := days_of(week)[0]).day} {day:%b}" for week in named]
        last = {"showticklabels": True, "tickvals": named, "ticktext": words, "tickangle": 0}
        figure.update_layout({f"xaxis{count if count > 1 else ''}": last})
    return figure


def _panel(
    figure: go.Figure, course: Course, result: TodayResult, place: int, colours: Palette
) -> None:
    axes = {"xaxis": f"x{place + 1 or ''}", "yaxis": f"y{place + 1 or ''}"}
    if place == 0:
        axes = {"xaxis": "x", "yaxis": "y"}
    scale = SCALES[course.measured]
    values = [None if value is None else value * scale for value in course.values]
    if course.usual is not None:
        for bound, fill in zip(course.usual, (None, "tonexty"), strict=True):
            figure.add_scatter(
                x=list(course.weeks),
                y=[bound * scale] * len(course.weeks),
                mode="lines",
                line={"width": 0, "color": colours.usual},
                fill=fill,
                fillcolor=colours.band,
                hoverinfo="skip",
                **axes,
            )
    figure.add_scatter(
        x=list(course.weeks),
        y=values,
        mode="lines",
        line={"color": colours.thread, "width": 2},
        hovertemplate="%{x}: %{y:.3~g}<extra></extra>",
        **axes,
    )
    figure.add_scatter(
        x=[course.weeks[-1]],
        y=[values[-1]],
        mode="markers",
        marker={"size": 9, "color": _tone(course, colours)},
        hoverinfo="skip",
        **axes,
    )
    count = len(result.courses)
    stands = STANDS[course.stands]
    figure.add_annotation(
        text=f"{plain_text(course.label)}: <b>{plain_text(newest(course, result.currency))}</b>"
        + (f", {stands}" if stands else ""),
        xref="paper",
        yref="paper",
        x=0,
        y=1 - place / count - GAP / count,
        xanchor="left",
        yanchor="bottom",
        showarrow=False,
        font={"color": _tone(course, colours) if stands else colours.ink, "size": 13},
    )


def _tone(course: Course, colours: Palette) -> str:
    if course.stands == "above" and course.measured != "pieces":
        return colours.alarm
    if course.stands == "below" and course.measured != "pieces":
        return colours.relief
    return colours.ink
