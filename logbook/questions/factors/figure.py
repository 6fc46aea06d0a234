"""What goes with a defect: each level's rate against the others'."""

from __future__ import annotations

import math
from collections.abc import Sequence

import plotly.graph_objects as go

from logbook.charts.theme import Palette, dressed, palette, plain_text
from logbook.questions.factors.result import FactorEffect, FactorsResult
from logbook.wording import number, percent, rate_only, times, times_interval

MOST_LEVELS = 20
"""Levels that fit without scrolling; the findings come first."""
FURTHEST = 20.0
"""Intervals that reach further than so many times, or so many times less, are cut off there."""
ROW = 36
ABOVE, BELOW = 84, 112
TICKS = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)


def draw(result: FactorsResult, *, dark: bool = False) -> go.Figure:
    """Draw the ratio of each level to the others.

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
        others up to ``MOST_LEVELS`` quiet.
    """
    shown = [each for each in result.effects if each.comparable][:MOST_LEVELS]
    figure = go.Figure()
    _dots(figure, result, shown, dark=dark)
    title = f"{result.kind.label}: each level's rate,<br>times the others', on like jobs"
    height = max(len(shown), 1) * ROW + ABOVE + BELOW
    dressed(figure, title=title, dark=dark, height=height)
    _axes(figure, shown, palette(dark=dark))
    return figure


def _dots(
    figure: go.Figure, result: FactorsResult, shown: Sequence[FactorEffect], *, dark: bool
) -> None:
    colours = palette(dark=dark)
    groups = (
        ("more with it", colours.alarm, "diamond", [e for e in shown if _stands(e, above=True)]),
        ("less with it", colours.relief, "diamond", [e for e in shown if _stands(e, above=False)]),
        ("may be luck", colours.quiet, "circle", [e for e in shown if not e.adjusted.finding]),
    )
    figure.add_scatter(
        x=[each.crude.ratio for each in shown if _within(each.crude.ratio)],
        y=[_name(each) for each in shown if _within(each.crude.ratio)],
        mode="markers",
        name="all jobs thrown together",
        marker={"size": 8, "symbol": "circle-open", "color": colours.quiet},
        hovertemplate="%{y}<br>all jobs thrown together: %{x:.2f} times<extra></extra>",
    )
    for name, colour, symbol, own in groups:
        strong = symbol == "diamond"
        figure.add_scatter(
            x=[each.adjusted.ratio for each in own],
            y=[_name(each) for each in own],
            mode="markers",
            name=name,
            marker={"size": 12 if strong else 7, "symbol": symbol, "color": colour},
            error_x={
                "type": "data",
                "symmetric": False,
                "array": [
                    _cut(each.adjusted.ratio_interval[1]) - each.adjusted.ratio for each in own
                ],
                "arrayminus": [
                    each.adjusted.ratio - _cut(each.adjusted.ratio_interval[0]) for each in own
                ],
                "color": colour,
                "thickness": 2.5 if strong else 1.2,
                "width": 4 if strong else 0,
            },
            text=[_hover(result, each) for each in own],
            hovertemplate="%{text}<extra></extra>",
        )
    # Only now: a line is not drawn into a panel that is still empty.
    figure.add_vline(x=1, line={"color": colours.usual, "width": 1.5, "dash": "dash"})


def _stands(each: FactorEffect, *, above: bool) -> bool:
    return each.adjusted.finding and (each.adjusted.ratio > 1) == above


def _within(ratio: float) -> bool:
    return math.isfinite(ratio) and 1 / FURTHEST <= ratio <= FURTHEST


def _cut(bound: float) -> float:
    return min(max(bound, 1 / FURTHEST), FURTHEST)


def _name(each: FactorEffect) -> str:
    """Two short lines, so that names leave room for the figure on a phone."""
    return f"{each.factor_label}<br><b>{plain_text(each.level_label.partition(', ')[0])}</b>"


def _hover(result: FactorsResult, each: FactorEffect) -> str:
    adjusted, measure = each.adjusted, result.kind.measure
    exposure = f"{number(adjusted.exposure)} {'pieces' if measure == 'pieces' else 'stitches'}"
    level, interval = percent(adjusted.ratio_level, 0), times_interval(adjusted.ratio_interval)
    return (
        f"<b>{each.factor_label}: {plain_text(each.level_label)}</b><br>"
        f"{times(adjusted.ratio)} the others' ({level} interval {interval})<br>"
        f"like jobs {rate_only(measure, adjusted.rate)} against "
        f"{rate_only(measure, adjusted.others_rate)}<br>all jobs "
        f"{rate_only(measure, adjusted.crude_rate)}, {number(adjusted.count)} in {exposure}"
    )


def _axes(
    figure: go.Figure,
    shown: Sequence[FactorEffect],
    colours: Palette,
) -> None:
    reach = [_cut(bound) for each in shown for bound in each.adjusted.ratio_interval]
    low, high = min([*reach, 0.5]) * 0.9, max([*reach, 2.0]) * 1.1
    figure.update_xaxes(
        type="log",
        range=[math.log10(low), math.log10(high)],
        tickvals=TICKS,
        ticktext=[f"{tick:g}" for tick in TICKS],
        showgrid=True,
        title={
            "text": "← fewer · more →",
            "standoff": 4,
            "font": {"size": 12, "color": colours.quiet},
        },
    )
    figure.update_yaxes(
        type="category",
        categoryorder="array",
        categoryarray=[_name(each) for each in reversed(shown)],
        tickfont={"size": 12},
        showgrid=False,
    )
    figure.update_layout(
        title={"x": 0.02, "xref": "container"},
        showlegend=True,
        legend={"orientation": "h", "x": 0, "y": 0, "yref": "container", "yanchor": "bottom"},
        margin={"t": ABOVE, "b": BELOW},
    )
