"""What goes with a defect: each level against the others, and rates along ordered factors."""

from __future__ import annotations

import math
from collections.abc import Sequence

import plotly.graph_objects as go
from plotly.subplots import make_subplots

from logbook.analysis.factors import FactorEffect, FactorsResult
from logbook.charts.theme import Palette, dressed, palette, plain_text
from logbook.fairness import FairCurve
from logbook.vocabulary import FACTORS
from logbook.vocabulary.levels import factor_label, level_label
from logbook.wording import (
    PER_STITCHES,
    interval_words,
    number,
    percent,
    rate_only,
    times,
    times_interval,
)

MOST_LEVELS = 20
"""Levels that fit without scrolling; the findings come first."""
FURTHEST = 20.0
"""Intervals that reach further than so many times, or so many times less, are cut off there."""
ROW, CURVE, GAP = 36, 170, 96
ABOVE, BELOW = 84, 112
HIGHEST = 2.5
"""A curve's axis ends at so many times its highest rate: one loose point must not flatten it."""
TICKS = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)


def draw(result: FactorsResult, *, dark: bool = False) -> go.Figure:
    """Draw the ratio of each level to the others, and below it the curves of ordered factors.

    Parameters
    ----------
    result
        What goes with the defect.
    dark
        Which of the two palettes.

    Returns
    -------
    plotly.graph_objects.Figure
        Ratios on a logarithmic axis, left is fewer defects; the findings strong, the strongest
        others up to ``MOST_LEVELS`` quiet. Curves in per cent, or per 100,000 stitches.
    """
    shown = [each for each in result.effects if each.comparable][:MOST_LEVELS]
    curves = [curve for curve in result.curves if curve.points]
    dots = max(len(shown), 1) * ROW
    inside = dots + len(curves) * (CURVE + GAP)
    figure = make_subplots(
        rows=1 + len(curves),
        cols=1,
        row_heights=[dots / inside, *(CURVE / inside for _ in curves)],
        vertical_spacing=GAP / inside if curves else 0.0,
        subplot_titles=["", *(_curve_title(result, curve) for curve in curves)],
    )
    _dots(figure, result, shown, dark=dark)
    for place, curve in enumerate(curves, start=2):
        _curve(figure, result, curve, row=place, dark=dark)
    title = f"{result.kind.label}: each level's rate<br>against the others', on like jobs"
    dressed(figure, title=title, dark=dark, height=inside + ABOVE + BELOW)
    _axes(figure, result, shown, curves, palette(dark=dark))
    return figure


def _dots(
    figure: go.Figure, result: FactorsResult, shown: Sequence[FactorEffect], *, dark: bool
) -> None:
    colours = palette(dark=dark)
    groups = (
        ("more with it", colours.alarm, "diamond", [e for e in shown if _stands(e, above=True)]),
        ("less with it", colours.relief, "diamond", [e for e in shown if _stands(e, above=False)]),
        ("may be luck", colours.quiet, "circle", [e for e in shown if not e.fair.finding]),
    )
    figure.add_scatter(
        x=[each.crude.ratio for each in shown if _within(each.crude.ratio)],
        y=[_name(each) for each in shown if _within(each.crude.ratio)],
        mode="markers",
        name="all jobs thrown together",
        marker={"size": 8, "symbol": "circle-open", "color": colours.quiet},
        hovertemplate="%{y}<br>all jobs thrown together: %{x:.2f} times<extra></extra>",
        row=1,
        col=1,
    )
    for name, colour, symbol, own in groups:
        strong = symbol == "diamond"
        figure.add_scatter(
            x=[each.fair.ratio for each in own],
            y=[_name(each) for each in own],
            mode="markers",
            name=name,
            marker={"size": 12 if strong else 7, "symbol": symbol, "color": colour},
            error_x={
                "type": "data",
                "symmetric": False,
                "array": [_cut(each.fair.ratio_interval[1]) - each.fair.ratio for each in own],
                "arrayminus": [each.fair.ratio - _cut(each.fair.ratio_interval[0]) for each in own],
                "color": colour,
                "thickness": 2.5 if strong else 1.2,
                "width": 4 if strong else 0,
            },
            text=[_hover(result, each) for each in own],
            hovertemplate="%{text}<extra></extra>",
            row=1,
            col=1,
        )
    # Only now: a line is not drawn into a panel that is still empty.
    figure.add_vline(x=1, line={"color": colours.usual, "width": 1.5, "dash": "dash"}, row=1, col=1)


def _stands(each: FactorEffect, *, above: bool) -> bool:
    return each.fair.finding and (each.fair.ratio > 1) == above


