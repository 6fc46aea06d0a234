"""Money above what was to be expected as bars, and the levels in their funnel."""

from __future__ import annotations

import math

import plotly.graph_objects as go

from logbook.charts.theme import Palette, dressed, palette, plain_text
from logbook.charts.worded_bars import worded_bars
from logbook.questions.where.result import Level, WhereResult
from logbook.questions.where.tables import gathered, runs_behind
from logbook.questions.where.words import about, figures
from logbook.wording import money, number

SHOWN = 12
NAMED = 6
"""Points of the funnel that bear their names."""
LOWEST, HIGHEST = 0.1, 20.0
TICKS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)


def draw(result: WhereResult, *, dark: bool = False) -> go.Figure:
    """Draw money above expectation, level by level, what lies below to the left of nought.

    Parameters
    ----------
    result
        The levels.
    dark
        Which of the two palettes.

    Returns
    -------
    plotly.graph_objects.Figure
        Bars of money, or of pieces where money is not known; each leads to its runs.
    """
    shown = _both_ends(result)
    sizes = [_stake(result, each) for each in shown]
    title = f"{about(result).capitalize()} above what was to be expected"
    title += f", {result.currency}" if result.priced else ""
    if len(result.levels) > len(shown):
        title += f"<br>({number(len(shown))} of {number(len(result.levels))}, the furthest off)"
    drawn = worded_bars(
        places=list(range(len(shown))),
        sizes=sizes,
        words=[_worded(result, each) for each in shown],
        text=[f"{plain_text(each.name)}<br>{plain_text(figures(result, each))}" for each in shown],
        hovertemplate="%{text}<extra></extra>",
        title=title,
        dark=dark,
    )
    colours = palette(dark=dark)
    drawn.update_traces(marker={"color": [_colour(each, colours) for each in shown]})
    return drawn


def draw_funnel(result: WhereResult, *, dark: bool = False) -> go.Figure | None:
    """Draw each level's ratio over what was expected of it, within limits of luck.

    None where nothing can be drawn: several columns have several funnels.
    """
    shown = [each for each in result.levels if each.expected > 0]
    if not result.funnel:
        return None
    colours = palette(dark=dark)
    drawn = go.Figure()
    _limits(drawn, result, colours)
    groups = (
        ("above", colours.alarm, "diamond", [e for e in shown if e.above]),
        ("below", colours.relief, "diamond", [e for e in shown if e.below]),
        ("as expected", colours.quiet, "circle", [e for e in shown if not (e.above or e.below)]),
    )
    for name, colour, symbol, own in groups:
        drawn.add_scatter(
            x=[each.expected for each in own],
            y=[_held(each.ratio) for each in own],
            mode="markers",
            name=name,
            marker={"size": 11 if symbol == "diamond" else 8, "symbol": symbol, "color": colour},
            text=[f"{plain_text(e.name)}<br>{plain_text(figures(result, e))}" for e in own],
            hovertemplate="%{text}<extra></extra>",
        )
    _names(drawn, shown, colours)
    title = (
        f"{about(result).capitalize()}: times what was to be expected,<br>"
        "small levels to the left, where luck reaches further"
    )
    dressed(drawn, title=title, dark=dark, height=420)
    _axes(drawn, result, shown)
    return drawn


FURTHER = (draw_funnel,)


def _both_ends(result: WhereResult) -> list[Level]:
    """Levels that lie furthest off, above first."""
    telling, _ = gathered(result)
    far = sorted(telling, key=lambda each: -abs(_stake(result, each)))[:SHOWN]
    return [each for each in telling if any(each is one for one in far)]


def _stake(result: WhereResult, level: Level) -> float:
    if result.priced:
        return level.money_above
    return level.expected * (level.shrunk_ratio - 1.0)


def _worded(result: WhereResult, level: Level) -> str:
    name = plain_text(level.short_name if result.by else level.name)
    address = runs_behind(result, level)
    if address:
        name = f'<a href="{plain_text(address)}" target="_self">{name}</a>'
    stake = _stake(result, level)
    said = money(stake, result.currency) if result.priced else f"{stake:+.1f}"
    return f"{name}: {said}"


def _colour(level: Level, colours: Palette) -> str:
    return colours.alarm if level.above else colours.relief if level.below else colours.quiet


def _held(ratio: float) -> float:
    return min(max(ratio, LOWEST), HIGHEST)


def _limits(drawn: go.Figure, result: WhereResult, colours: Palette) -> None:
    """Lines within which levels lie where only luck is at work."""
    for limits, dash in zip(result.funnel, ("dash", "dot"), strict=False):
        for place, side in enumerate((limits.lower, limits.upper)):
            drawn.add_scatter(
                x=limits.expected,
                y=[_held(each) for each in side],
                mode="lines",
                line={"color": colours.usual, "width": 1.5, "dash": dash},
                name=f"{limits.level * 100:g} % of levels",
                showlegend=place == 0,
                hoverinfo="skip",
            )
    across = result.funnel[0].expected
    drawn.add_scatter(
        x=[across[0], across[-1]],
        y=[1, 1],
        mode="lines",
        line={"color": colours.usual, "width": 1},
        showlegend=False,
        hoverinfo="skip",
    )


def _names(drawn: go.Figure, shown: list[Level], colours: Palette) -> None:
    telling = [each for each in shown if each.above or each.below]
    telling.sort(key=lambda each: -abs(math.log(_held(each.shrunk_ratio))))
    for each in telling[:NAMED]:
        drawn.add_annotation(
            x=math.log10(each.expected),
            y=math.log10(_held(each.ratio)),
            text=plain_text(each.short_name),
            showarrow=False,
            yshift=14,
            font={"size": 12, "color": colours.ink},
        )


def _axes(drawn: go.Figure, result: WhereResult, shown: list[Level]) -> None:
    ratios = [_held(each.ratio) for each in shown]
    low, high = min([*ratios, 0.5]), max([*ratios, 2.0])
    drawn.update_yaxes(
        type="log",
        range=[math.log10(low * 0.85), math.log10(high * 1.3)],
        tickvals=TICKS,
        ticktext=[f"{tick:g}" for tick in TICKS],
        showgrid=True,
    )
    least, most = (f(each.expected for each in shown) for f in (min, max))
    powers = range(math.floor(math.log10(least)), math.ceil(math.log10(most)) + 1)
    ticks = [step * 10.0**power for power in powers for step in (1, 3)]
    ticks = [each for each in ticks if least * 0.7 <= each <= most * 1.4]
    words = f"expected, {result.currency}" if result.of_money else "expected"
    drawn.update_xaxes(
        type="log",
        range=[math.log10(least * 0.7), math.log10(most * 1.4)],
        tickvals=ticks,
        ticktext=[f"{tick:,.0f}" if tick >= 1 else f"{tick:g}" for tick in ticks],
        title={"text": words, "standoff": 4, "font": {"size": 12}},
    )
    drawn.update_layout(
        showlegend=True,
        legend={"orientation": "h", "x": 0, "y": 0, "yref": "container", "yanchor": "bottom"},
        margin={"t": 72, "b": 112},
    )
