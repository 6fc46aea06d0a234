"""Suppliers against the reference: differences with their intervals, like for like."""

from __future__ import annotations

import math

import plotly.graph_objects as go

from logbook.charts.theme import dressed, palette, plain_text
from logbook.questions.suppliers.result import SupplierRow, SuppliersResult
from logbook.wording import PER_STITCHES, number


def draw(result: SuppliersResult, *, dark: bool = False) -> go.Figure:
    """Draw each supplier's like-for-like difference to the reference, the crude one beside it.

    Like for like is the adjusted comparison where there is one, else the plain check.

    Parameters
    ----------
    result
        The comparison.
    dark
        Which of the two palettes.

    Returns
    -------
    plotly.graph_objects.Figure
        In 100 pieces, or in 100,000 stitches; left is fewer defects.
    """
    colours = palette(dark=dark)
    scale = 100.0 if result.kind.measure == "pieces" else float(PER_STITCHES)
    compared = [row for row in result.suppliers if row.on_same_jobs is not None]
    figure = go.Figure()
    figure.add_vline(x=0, line={"color": colours.usual, "width": 1.5, "dash": "dash"})
    if result.margin is not None:
        figure.add_vrect(
            x0=-result.margin * scale,
            x1=result.margin * scale,
            fillcolor=colours.band,
            line_width=0,
        )
    for crude in (True, False):
        _intervals(figure, compared, scale, crude=crude, dark=dark)
    unit = "in 100 pieces" if scale == 100.0 else f"in {PER_STITCHES:,} stitches"
    title = f"{result.kind.label}: more or fewer than<br>{result.reference}, {unit}"
    dressed(figure, title=title, dark=dark, height=170 + 60 * max(len(compared), 1))
    figure.update_xaxes(title={"text": "← fewer · more →", "font": {"size": 12}}, showgrid=True)
    figure.update_yaxes(autorange="reversed", type="category")
    figure.update_layout(
        showlegend=True,
        legend={"orientation": "h", "x": 0, "y": -0.02, "yref": "container", "yanchor": "bottom"},
        title={"x": 0.02, "xref": "container"},
        margin={"t": 76, "b": 96},
    )
    return figure


def _intervals(
    figure: go.Figure, rows: list[SupplierRow], scale: float, *, crude: bool, dark: bool
) -> None:
    colours = palette(dark=dark)
    shown = []
    for row in rows:
        if row.check is None or row.on_same_jobs is None:
            continue
        crude_difference = row.check.crude.estimate, row.check.crude.interval
        estimate, interval = crude_difference if crude else row.on_same_jobs
        counted = row.check.crude if crude else row.check.like_for_like
        if all(map(math.isfinite, (estimate, *interval))):
            shown.append((plain_text(row.supplier), estimate, interval, counted))
    figure.add_scatter(
        x=[estimate * scale for _, estimate, *_ in shown],
        y=[name for name, *_ in shown],
        mode="markers",
        name="all jobs thrown together" if crude else "on the same jobs",
        marker={
            "size": 9 if crude else 13,
            "symbol": "circle-open" if crude else "diamond",
            "color": colours.quiet if crude else colours.thread,
        },
        error_x={
            "type": "data",
            "symmetric": False,
            "array": [(upper - at) * scale for _, at, (_, upper), _ in shown],
            "arrayminus": [(at - lower) * scale for _, at, (lower, _), _ in shown],
            "color": colours.quiet if crude else colours.thread,
            "thickness": 1 if crude else 2.5,
            "width": 0 if crude else 5,
        },
        text=[
            f"{name}: {number(counted.supplier.count)} of {number(counted.supplier.exposure)}, "
            f"reference {number(counted.reference.count)} of {number(counted.reference.exposure)}"
            for name, _, _, counted in shown
        ],
        hovertemplate="%{text}<br>%{x:.2f}<extra></extra>",
    )
