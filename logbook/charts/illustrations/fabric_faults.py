"""Faults of the fabric: a thick yarn, a shade bar and a hole away from the stitching."""

from __future__ import annotations

from logbook.charts.illustrations.cloth import hole, woven
from logbook.charts.illustrations.frame import SOFT, WIDTH, Illustration, stroke
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.shapes import round_shape
from logbook.charts.illustrations.stitching import fill, ring, top_thread


def sound(goods: Goods) -> str:
    """Even cloth."""
    return woven(goods) + _motif(goods)


def faulty(goods: Goods) -> str:
    """The faults run through the cloth, with no regard to the stitching."""
    bar = f'<rect y="26" width="{WIDTH}" height="34" fill="{goods.cloth_deep}" opacity="0.7"/>'
    slub = "M-4 196C60 193 110 199 180 195S280 199 324 194"
    thick = "M96 196C130 190 170 200 214 196"
    return (
        woven(goods)
        + bar
        + stroke(slub, goods.cloth_deep, 5, more=SOFT)
        + stroke(slub, goods.cloth_light, 3)
        + stroke(thick, goods.cloth_deep, 11, more=SOFT)
        + stroke(thick, goods.cloth_light, 7)
        + _motif(goods)
        + hole(goods, (256, 128), 11, seed=4)
        + ring(goods, (256, 128), 27)
    )


def _motif(goods: Goods) -> str:
    return fill(round_shape(44, (110, 126)), top_thread(goods), angle=-20)


DRAWING = Illustration(
    kind="fabric_faults",
    sound_words="The cloth itself is even all over.",
    faulty_words="A shade bar, a thick yarn and a hole, in the cloth and away from the stitching.",
    sound=sound,
    faulty=faulty,
)
