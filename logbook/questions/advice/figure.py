"""Suggested changes: what each would save, with its interval."""

from __future__ import annotations

import textwrap

import plotly.graph_objects as go

from logbook.charts.theme import dressed, palette, plain_text
from logbook.questions.advice.analyse import AdviceResult
from logbook.wording import money, number, percent

ROW, AROUND = 64, 150
WRAPPED_AT = 24


def draw(result: AdviceResult, *, dark: bool = False) -> go.Figure:
    """Draw the best guess of each suggestion's saving and its interval, the first on top.

    Parameters
    ----------
    result
        The advice.
    dark
        Which of the two palettes.

    Returns
    -------
    plotly.graph_objects.Figure
        In the shop's currency; right is saved. Thin evidence is drawn hollow.
    """
    colours = palette(dark=dark)
    shown = result.suggestions
    names = [_wrapped(f"{place}. {each.words()}") for place, each in enumerate(shown, start=1)]
    figure = go.Figure()
    figure.add_vline(x=0, line={"color": colours.usual, "width": 1.5, "dash": "dash"})
    figure.add_scatter(
        x=[each.best_guess_per_100 for each in shown],
        y=names,
        mode="markers",
        marker={
            "size": 13,
            "symbol": ["diamond-open" if each.evidence == "thin" else "diamond" for each in shown],
            "color": colours.thread,
        },
        error_x={
            "type": "data",
            "symmetric": False,
            "array": [each.saving_interval[1] - each.best_guess_per_100 for each in shown],
            "arrayminus": [each.best_guess_per_100 - each.saving_interval[0] for each in shown],
            "color": colours.thread,
            "thickness": 2,
            "width": 5,
        },
        text=[
            f"{money(each.best_guess_per_100, result.currency)} per 100 pieces at best guess, "
            f"{percent(each.expected_rate)} defective, {number(each.pieces)} pieces"
            for each in shown
        ],
        hovertemplate="%{text}<extra></extra>",
        showlegend=False,
    )
    doubt = f"{percent(result.level, 0)} interval"
    title = f"{result.currency} saved per 100 pieces:<br>best guess and {doubt}"
    dressed(figure, title=title, dark=dark, height=AROUND + ROW * max(len(shown), 1))
    figure.update_xaxes(
        title={"text": "← costs more · saves →", "font": {"size": 12}}, showgrid=True
    )
    figure.update_yaxes(autorange="reversed", type="category", automargin=True)
    figure.update_layout(title={"x": 0.02, "xref": "container"})
    return figure


def _wrapped(words: str) -> str:
    return "<br>".join(textwrap.wrap(plain_text(words), WRAPPED_AT))
