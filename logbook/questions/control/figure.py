"""A control chart: rates over time, the usual rate, the limits, and what stands out."""

from __future__ import annotations

import math
from typing import Any

import plotly.graph_objects as go
import polars as pl

from logbook.charts.theme import Palette, dressed, palette, plain_text
from logbook.questions.control.result import ControlResult
from logbook.wording import PER_STITCHES, number, rate_only

LABELS_ACROSS = 6
MARKED_POINTS = 40
"""Past so many points, small dots instead of markers."""


def draw(result: ControlResult, *, dark: bool = False) -> go.Figure:
    """Draw a control chart.

    Parameters
    ----------
    result
        The chart's points, limits and signals.
    dark
        Which of the two palettes.

    Returns
    -------
    plotly.graph_objects.Figure
        Rates in per cent, or events per 100,000 stitches.
    """
    colours = palette(dark=dark)
    scale = 100.0 if result.kind.measure == "pieces" else float(PER_STITCHES)
    points = result.points.with_columns((pl.col("rate", "lower", "upper") * scale).fill_nan(None))
    figure = go.Figure()
    _limits(figure, points, colours)
    figure.add_hline(
        y=result.centre * scale,
        line={"color": colours.usual, "width": 1.5, "dash": "dash"},
    )
    # Above the drawing, where no point is hidden by it.
    figure.add_annotation(
        text=f"- - usual {rate_only(result.kind.measure, result.centre)}",
        xref="paper",
        yref="paper",
        x=1,
        y=1,
        xanchor="right",
        yanchor="bottom",
        showarrow=False,
        font={"color": colours.usual, "size": 12},
    )
    _rates(figure, points, result, colours)
    _standouts(figure, points, result, colours)
    title = f"{result.kind.label}, by {result.by}"
    dressed(figure, title=title, dark=dark)
    unit = "% of pieces inspected" if scale == 100.0 else f"per {PER_STITCHES:,} stitches"
    figure.update_yaxes(title={"text": unit}, rangemode="tozero")
    figure.update_xaxes(
        type="category", tickangle=0, **_ticks(points["label"].to_list(), result.by)
    )
    return figure


def _ticks(labels: list[str], by: str) -> dict[str, Any]:
    """Which points are named: few enough for a phone, the last among them."""
    if by != "week":
        return {"nticks": LABELS_ACROSS}
    every = max(1, math.ceil(len(labels) / LABELS_ACROSS))
    named = labels[::-1][::every][::-1]
    years = [label[:4] for label in named]
    said = [
        f"{label[5:]}<br>{year}" if year != before else label[5:]
        for label, year, before in zip(named, years, [None, *years], strict=False)
    ]
    return {"tickvals": named, "ticktext": said}


def _limits(figure: go.Figure, points: pl.DataFrame, colours: Palette) -> None:
    line = {"color": colours.usual, "width": 1, "shape": "hvh"}
    labels = points["label"].to_list()
    figure.add_scatter(
        x=labels, y=points["lower"].to_list(), mode="lines", line=line, hoverinfo="skip"
    )
    figure.add_scatter(
        x=labels,
        y=points["upper"].to_list(),
        mode="lines",
        line=line,
        fill="tonexty",
        fillcolor=colours.band,
        hoverinfo="skip",
    )


def _rates(
    figure: go.Figure, points: pl.DataFrame, result: ControlResult, colours: Palette
) -> None:
    figure.add_scatter(
        x=points["label"].to_list(),
        y=points["rate"].to_list(),
        mode="lines+markers",
        line={"color": colours.thread, "width": 2},
        marker={"size": 7 if points.height <= MARKED_POINTS else 4, "color": colours.thread},
        text=[_hover(result, row) for row in result.points.iter_rows(named=True)],
        hovertemplate="%{text}<extra></extra>",
    )


def _standouts(
    figure: go.Figure, points: pl.DataFrame, result: ControlResult, colours: Palette
) -> None:
    """Mark signals by shape and colour, so that neither alone carries the meaning."""
    for direction, colour, symbol in (
        ("above", colours.alarm, "triangle-up"),
        ("below", colours.relief, "triangle-down"),
    ):
        said: dict[str, list[str]] = {}
        for signal in result.signals:
            if signal.direction == direction:
                said.setdefault(signal.label, []).append(signal.says)
        marked = points.filter(pl.col("label").is_in(list(said)))
        figure.add_scatter(
            x=marked["label"].to_list(),
            y=marked["rate"].to_list(),
            mode="markers",
            marker={
                "size": 14,
                "symbol": symbol,
                "color": colour,
                "line": {"color": colours.card, "width": 1.5},
            },
            text=["<br>".join(said[label]) for label in marked["label"]],
            hovertemplate="%{text}<extra></extra>",
        )


def _hover(result: ControlResult, row: dict[str, float]) -> str:
    what = "pieces inspected" if result.kind.measure == "pieces" else "stitches sewn"
    rate = rate_only(result.kind.measure, row["rate"])
    return (
        f"<b>{plain_text(str(row['label']))}</b>: {rate}<br>"
        f"{number(row['count'])} in {number(row['exposure'])} {what}"
    )
