"""Shadowing: the square of backing behind the motif is seen from the face."""

from __future__ import annotations

from logbook.charts.illustrations.cloth import woven
from logbook.charts.illustrations.frame import SOFT, Illustration, area, stroke, through
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.shapes import curve_s
from logbook.charts.illustrations.stitching import ribbon, satin, top_thread

SHEET = [(66.0, 26.0), (258.0, 34.0), (250.0, 216.0), (60.0, 206.0)]


def sound(goods: Goods) -> str:
    """Nothing but cloth round the letter."""
    return woven(goods) + _letter(goods)


def faulty(goods: Goods) -> str:
    """A paler square with a ridge at its edge lies behind the letter."""
    edge = through(SHEET, closed=True)
    return (
        woven(goods)
        + area(edge, goods.backing, opacity=0.55)
        + stroke(edge, goods.cloth_deep, 5, more=SOFT)
        + stroke(edge, goods.cloth_light, 1.6, opacity=0.9)
        + _letter(goods)
    )


def _letter(goods: Goods) -> str:
    return satin(ribbon(curve_s(92, 138), 25), top_thread(goods))


DRAWING = Illustration(
    kind="shadowing",
    sound_words="Only cloth is seen round the lettering.",
    faulty_words="The square of backing is seen from the face, by its edge and its paler colour.",
    sound=sound,
    faulty=faulty,
)
