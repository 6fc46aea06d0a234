"""Soiling: a drop of oil and a line of pen are left beside the motif."""

from __future__ import annotations

from math import cos, sin

from logbook.charts.illustrations.cloth import woven
from logbook.charts.illustrations.frame import SOFT, SOFTER, Illustration, area, stroke, through
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.shapes import curve_s, round_shape
from logbook.charts.illustrations.stitching import ribbon, satin, top_thread


def sound(goods: Goods) -> str:
    """Clean cloth round the letter."""
    return woven(goods) + _letter(goods)


def faulty(goods: Goods) -> str:
    """A stain has spread in the cloth, and the placing line was not taken out."""
    return (
        woven(goods)
        + _pen(goods)
        + _drop(goods, 238, 150, 36)
        + _drop(goods, 276, 92, 13)
        + _drop(goods, 268, 206, 9)
        + _letter(goods)
    )


def _letter(goods: Goods) -> str:
    return satin(ribbon(curve_s(78, 122, (124, 120)), 23), top_thread(goods))


def _drop(goods: Goods, x: float, y: float, radius: float) -> str:
    spread = [
        (x + (px - x) * (1 + 0.12 * sin(place / 4)), y + (py - y) * (0.9 + 0.1 * cos(place / 6)))
        for place, (px, py) in enumerate(round_shape(radius, (x, y)))
    ]
    edge = through(spread, closed=True)
    return (
        area(edge, goods.stain, opacity=0.35, more=SOFTER)
        + area(edge, goods.stain, opacity=0.42, more=SOFT)
        + stroke(edge, goods.stain, 2, opacity=0.5, more=SOFT)
    )


def _pen(goods: Goods) -> str:
    return stroke("M28 38C110 33 200 41 292 35", goods.second, 3.4, opacity=0.8) + stroke(
        "M124 14C122 34 126 52 123 226", goods.second, 3.4, opacity=0.8
    )


DRAWING = Illustration(
    kind="soiling",
    sound_words="The cloth is clean round the stitching.",
    faulty_words="A stain has spread in the cloth, and the pen line of the placing is still there.",
    sound=sound,
    faulty=faulty,
)
