"""Stitches drawn one by one: satin columns, fills in rows, running stitches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, cos, hypot, radians, sin

from logbook.charts.illustrations.frame import Point, area, lines, stroke, through
from logbook.charts.illustrations.goods import Goods

Stitch = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class Thread:
    """The three tones of one thread."""

    deep: str
    main: str
    light: str


def top_thread(goods: Goods) -> Thread:
    """The thread that fills and letters are sewn with."""
    return Thread(goods.thread_deep, goods.thread, goods.thread_light)


def second_thread(goods: Goods) -> Thread:
    """The thread of outlines."""
    return Thread(goods.second_deep, goods.second, goods.second_light)


def column(start: Point, end: Point, width: float, *, step: float = 4.0) -> list[Stitch]:
    """Satin stitches across a straight column, from one end to the other."""
    return ribbon([start, end], width, step=step)


def ribbon(points: Sequence[Point], width: float, *, step: float = 4.0) -> list[Stitch]:
    """Satin stitches across a ribbon that follows a line through points."""
    along = _evenly(points, step)
    stitches: list[Stitch] = []
    for place, (x, y) in enumerate(along):
        before, after = along[max(place - 1, 0)], along[min(place + 1, len(along) - 1)]
        run_x, run_y = after[0] - before[0], after[1] - before[1]
        long = hypot(run_x, run_y) or 1.0
        side_x, side_y = -run_y / long * width / 2, run_x / long * width / 2
        stitches.append(((x - side_x, y - side_y), (x + side_x, y + side_y)))
    return stitches


def satin(stitches: Sequence[Stitch], thread: Thread, *, step: float = 4.0) -> str:
    """Draw satin: each thread with its dark edge, and a sheen along the middle of the column."""
    return (
        stroke(lines(stitches), thread.deep, step * 1.15)
        + stroke(lines(stitches), thread.main, step * 0.78)
        + stroke(lines([_part(each, 0.3, 0.62) for each in stitches]), thread.light, step * 0.4)
    )


def fill_rows(
    outline: Sequence[Point], *, spacing: float = 5.0, stitch: float = 26.0, angle: float = 0.0
) -> list[Stitch]:
    """Stitches of a fill: rows across an outline, needle points staggered from row to row.

    Parameters
    ----------
    outline
        Corners of the area.
    spacing, stitch
        Between rows, and along a row.
    angle
        Of the rows, in degrees.
    """
    turned = [_turn(point, -angle) for point in outline]
    lowest, highest = min(y for _, y in turned), max(y for _, y in turned)
    stitches: list[Stitch] = []
    for row in range(ceil((highest - lowest) / spacing)):
        y = lowest + (row + 0.5) * spacing
        for left, right in _spans(turned, y):
            offset = (row % 3) * stitch / 3
            cut = left - (left % stitch) + offset - stitch
            while cut < right:
                start, end = max(cut, left), min(cut + stitch, right)
                if end - start > 2:
                    stitches.append((_turn((start, y), angle), _turn((end, y), angle)))
                cut += stitch
    return stitches


def fill(
    outline: Sequence[Point], thread: Thread, *, spacing: float = 5.0, angle: float = 0.0
) -> str:
    """Draw a closed fill: no ground is seen in it."""
    rows = fill_rows(outline, spacing=spacing, angle=angle)
    return area(through(outline, closed=True), thread.deep) + rows_of(rows, thread, spacing)


def rows_of(stitches: Sequence[Stitch], thread: Thread, width: float) -> str:
    """Draw the stitches of a fill, dimpled where the needle went in."""
    shorter = [_part(each, 0.05, 0.95) for each in stitches]
    return (
        stroke(lines(shorter), thread.deep, width * 0.98)
        + stroke(lines(shorter), thread.main, width * 0.8)
        + stroke(lines([_part(each, 0.3, 0.7) for each in stitches]), thread.light, width * 0.3)
    )


def running(points: Sequence[Point], thread: Thread, *, stitch: float = 12.0) -> str:
    """Draw running stitches along a line."""
    places = _evenly(points, stitch)
    stitches = [_part((one, other), 0.17, 0.83) for one, other in pairwise(places)]
    return stroke(lines(stitches), thread.deep, 7) + stroke(lines(stitches), thread.main, 5)


def strand(data: str, thread: Thread, width: float = 3.6) -> str:
    """Draw one loose thread along a path."""
    return (
        stroke(data, thread.deep, width * 1.35)
        + stroke(data, thread.main, width)
        + stroke(data, thread.light, width * 0.3)
    )


def ring(goods: Goods, centre: Point, across: float, down: float | None = None) -> str:
    """Point to the defect with a ring."""
    x, y = centre
    place = f'<ellipse cx="{x:g}" cy="{y:g}" rx="{across:g}" ry="{down or across:g}" fill="none"'
    return (
        f'{place} stroke="{goods.cloth_light}" stroke-width="6" opacity="0.85"/>'
        f'{place} stroke="{goods.mark}" stroke-width="3" stroke-dasharray="9 6"/>'
    )


def letter_h(
    left: float, top: float, *, width: float = 110, height: float = 130, stroke_width: float = 32
) -> tuple[list[Stitch], list[Stitch], list[Stitch]]:
    """The three satin columns of a capital H: its bar first, then its two posts."""
    right, bottom, middle = left + width, top + height, top + height / 2
    return (
        column((left, middle), (right, middle), stroke_width * 0.85),
        column((left, top), (left, bottom), stroke_width),
        column((right, top), (right, bottom), stroke_width),
    )


def _part(stitch: Stitch, start: float, end: float) -> Stitch:
    (x0, y0), (x1, y1) = stitch
    return (
        (x0 + (x1 - x0) * start, y0 + (y1 - y0) * start),
        (x0 + (x1 - x0) * end, y0 + (y1 - y0) * end),
    )


def _turn(point: Point, degrees: float) -> Point:
    turn = radians(degrees)
    x, y = point
    return x * cos(turn) - y * sin(turn), x * sin(turn) + y * cos(turn)


def _spans(outline: Sequence[Point], y: float) -> list[tuple[float, float]]:
    crossed = []
    for (x0, y0), (x1, y1) in zip(outline, [*outline[1:], outline[0]], strict=True):
        if (y0 <= y) != (y1 <= y):
            crossed.append(x0 + (y - y0) * (x1 - x0) / (y1 - y0))
    crossed.sort()
    return list(zip(crossed[::2], crossed[1::2], strict=False))


def _evenly(points: Sequence[Point], step: float) -> list[Point]:
    """Places along a line, at most a step apart."""
    placed = [points[0]]
    carried = 0.0
    for (x0, y0), (x1, y1) in pairwise(points):
        long = hypot(x1 - x0, y1 - y0)
        at = step - carried
        while at <= long + 1e-9:
            placed.append((x0 + (x1 - x0) * at / long, y0 + (y1 - y0) * at / long))
            at += step
        carried = long - (at - step)
    return placed
