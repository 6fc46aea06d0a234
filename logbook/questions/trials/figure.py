"""The running difference of a trial, with the interval that holds however often one looks."""

from __future__ import annotations

import math

import plotly.graph_objects as go

from logbook.charts.theme import Palette, dressed, palette, plain_text
from logbook.questions.trials.result import LookSeen, TrialJudged, TrialsResult

WIDEST = 4.0
"""The axis shows so many times the smallest difference worth having: early intervals are wider."""
MARKED = 24


def draw(result: TrialsResult, *, dark: bool = False) -> go.Figure:
    """Draw changed minus now after each look, in points; below the line is better."""
    colours, judged = palette(dark=dark), result.judged
    if judged is None or not judged.looks:
        return _nothing_yet(judged, dark=dark)
    trial, figure = judged.kept.trial, go.Figure()
    worth = 100 * trial.smallest_difference
    shown = [each for each in judged.looks if math.isfinite(each.interval[0])]
    reach = _reach(shown, worth)
    _band(figure, shown, reach, colours)
    figure.add_hline(y=0, line={"color": colours.ink, "width": 1.5})
    figure.add_hline(y=-worth, line={"color": colours.usual, "width": 1.5, "dash": "dash"})
    for y, words, place in ((0.0, "no difference", "bottom"), (-worth, "worth having", "top")):
        figure.add_annotation(
            text=words, x=1, xref="paper", xanchor="right", y=y, yanchor=place, showarrow=False,
            font={"color": colours.quiet, "size": 12},
        )  # fmt: skip
    dressed(figure, title=f"{plain_text(judged.defect_label)}: changed minus as now", dark=dark)
    figure.update_yaxes(title={"text": "points, below 0 is better"}, range=[-reach, reach])
    figure.update_xaxes(title={"text": "pairs sewn"}, range=[0, 1.03 * trial.pairs], nticks=7)
    return figure


def _reach(looks: list[LookSeen], worth: float) -> float:
    furthest = max((100 * abs(each.difference) for each in looks), default=0.0)
    last = max((100 * abs(bound) for bound in looks[-1].interval), default=0.0) if looks else 0.0
    return 1.1 * max(worth, furthest, min(last, WIDEST * worth))


def _band(figure: go.Figure, looks: list[LookSeen], reach: float, colours: Palette) -> None:
    across = [each.pairs for each in looks]
    line = {"color": colours.usual, "width": 1}
    for side in (0, 1):
        figure.add_scatter(
            x=across,
            # Cut at the edge of the drawing: an early interval would press all others flat.
            y=[min(max(100 * each.interval[side], -reach), reach) for each in looks],
            mode="lines",
            line=line,
            fill="tonexty" if side else None,
            fillcolor=colours.band,
            hoverinfo="skip",
        )
    figure.add_scatter(
        x=across,
        y=[100 * each.difference for each in looks],
        mode="lines+markers" if len(looks) <= MARKED else "lines",
        line={"color": colours.thread, "width": 2},
        marker={"size": 7, "color": colours.thread},
        text=[
            f"after {each.pairs} pairs: {100 * each.difference:+.1f} points "
            f"({100 * each.interval[0]:+.1f} to {100 * each.interval[1]:+.1f})"
            for each in looks
        ],
        hovertemplate="%{text}<extra></extra>",
    )


def _nothing_yet(judged: TrialJudged | None, *, dark: bool) -> go.Figure:
    """An empty drawing that says what will be here."""
    figure = go.Figure()
    if judged is None:
        title, most = "No trial is being sewn", 10
    else:
        first = judged.kept.trial.looks[0]
        title = f"The first look is after pair {first}; {len(judged.sewn.counted)} are sewn"
        most = judged.kept.trial.pairs
    dressed(figure, title=title, dark=dark, height=220)
    figure.update_xaxes(title={"text": "pairs sewn"}, range=[0, most])
    figure.update_yaxes(title={"text": "points"}, range=[-1, 1])
    return figure
