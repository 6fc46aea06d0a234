"""What stands in a panel of a drawing: lines, areas, markers, doubt, bars, shapes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from logbook.report.figure_svg.axes import Axis
from logbook.report.figure_svg.text import pixels

Point = tuple[float, float]
DASHES = {"dash": "6 4", "dot": "2 3", "dashdot": "6 3 2 3"}
_CORNERS: dict[str, tuple[Point, ...]] = {
    "square": ((-1, -1), (1, -1), (1, 1), (-1, 1)),
    "diamond": ((0, -1.3), (1.3, 0), (0, 1.3), (-1.3, 0)),
    "triangle-up": ((0, -1.15), (1.15, 0.75), (-1.15, 0.75)),
    "triangle-down": ((0, 1.15), (-1.15, -0.75), (1.15, -0.75)),
}
"""Corners of the symbols, in half sizes about the middle."""
SYMBOLS = frozenset(f"{name}{end}" for name in ("circle", *_CORNERS) for end in ("", "-open"))
ACROSS = "line-ew"
"""A short line across: it has an edge alone."""


@dataclass(frozen=True, slots=True)
class Panel:
    """Two axes that belong together."""

    x: Axis
    y: Axis

    def point(self, x: Any, y: Any) -> Point | None:
        """Pixels of a pair of values; None where one of them has no place."""
        across, up = self.x.pixel(x), self.y.pixel(y)
        return None if across is None or up is None else (across, up)


def points_of(trace: Any, panel: Panel) -> list[Point | None]:
    """Pixels of a trace's values, in their order."""
    xs, ys = values(trace.x), values(trace.y)
    return [panel.point(x, y) for x, y in zip(xs, ys, strict=False)]


def values(column: Any) -> list[Any]:
    """A column of a trace as plain values; none where it has none."""
    return [] if column is None else list(column)


def line(points: Sequence[Point | None], told: Any, colour: str) -> list[str]:
    """Draw a line through the points, parted where one is missing."""
    style = f'fill="none" stroke="{escape(colour)}" stroke-width="{pixels(told.width or 2)}"'
    return [
        f'<path d="{_path(part, told.shape)}" {style}{dashed(told.dash)}/>'
        for part in _parts(points)
        if len(part) > 1
    ]


def area(points: Sequence[Point | None], below: Sequence[Point | None], trace: Any) -> list[str]:
    """Tint the ground between a line and another below it."""
    shape = trace.line.shape
    pairs = [
        None if up is None or down is None else (up, down)
        for up, down in zip(points, below, strict=False)
    ]
    drawn = []
    for part in _parts(pairs):
        there = _path([up for up, _ in part], shape)
        back = _path([down for _, down in reversed(part)], shape).replace("M", "L", 1)
        drawn.append(f'<path d="{there}{back}Z" fill="{escape(trace.fillcolor)}"/>')
    return drawn


def markers(points: Sequence[Point | None], trace: Any, panel: Panel) -> list[str]:
    """Draw a trace's markers; what lies outside its panel is left out."""
    told = trace.marker
    drawn = []
    for place, point in enumerate(points):
        if point is None or not (panel.x.holds(point[0]) and panel.y.holds(point[1])):
            continue
        drawn.append(
            symbol(
                point,
                str(_of(told.symbol, place) or "circle"),
                float(_of(told.size, place) or 6),
                str(_of(told.color, place)),
                edge=(str(told.line.color), float(told.line.width)) if told.line.width else None,
            )
        )
    return drawn


def symbol(
    point: Point,
    name: str,
    size: float,
    colour: str,
    *,
    edge: tuple[str, float] | None = None,
    role: str = "marker",
) -> str:
    """Draw one marker; an ``-open`` one is hollow. Its role is its class in the drawing."""
    x, y = point
    half = size / 2
    if name == ACROSS and edge is not None:
        style = f'class="{role}" stroke="{escape(edge[0])}" stroke-width="{pixels(edge[1])}"'
        return _segment((x - half, y), (x + half, y), style)
    if name.endswith("-open"):
        style = f'fill="none" stroke="{escape(colour)}" stroke-width="1.5"'
    else:
        style = f'fill="{escape(colour)}"'
        if edge is not None:
            style += f' stroke="{escape(edge[0])}" stroke-width="{pixels(edge[1])}"'
    corners = _CORNERS.get(name.removesuffix("-open"))
    if corners is None:
        return (
            f'<circle class="{role}" cx="{pixels(x)}" cy="{pixels(y)}" r="{pixels(half)}" {style}/>'
        )
    around = " ".join(f"{pixels(x + half * a)},{pixels(y + half * b)}" for a, b in corners)
    return f'<polygon class="{role}" points="{around}" {style}/>'


