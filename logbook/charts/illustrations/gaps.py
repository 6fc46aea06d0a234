"""Gaps: an outline sits off its fill, and bare cloth shows between them."""

from __future__ import annotations

from logbook.charts.illustrations.cloth import woven
from logbook.charts.illustrations.frame import Illustration, Point
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.shapes import leaf
from logbook.charts.illustrations.stitching import (
    fill,
    ribbon,
    ring,
    satin,
    second_thread,
    top_thread,
)


def sound(goods: Goods) -> str:
    """The outline covers the edge of the fill all round."""
    return woven(goods) + _leaf(goods) + _outline(goods, (160, 120))


def faulty(goods: Goods) -> str:
    """The outline has slipped to the lower right."""
    return (
        woven(goods) + _leaf(goods) + _outline(goods, (174, 136)) + ring(goods, (196, 178), 44, 27)
    )


def _leaf(goods: Goods) -> str:
    return fill(leaf(212, 118), top_thread(goods), angle=-28)


def _outline(goods: Goods, centre: Point) -> str:
    edge = leaf(220, 124, centre)
    return satin(ribbon([*edge, edge[0]], 11, step=3.4), second_thread(goods), step=3.4)


DRAWING = Illustration(
    kind="gaps",
    sound_words="The outline sits on the edge of the fill all the way round.",
    faulty_words="The outline has slipped off the fill: bare cloth shows between them on one side.",
    sound=sound,
    faulty=faulty,
)
