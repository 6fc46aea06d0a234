"""Puckering: the cloth ripples round a filled block."""

from __future__ import annotations

from math import atan2, cos, sin

from logbook.charts.illustrations.cloth import ripple, woven
from logbook.charts.illustrations.frame import Illustration, Point
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.shapes import MIDDLE, block
from logbook.charts.illustrations.stitching import fill, top_thread


def sound(goods: Goods) -> str:
    """The cloth lies flat up to the edge of the block."""
    return woven(goods) + fill(block(136, 96), top_thread(goods))


def faulty(goods: Goods) -> str:
    """Folds run outwards from the block, whose sides are drawn in."""
    folds = "".join(_fold(goods, place) for place in range(18))
    return woven(goods) + folds + fill(block(136, 96, drawn_in=7), top_thread(goods))


def _fold(goods: Goods, place: int) -> str:
    edge = block(112, 72)[(place * 32 // 9 + 1) % 64]
    turn = atan2(edge[1] - MIDDLE[1], (edge[0] - MIDDLE[0]) * 0.8)
    reach = (118, 76, 98, 64, 132)[place % 5]
    bend = (0.14, -0.1, -0.16, 0.12)[place % 4]

    def outwards(far: float, swing: float) -> Point:
        return edge[0] + far * cos(turn + swing), edge[1] + far * sin(turn + swing)

    return ripple(goods, (edge, outwards(reach * 0.55, bend), outwards(reach, 0)), 10)


DRAWING = Illustration(
    kind="puckering",
    sound_words="The cloth lies flat right up to the stitching.",
    faulty_words="Folds run outwards from the stitching, and the sides of the block are drawn in.",
    sound=sound,
    faulty=faulty,
)
