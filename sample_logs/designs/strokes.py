"""What a design is drawn of: rows of a fill, satin columns, running stitches. All in mm."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np

Place = tuple[float, float]
Outline = Callable[[float], tuple[float, float] | None]
"""Where a row at this height begins and ends; None where there is no row."""

SHORTEST = 0.8
"""Needle points of a fill keep this far from the end of its row."""
STAGGER = (0.0, 0.5, 0.25, 0.75)
"""Where along the stitch length each row begins, so that needle points make no lines."""


def fill(
    outline: Outline, top: float, bottom: float, *, spacing: float, stitch: float
) -> list[Place]:
    """Rows there and back, ``spacing`` from each to the next, of stitches ``stitch`` long."""
    places: list[Place] = []
    for number, height in enumerate(np.arange(top, bottom + 1e-9, spacing)):
        row = outline(float(height))
        if row is None or row[1] - row[0] < SHORTEST:
            continue
        left, right = row
        first = left - left % stitch + STAGGER[number % len(STAGGER)] * stitch
        inner = np.arange(first, right - SHORTEST, stitch)
        across = [left, *(float(x) for x in inner if x > left + SHORTEST), right]
        places += [(x, float(height)) for x in (across if number % 2 == 0 else across[::-1])]
    return places


def turned(places: Sequence[Place]) -> list[Place]:
    """The same with x and y changed: rows that run down instead of across."""
    return [(y, x) for x, y in places]


def satin(start: Place, end: Place, *, width: float, spacing: float) -> list[Place]:
    """A column from start to end: side to side, ``spacing`` from each thread to the next."""
    way = np.array(end) - np.array(start)
    long = float(np.hypot(*way))
    along = way / long
    side = np.array([-along[1], along[0]]) * width / 2
    count = max(round(long / spacing), 2)
    places = []
    for number in range(count + 1):
        middle = np.array(start) + along * long * number / count
        x, y = middle + (side if number % 2 == 0 else -side)
        places.append((float(x), float(y)))
    return places


def running(corners: Sequence[Place], *, stitch: float, times: int = 1) -> list[Place]:
    """Stitches of at most ``stitch`` from corner to corner, each sewn ``times`` over."""
    places = [corners[0]]
    for (x0, y0), (x1, y1) in pairwise(corners):
        count = max(int(np.ceil(np.hypot(x1 - x0, y1 - y0) / stitch)), 1)
        for number in range(1, count + 1):
            before = places[-1]
            here = (x0 + (x1 - x0) * number / count, y0 + (y1 - y0) * number / count)
            places += [here if turn % 2 == 0 else before for turn in range(times)]
    return places


def rectangle(left: float, right: float) -> Outline:
    """Rows of one width."""
    return lambda _height: (left, right)


def disc(middle: Place, radius: float) -> Outline:
    """Rows of a circle."""

    def row(height: float) -> tuple[float, float] | None:
        rest = radius**2 - (height - middle[1]) ** 2
        if rest <= 0:
            return None
        return middle[0] - rest**0.5, middle[0] + rest**0.5

    return row


def shield(middle: float, half: float, top: float, bottom: float) -> Outline:
    """Rows of a shield: straight sides, then drawn in to a point."""
    shoulder = top + 0.45 * (bottom - top)

    def row(height: float) -> tuple[float, float] | None:
        if height <= shoulder:
            return middle - half, middle + half
        rest = (bottom - height) / (bottom - shoulder)
        if rest <= 0:
            return None
        width = half * rest**0.6
        return middle - width, middle + width

    return row


def ring(middle: Place, radius: float, corners: int = 72) -> list[Place]:
    """A circle as corners."""
    angles = np.linspace(0, 2 * np.pi, corners + 1)
    return [
        (middle[0] + radius * float(np.cos(angle)), middle[1] + radius * float(np.sin(angle)))
        for angle in angles
    ]
