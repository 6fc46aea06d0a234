"""How a drawing's sheet is shared out: panels, the names beside them, title and legend."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from logbook.report.figure_svg import text
from logbook.report.figure_svg.axes import (
    Axis,
    Tick,
    axis_of,
    row_needed,
    stretched,
    ticks_across,
    ticks_up,
)
from logbook.report.figure_svg.marks import Panel, Point, bounds, finite, values
from logbook.report.figure_svg.text import Line

if TYPE_CHECKING:
    import plotly.graph_objects as go

EDGE = 12.0
TITLE_SIZE = 14.0
LOWEST_PANEL = 80.0
NAMES_BESIDE = 0.38
"""At most so much of the sheet's width is for the names beside a panel."""
LEGEND_ROW = 20.0


@dataclass(frozen=True, slots=True)
class Placed:
    """A panel in its place, with what is drawn in it and which values are named."""

    names: tuple[str, str]
    told_x: Any
    told_y: Any
    traces: tuple[Any, ...]
    axes: Panel
    ticks_x: list[Tick]
    ticks_y: list[Tick]

    @property
    def names_below(self) -> float:
        """Height of the names below the panel."""
        return max((text.height(lines) for _, lines in self.ticks_x), default=0.0)


@dataclass(frozen=True, slots=True)
class Sheet:
    """Where everything of a drawing stands, in pixels."""

    width: float
    height: float
    title: tuple[Line, ...]
    panels: tuple[Placed, ...]
    plot: tuple[float, float, float, float]
    """Left, top, right and bottom of all panels together: what ``paper`` means."""
    legend: tuple[tuple[float, float, Any, tuple[Line, ...]], ...]

    left_edge: float = EDGE
    title_size: float = TITLE_SIZE

    def panel_of(self, xref: str | None, yref: str | None) -> Placed:
        """The panel that words or shapes of the layout refer to."""
        named = {
            (ref or "").removesuffix(" domain")
            for ref in (xref, yref)
            if ref not in (None, "paper")
        }
        return next((each for each in self.panels if named <= set(each.names)), self.panels[0])

    def point(self, xref: str | None, yref: str | None, x: Any, y: Any) -> Point | None:
        """Pixels of a place in the layout."""
        panel = self.panel_of(xref, yref)
        left, top, right, bottom = self.plot
        across = _along(xref, x, panel.axes.x, (left, right))
        up = _along(yref, y, panel.axes.y, (bottom, top))
        return None if across is None or up is None else (across, up)


def sheet_of(figure: go.Figure, width: float) -> Sheet:
    """Share out a sheet of so many pixels across; its height follows from the figure's."""
    layout = figure.layout
    title = text.wrapped(text.lines_of(layout.title.text), width - 2 * EDGE, TITLE_SIZE)
    top = 8 + text.height(title, TITLE_SIZE) + 8 + _words_above(layout, width)
    margin = layout.margin
    unplaced = _panels(figure)
    high = max(
        layout.height - margin.t - margin.b,
        LOWEST_PANEL,
        *(_height_needed(told_y, y, width) for _, _, told_y, _, _, y in unplaced),
    )
    left = EDGE + max(_room_beside(told_y, y, high, width) for _, _, told_y, _, _, y in unplaced)
    plot = (left, top, width - EDGE, top + high)
    panels = tuple(_placed(each, plot) for each in unplaced)
    foot = max(
        max(each.axes.y.start, each.axes.y.end)
        + 4
        + each.names_below
        + (6 + text.height(text.lines_of(each.told_x.title.text)) if each.told_x.title.text else 0)
        for each in panels
    )
    legend = _legend(figure, width, foot + 10)
    bottom = max((y for _, y, _, _ in legend), default=foot - LEGEND_ROW) + LEGEND_ROW + 8
    return Sheet(width, bottom, title, panels, plot, legend)


Unplaced = tuple[tuple[str, str], Any, Any, tuple[Any, ...], Axis, Axis]