def doubt(trace: Any, panel: Panel) -> list[str]:
    """Draw error bars, across and upwards."""
    drawn = []
    for along, told in (("x", trace.error_x), ("y", trace.error_y)):
        if told.array is None:
            continue
        style = f'stroke="{escape(str(told.color))}" stroke-width="{pixels(told.thickness or 2)}"'
        for pair, ends in zip(
            zip(values(trace.x), values(trace.y), strict=False), bounds(trace, along), strict=False
        ):
            first, last = (
                panel.point(*((end, pair[1]) if along == "x" else (pair[0], end))) for end in ends
            )
            if first is None or last is None:
                continue
            cap = (told.width or 0) / 2
            drawn.append(_segment(first, last, style))
            if cap:
                aside = (0.0, cap) if along == "x" else (cap, 0.0)
                drawn += [
                    _segment(_moved(p, aside, -1), _moved(p, aside, 1), style)
                    for p in (first, last)
                ]
    return drawn


def bounds(trace: Any, along: str) -> list[tuple[float | None, float | None]]:
    """Both ends of each error bar of a trace, as values."""
    told = trace.error_x if along == "x" else trace.error_y
    if told.array is None:
        return []
    up = values(told.array)
    down = up if told.arrayminus is None else values(told.arrayminus)
    middles = values(trace.x if along == "x" else trace.y)
    return [
        (None, None)
        if middle is None or less is None or more is None
        else (middle - less, middle + more)
        for middle, less, more in zip(middles, down, up, strict=False)
    ]


def bars(trace: Any, panel: Panel) -> list[str]:
    """Draw bars from nought."""
    across = trace.orientation == "h"
    along, beside = (panel.x, panel.y) if across else (panel.y, panel.x)
    sizes, places = (trace.x, trace.y) if across else (trace.y, trace.x)
    drawn = []
    for place, (size, at) in enumerate(zip(values(sizes), values(places), strict=False)):
        end, middle = along.pixel(size), beside.number(at)
        if end is None or middle is None:
            continue
        half = float(_of(trace.width, place) or 0.8) / 2
        sides = sorted((beside.at(middle - half), beside.at(middle + half)))
        ends = sorted((along.pixel(0.0) or 0.0, end))
        drawn.append(_box(ends, sides, across=across, colour=str(_of(trace.marker.color, place))))
    return drawn


def _box(ends: Sequence[float], sides: Sequence[float], *, across: bool, colour: str) -> str:
    (left, right), (top, bottom) = (ends, sides) if across else (sides, ends)
    return (
        f'<rect class="bar" x="{pixels(left)}" y="{pixels(top)}" width="{pixels(right - left)}" '
        f'height="{pixels(bottom - top)}" fill="{escape(colour)}"/>'
    )


def straight(
    first: Point, last: Point, *, colour: str, width: float = 1, dash: str | None = None
) -> str:
    """Draw a line of the layout, such as the usual rate."""
    style = f'stroke="{escape(colour)}" stroke-width="{pixels(width)}"'
    return _segment(first, last, style + dashed(dash))


def ground(first: Point, last: Point, colour: str) -> str:
    """Tint a rectangle of the layout, such as the margin that does not matter."""
    left, right = sorted((first[0], last[0]))
    top, bottom = sorted((first[1], last[1]))
    return (
        f'<rect x="{pixels(left)}" y="{pixels(top)}" width="{pixels(right - left)}" '
        f'height="{pixels(bottom - top)}" fill="{escape(colour)}"/>'
    )


def dashed(dash: str | None) -> str:
    """How a line is broken."""
    return (
        f' stroke-dasharray="{DASHES.get(dash, escape(dash))}"'
        if dash not in (None, "solid")
        else ""
    )


def _path(points: Sequence[Point], shape: str | None) -> str:
    (x, y), *rest = points
    made = [f"M{pixels(x)},{pixels(y)}"]
    for after_x, after_y in rest:
        if shape == "hvh":
            made.append(f"H{pixels((x + after_x) / 2)}V{pixels(after_y)}H{pixels(after_x)}")
        else:
            made.append(f"L{pixels(after_x)},{pixels(after_y)}")
        x = after_x
    return "".join(made)


def _parts(points: Iterable[Any]) -> list[list[Any]]:
    """Runs of points between those that are missing."""
    parts: list[list[Any]] = [[]]
    for point in points:
        if point is None:
            parts.append([])
        else:
            parts[-1].append(point)
    return [part for part in parts if part]


def _segment(first: Point, last: Point, style: str) -> str:
    return (
        f'<line x1="{pixels(first[0])}" y1="{pixels(first[1])}" '
        f'x2="{pixels(last[0])}" y2="{pixels(last[1])}" {style}/>'
    )


def _moved(point: Point, aside: Point, times: float) -> Point:
    return point[0] + aside[0] * times, point[1] + aside[1] * times


def _of(told: Any, place: int) -> Any:
    """One value for all, or each its own."""
    if told is None or isinstance(told, str | int | float):
        return told
    return told[place] if place < len(told) else None


def finite(column: Iterable[Any]) -> list[Any]:
    """The values that have a place on an axis."""
    return [v for v in column if v is not None and not (isinstance(v, float) and math.isnan(v))]
