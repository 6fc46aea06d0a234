"""Hoop marks: the ring that held the cloth is still seen."""

from __future__ import annotations

from logbook.charts.illustrations.cloth import woven
from logbook.charts.illustrations.frame import SOFT, SOFTER, Illustration
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.shapes import curve_s
from logbook.charts.illustrations.stitching import ribbon, satin, top_thread


def sound(goods: Goods) -> str:
    """No trace of the hoop."""
    return woven(goods) + _letter(goods)


def faulty(goods: Goods) -> str:
    """A ring is pressed into the cloth, shiny within and shaded at its edges."""
    rings = (
        _ring(goods.cloth_deep, 116, 16, SOFTER)
        + _ring(goods.cloth_light, 112, 9, SOFT)
        + _ring(goods.cloth_deep, 119, 3, "")
        + _ring(goods.cloth_deep, 105, 2.4, "")
    )
    return woven(goods) + rings + _letter(goods)


def _letter(goods: Goods) -> str:
    return satin(ribbon(curve_s(58, 86), 17, step=3.4), top_thread(goods), step=3.4)


def _ring(colour: str, radius: float, width: float, more: str) -> str:
    return (
        f'<ellipse cx="160" cy="120" rx="{radius * 1.16:g}" ry="{radius:g}" fill="none" '
        f'stroke="{colour}" stroke-width="{width:g}"{more}/>'
    )


DRAWING = Illustration(
    kind="hoop_marks",
    sound_words="Nothing is left of the hoop after steaming.",
    faulty_words="A ring is pressed into the cloth round the motif, creased and shiny.",
    sound=sound,
    faulty=faulty,
)
