"""Grounds: woven cloth, pile, and the light and shade of a surface that does not lie flat."""

from __future__ import annotations

from math import cos, pi, sin
from random import Random

from logbook.charts.illustrations.frame import (
    FOLDED,
    HEIGHT,
    SOFT,
    WIDTH,
    Point,
    area,
    lines,
    stroke,
    through,
)
from logbook.charts.illustrations.goods import Goods


def woven(goods: Goods) -> str:
    """Plain cloth that lies flat."""
    whole = f'width="{WIDTH}" height="{HEIGHT}"'
    return f'<rect {whole} fill="{goods.cloth}"/><rect {whole} fill="url(#weave)"/>'


def ripple(goods: Goods, path: tuple[Point, Point, Point], width: float) -> str:
    """A fold of the cloth along a curve: lit on one flank, in shadow on the other.

    Parameters
    ----------
    goods
        The colours.
    path
        Start, bend and end; the fold is highest at the start and runs out at the end.
    width
        Of the fold at its start.
    """
    ridge = [_bezier(path, step / 12) for step in range(13)]
    (first_x, first_y), (last_x, last_y) = ridge[0], ridge[-1]
    length = max(((last_x - first_x) ** 2 + (last_y - first_y) ** 2) ** 0.5, 1.0)
    across = (-(last_y - first_y) / length, (last_x - first_x) / length)

    def flank(side: float) -> str:
        outer = [
            (
                x + side * across[0] * width * cos(pi / 2 * step / 12),
                y + side * across[1] * width * cos(pi / 2 * step / 12),
            )
            for step, (x, y) in enumerate(ridge)
        ]
        return through([*ridge, *reversed(outer)], closed=True)

    # Light comes from the upper left.
    lit = 1.0 if across[0] + across[1] < 0 else -1.0
    return area(flank(lit), goods.cloth_light, opacity=0.9, more=FOLDED) + area(
        flank(-lit), goods.cloth_deep, opacity=0.9, more=FOLDED
    )


def terry() -> str:
    """Cloth with pile all over."""
    return f'<rect width="{WIDTH}" height="{HEIGHT}" fill="url(#pile)"/>'


def hole(goods: Goods, centre: Point, radius: float, *, seed: int) -> str:
    """A hole with the cut threads of the cloth sticking into it."""
    chance = Random(seed)
    x, y = centre
    edge = []
    for step in range(12):
        angle = 2 * pi * step / 12
        reach = radius * chance.uniform(0.9, 1.08)
        edge.append((x + reach * cos(angle), y + reach * sin(angle)))
    ends = []
    for step in range(7):
        angle = 2 * pi * (step + chance.uniform(0, 0.8)) / 7
        inward = radius * chance.uniform(0.45, 0.8)
        outward = radius * 1.1
        ends.append(
            (
                (x + outward * cos(angle), y + outward * sin(angle)),
                (x + inward * cos(angle + 0.3), y + inward * sin(angle + 0.3)),
            )
        )
    return (
        area(through(edge, closed=True), goods.cloth_deep, more=SOFT)
        + area(through(edge, closed=True), goods.behind)
        + stroke(lines(ends), goods.cloth_light, max(radius / 10, 0.8))
    )


def _bezier(path: tuple[Point, Point, Point], at: float) -> Point:
    (x0, y0), (x1, y1), (x2, y2) = path
    back = 1 - at
    return (
        back * back * x0 + 2 * back * at * x1 + at * at * x2,
        back * back * y0 + 2 * back * at * y1 + at * at * y2,
    )
