"""The needle, whole and broken, and the needle plate cut through."""

from __future__ import annotations

from logbook.charts.illustrations.frame import Point, area, stroke, through
from logbook.charts.illustrations.goods import Goods


def needle(
    goods: Goods, x: float, top: float, tip: float, *, broken_at: float | None = None
) -> str:
    """A needle that points down, its eye seen from the front.

    Parameters
    ----------
    goods
        The colours.
    x, top, tip
        Its middle line, where it enters the drawing and where its point is.
    broken_at
        Where it has snapped; nothing is drawn below.
    """
    if broken_at is not None:
        blade = [
            (x - 6, top),
            (x + 6, top),
            (x + 6, broken_at - 5),
            (x + 2, broken_at + 6),
            (x - 1, broken_at - 2),
            (x - 4, broken_at + 4),
            (x - 6, broken_at - 3),
        ]
        return _metal(goods, blade, [(x - 2, top), (x - 2, broken_at - 6)])
    eye = tip - 34
    blade = [
        (x - 6, top),
        (x + 6, top),
        (x + 6, tip - 20),
        (x + 1, tip),
        (x - 1, tip),
        (x - 6, tip - 20),
    ]
    return (
        _metal(goods, blade, [(x - 2, top), (x - 2, tip - 26)])
        + f'<ellipse cx="{x:g}" cy="{eye:g}" rx="2.6" ry="8" fill="{goods.dark}"/>'
    )


def needle_tip(goods: Goods, at: Point, *, turn: float) -> str:
    """The broken-off point of a needle, lying on the cloth."""
    x, y = at
    blade: list[Point] = [
        (-6, -26),
        (-2, -19),
        (1, -27),
        (4, -20),
        (6, -24),
        (6, 6),
        (1, 28),
        (-1, 28),
        (-6, 6),
    ]
    shadow = area(through(blade, closed=True), goods.cloth_deep, opacity=0.9)
    return (
        f'<g transform="translate({x + 4:g} {y + 5:g}) rotate({turn:g})">{shadow}</g>'
        f'<g transform="translate({x:g} {y:g}) rotate({turn:g})">'
        f"{_metal(goods, blade, [(-2, -14), (-2, 8)])}"
        f'<ellipse cx="0" cy="-4" rx="2.6" ry="8" fill="{goods.dark}"/></g>'
    )


def plate(goods: Goods, top: float) -> str:
    """The needle plate cut through, with its hole in the middle."""
    sides = ""
    for left, right in ((-4, 142), (178, 324)):
        metal = [(left, top), (right, top), (right, top + 16), (left, top + 16)]
        sides += area(through(metal, closed=True), goods.steel) + stroke(
            through(metal, closed=True), goods.steel_deep, 2
        )
        sides += stroke(through([(left, top + 4), (right - 3, top + 4)]), goods.steel_light, 2)
    return sides


def _metal(goods: Goods, outline: list[Point], sheen: list[Point]) -> str:
    return (
        area(through(outline, closed=True), goods.steel)
        + stroke(through(outline, closed=True), goods.steel_deep, 1.6)
        + stroke(through(sheen), goods.steel_light, 2.2)
    )