def _panels(figure: go.Figure) -> list[Unplaced]:
    """The pairs of axes that traces stand on, each with its traces."""
    found: dict[tuple[str, str], list[Any]] = {}
    for trace in figure.data:
        found.setdefault((trace.xaxis or "x", trace.yaxis or "y"), []).append(trace)
    panels = []
    for (x, y), traces in (found or {("x", "y"): []}).items():
        told_x = figure.layout[x.replace("x", "xaxis")]
        told_y = figure.layout[y.replace("y", "yaxis")]
        shapes = figure.layout.shapes
        across = [v for t in traces for v in _drawn_along(t, "x")]
        across += [v for s in shapes if s.xref == x for v in (s.x0, s.x1)]
        up = [v for t in traces for v in _drawn_along(t, "y")]
        up += [v for s in shapes if s.yref == y for v in (s.y0, s.y1)]
        standing = {t.orientation or "v" for t in traces if t.type == "bar"}
        panels.append(
            (
                (x, y),
                told_x,
                told_y,
                tuple(traces),
                axis_of(told_x, finite(across), from_nought="h" in standing),
                axis_of(told_y, finite(up), from_nought="v" in standing),
            )
        )
    return panels


def _drawn_along(trace: Any, along: str) -> list[Any]:
    drawn = values(trace[along])
    return drawn + [end for ends in bounds(trace, along) for end in ends]


def _height_needed(told: Any, axis: Axis, width: float) -> float:
    """How high all panels must be for each category of this one to have its name."""
    low, top = told.domain or (0.0, 1.0)
    return row_needed(axis, told, NAMES_BESIDE * width) * len(axis.categories) / (top - low)


def _room_beside(told: Any, axis: Axis, high: float, width: float) -> float:
    """How much room the names left of a panel take."""
    low, top = told.domain or (0.0, 1.0)
    tall = stretched(axis, high * (1 - low), high * (1 - top))
    names = ticks_up(tall, told, NAMES_BESIDE * width)
    title = text.height(text.lines_of(told.title.text)) + 4 if told.title.text else 0.0
    return title + (8 + max(text.widest(lines) for _, lines in names) if names else 0.0)


def _placed(unplaced: Unplaced, plot: tuple[float, float, float, float]) -> Placed:
    names, told_x, told_y, traces, x, y = unplaced
    left, top, right, bottom = plot
    x0, x1 = told_x.domain or (0.0, 1.0)
    y0, y1 = told_y.domain or (0.0, 1.0)
    wide, high = right - left, bottom - top
    across = stretched(x, left + wide * x0, left + wide * x1)
    up = stretched(y, bottom - high * y0, bottom - high * y1)
    named_x = ticks_across(across, told_x, right + EDGE)
    named_y = ticks_up(up, told_y, NAMES_BESIDE * (right + EDGE))
    return Placed(names, told_x, told_y, traces, Panel(across, up), named_x, named_y)


def _words_above(layout: Any, width: float) -> float:
    """Room for words that stand above the panels."""
    above = [
        text.wrapped(text.lines_of(each.text), width - 2 * EDGE)
        for each in layout.annotations
        if each.yref == "paper" and each.y >= 1 and each.yanchor == "bottom"
    ]
    return max((text.height(lines) + 6 for lines in above), default=0.0)


def _legend(
    figure: go.Figure, width: float, top: float
) -> tuple[tuple[float, float, Any, tuple[Line, ...]], ...]:
    """Place the legend's entries in rows below everything else."""
    if not figure.layout.showlegend:
        return ()
    x, y = EDGE, top
    placed = []
    for trace in figure.data:
        lines = text.lines_of(trace.name)
        if trace.showlegend is False or not lines or not values(trace.x):
            continue
        wide = 22 + text.widest(lines) + 18
        if x > EDGE and x + wide > width:
            x, y = EDGE, y + LEGEND_ROW
        placed.append((x, y, trace, lines))
        x += wide
    return tuple(placed)


def _along(ref: str | None, value: Any, axis: Axis, paper: Sequence[float]) -> float | None:
    if ref == "paper":
        start, end = paper
        return start + float(value) * (end - start)
    if ref is not None and ref.endswith(" domain"):
        return axis.start + float(value) * (axis.end - axis.start)
    return axis.pixel(value)
