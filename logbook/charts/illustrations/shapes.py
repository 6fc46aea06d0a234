"""Outlines of the motifs: a block, a round, a leaf, a curve like an S."""

from __future__ import annotations

from math import cos, pi, sin

from logbook.charts.illustrations.frame import HEIGHT, WIDTH, Point

MIDDLE: Point = (WIDTH / 2, HEIGHT / 2)


def block(width: float, height: float, *, drawn_in: float = 0.0) -> list[Point]:
    """A block round the middle; ``drawn_in`` is how far its sides are pulled inwards."""
    x, y = MIDDLE
    corners = [(-1, -1), (1, -1), (1, 1), (-1, 1)]
    points: list[Point] = []
    for (a, b), (c, d) in zip(corners, [*corners[1:], corners[0]], strict=True):
        for step in range(16):
            part = step / 16
            side, up = a + (c - a) * part, b + (d - b) * part
            inwards = drawn_in * sin(pi * part)
            points.append(
                (
                    x + side * width / 2 - (inwards * a if a == c else 0),
                    y + up * height / 2 - (inwards * b if b == d else 0),
                )
            )
    return points


def round_shape(radius: float, centre: Point = MIDDLE) -> list[Point]:
    """A circle."""
    x, y = centre
    return [
        (x + radius * cos(2 * pi * step / 72), y + radius * sin(2 * pi * step / 72))
        for step in range(72)
    ]


def leaf(
    length: float, breadth: float, centre: Point = MIDDLE, *, lean: float = -0.5
) -> list[Point]:
    """A leaf with two tips; ``lean`` turns it, in radians."""
    x, y = centre
    upper = [(-length / 2 + length * step / 36, sin(pi * step / 36)) for step in range(37)]
    sides = [(along, breadth / 2 * up) for along, up in upper] + [
        (along, -breadth / 2 * up) for along, up in reversed(upper[1:-1])
    ]
    return [
        (x + along * cos(lean) - up * sin(lean), y + along * sin(lean) + up * cos(lean))
        for along, up in sides
    ]


def curve_s(width: float, height: float, centre: Point = MIDDLE) -> list[Point]:
    """The middle line of a letter S."""
    x, y = centre
    over = [
        (x + width / 2 * cos(turn), y - height / 4 - height / 4 * sin(turn))
        for turn in (pi * (0.12 + 1.38 * step / 40) for step in range(41))
    ]
    under = [
        (x + width / 2 * cos(turn), y + height / 4 - height / 4 * sin(turn))
        for turn in (pi * (0.5 - 1.38 * step / 40) for step in range(1, 41))
    ]
    return over + under
