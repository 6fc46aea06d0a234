"""How a defect's rate goes along each ordered factor, over the same pieces."""

from __future__ import annotations

import plotly.graph_objects as go
from plotly.subplots import make_subplots

from logbook.adjusted_comparison import AdjustedCurve
from logbook.charts.theme import dressed, palette
from logbook.questions.factors.result import FactorsResult
from logbook.runs.factors import FACTORS, factor_label, level_label
from logbook.wording import PER_STITCHES, interval_words, number, percent, rate_only

CURVE, GAP = 180, 104
ABOVE, BELOW = 120, 56
HIGHEST = 2.5
"""A curve's axis ends at so many times its highest rate: one loose point must not flatten it."""
HEADROOM = 1.1


def draw(result: FactorsResult, *, dark: bool = False) -> go.Figure:
    """Draw the curves of ordered factors, one below the other.

    Parameters
    ----------
    result
        What goes with the defect.
    dark
        Which of the two palettes.

    Returns
    -------
    plotly.graph_objects.Figure
        Rates with their intervals, in per cent or per 100,000 stitches; empty without curves.
    """
    curves = [curve for curve in result.curves if curve.points]
    inside = max(len(curves), 1) * (CURVE + GAP) - GAP
    figure = make_subplots(
        rows=max(len(curves), 1),
        cols=1,
        vertical_spacing=GAP / inside if len(curves) > 1 else 0.0,
        subplot_titles=[_curve_title(result, curve) for curve in curves],
    )
    for place, curve in enumerate(curves, start=1):
        _curve(figure, result, curve, row=place, dark=dark)
    title = f"{result.kind.label}: the rate along<br>each part of the setup"
    dressed(figure, title=title, dark=dark, height=inside + ABOVE + BELOW)
    _axes(figure, result, curves, dark=dark)
    return figure


def _axes(
    figure: go.Figure, result: FactorsResult, curves: list[AdjustedCurve], *, dark: bool
) -> None:
    colours = palette(dark=dark)
    for place, curve in enumerate(curves, start=1):
        figure.update_xaxes(type="category", tickangle=0, tickfont={"size": 11}, row=place, col=1)
        figure.update_yaxes(
            range=[0, _top(curve) * _scale(result) * HEADROOM],
            title={
                "text": "%" if _scale(result) == 100.0 else "in 100,000 stitches",
                "font": {"size": 12, "color": colours.quiet},
            },
            row=place,
            col=1,
        )
    figure.update_annotations(
        font={"size": 13, "color": colours.ink}, xanchor="left", x=0, align="left"
    )
    figure.update_layout(
        title={"x": 0.02, "xref": "container", "y": 1, "yanchor": "top", "pad": {"t": 16}},
        margin={"t": ABOVE, "b": BELOW, "l": 52, "r": 12},
    )


def _top(curve: AdjustedCurve) -> float:
    """Return the rate up to which a curve and its intervals are drawn."""
    return min(
        max(point.interval[1] for point in curve.points),
        HIGHEST * max(point.rate for point in curve.points),
    )


def _curve_title(result: FactorsResult, curve: AdjustedCurve) -> str:
    unit = _unit(curve.factor)
    named = f"{factor_label(curve.factor)}{f' in {unit}' if unit else ''}"
    sewn = "pieces" if result.kind.measure == "pieces" else "stitches"
    cut = "; ▲ goes on" if any(each.interval[1] > _top(curve) for each in curve.points) else ""
    return f"{named}<br>over the same {number(curve.exposure)} {sewn}{cut}"


def _unit(factor: str) -> str:
    return next((each.unit or "" for each in FACTORS if each.column == factor), "")


def _curve(
    figure: go.Figure, result: FactorsResult, curve: AdjustedCurve, *, row: int, dark: bool
) -> None:
    colours = palette(dark=dark)
    measure, scale = result.kind.measure, _scale(result)
    rates = [point.rate * scale for point in curve.points]
    top = _top(curve)
    figure.add_scatter(
        x=[_short(curve, point.level) for point in curve.points],
        y=rates,
        mode="lines+markers",
        line={"color": colours.thread, "width": 2},
        marker={"size": 9, "color": colours.thread},
        error_y={
            "type": "data",
            "symmetric": False,
            "array": [min(p.interval[1], top) * scale - p.rate * scale for p in curve.points],
            "arrayminus": [p.rate * scale - p.interval[0] * scale for p in curve.points],
            "color": colours.thread,
            "thickness": 1.5,
            "width": 5,
        },
        text=[
            f"<b>{level_label(curve.factor, point.level)}</b><br>{rate_only(measure, point.rate)} "
            f"({percent(result.level, 0)} interval {interval_words(measure, point.interval)})<br>"
            f"{number(point.count)} in {number(point.exposure)} sewn with it"
            for point in curve.points
        ],
        hovertemplate="%{text}<extra></extra>",
        showlegend=False,
        row=row,
        col=1,
    )
    _goes_on(figure, result, curve, row=row, dark=dark)


def _goes_on(
    figure: go.Figure, result: FactorsResult, curve: AdjustedCurve, *, row: int, dark: bool
) -> None:
    """Put an arrow head on each interval that is cut off, with how far it goes."""
    top, scale = _top(curve), _scale(result)
    cut = [point for point in curve.points if point.interval[1] > top]
    if not cut:
        return
    figure.add_scatter(
        x=[_short(curve, point.level) for point in cut],
        y=[top * scale] * len(cut),
        mode="markers",
        marker={"size": 11, "symbol": "triangle-up", "color": palette(dark=dark).thread},
        text=[f"goes on to {rate_only(result.kind.measure, p.interval[1])}" for p in cut],
        hovertemplate="%{text}<extra></extra>",
        showlegend=False,
        row=row,
        col=1,
    )


def _short(curve: AdjustedCurve, level: str) -> str:
    """A level for the axis: a band's name over its edges, the unit left to the title."""
    unit = _unit(curve.factor)
    label = level_label(curve.factor, level).replace(f" {unit}", "")
    label = label.replace(f" {unit.replace(' per ', '/')}", "")  # as bands write it
    return label.replace(", ", "<br>", 1).replace(" to ", "–").replace(" and over", "+")


def _scale(result: FactorsResult) -> float:
    return 100.0 if result.kind.measure == "pieces" else float(PER_STITCHES)