def _within(ratio: float) -> bool:
    return math.isfinite(ratio) and 1 / FURTHEST <= ratio <= FURTHEST


def _cut(bound: float) -> float:
    return min(max(bound, 1 / FURTHEST), FURTHEST)


def _name(each: FactorEffect) -> str:
    """Two short lines, so that names leave room for the figure on a phone."""
    return f"{each.factor_label}<br><b>{plain_text(each.level_label.partition(', ')[0])}</b>"


def _hover(result: FactorsResult, each: FactorEffect) -> str:
    fair, measure = each.fair, result.kind.measure
    exposure = f"{number(fair.exposure)} {'pieces' if measure == 'pieces' else 'stitches'}"
    return (
        f"<b>{each.factor_label}: {plain_text(each.level_label)}</b><br>"
        f"{times(fair.ratio)} the others' "
        f"({percent(fair.ratio_level, 0)} interval {times_interval(fair.ratio_interval)})<br>"
        f"like jobs {rate_only(measure, fair.rate)} against "
        f"{rate_only(measure, fair.others_rate)}<br>all jobs "
        f"{rate_only(measure, fair.crude_rate)}, {number(fair.count)} in {exposure}"
    )


def _curve_title(result: FactorsResult, curve: FairCurve) -> str:
    unit = _unit(curve.factor)
    named = f"{factor_label(curve.factor)}{f' in {unit}' if unit else ''}"
    sewn = "pieces" if result.kind.measure == "pieces" else "stitches"
    return f"{named}<br>over the same {number(curve.exposure)} {sewn}"


def _unit(factor: str) -> str:
    return next((each.unit or "" for each in FACTORS if each.column == factor), "")


def _curve(
    figure: go.Figure, result: FactorsResult, curve: FairCurve, *, row: int, dark: bool
) -> None:
    colours = palette(dark=dark)
    measure, scale = result.kind.measure, _scale(result)
    rates = [point.rate * scale for point in curve.points]
    figure.add_scatter(
        x=[_short(curve, point.level) for point in curve.points],
        y=rates,
        mode="lines+markers",
        line={"color": colours.thread, "width": 2},
        marker={"size": 9, "color": colours.thread},
        error_y={
            "type": "data",
            "symmetric": False,
            "array": [p.interval[1] * scale - p.rate * scale for p in curve.points],
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


def _short(curve: FairCurve, level: str) -> str:
    """A level for the axis: a band's name over its edges, the unit left to the title."""
    label = level_label(curve.factor, level).replace(f" {_unit(curve.factor)}", "")
    return label.replace(", ", "<br>", 1).replace(" to ", "–").replace(" and over", "+")


def _scale(result: FactorsResult) -> float:
    return 100.0 if result.kind.measure == "pieces" else float(PER_STITCHES)


def _axes(
    figure: go.Figure,
    result: FactorsResult,
    shown: Sequence[FactorEffect],
    curves: Sequence[FairCurve],
    colours: Palette,
) -> None:
    reach = [_cut(bound) for each in shown for bound in each.fair.ratio_interval]
    low, high = min([*reach, 0.5]) * 0.9, max([*reach, 2.0]) * 1.1
    figure.update_xaxes(
        type="log",
        range=[math.log10(low), math.log10(high)],
        tickvals=TICKS,
        ticktext=[f"{tick:g}" for tick in TICKS],
        showgrid=True,
        title={
            "text": "← fewer · times the others' · more →",
            "standoff": 4,
            "font": {"size": 12, "color": colours.quiet},
        },
        row=1,
        col=1,
    )
    figure.update_yaxes(
        type="category",
        categoryorder="array",
        categoryarray=[_name(each) for each in reversed(shown)],
        tickfont={"size": 12},
        showgrid=False,
        row=1,
        col=1,
    )
    for place, curve in enumerate(curves, start=2):
        top = min(
            max(point.interval[1] for point in curve.points),
            HIGHEST * max(point.rate for point in curve.points),
        )
        figure.update_xaxes(type="category", tickangle=0, tickfont={"size": 11}, row=place, col=1)
        figure.update_yaxes(
            range=[0, top * _scale(result) * 1.05],
            title={
                "text": "%" if _scale(result) == 100.0 else "per 100,000",
                "font": {"size": 12, "color": colours.quiet},
            },
            row=place,
            col=1,
        )
    figure.update_annotations(
        font={"size": 13, "color": colours.ink}, xanchor="left", x=0, align="left"
    )
    figure.update_layout(
        title={"x": 0.02, "xref": "container"},
        showlegend=True,
        legend={"orientation": "h", "x": 0, "y": 0, "yref": "container", "yanchor": "bottom"},
        margin={"t": ABOVE, "b": BELOW},
    )
