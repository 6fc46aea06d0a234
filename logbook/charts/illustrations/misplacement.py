"""Off placement: a chest motif sits low, to one side and crooked."""

from __future__ import annotations

from logbook.charts.illustrations.cloth import woven
from logbook.charts.illustrations.frame import Illustration, area, lines, stroke, through
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.shapes import block
from logbook.charts.illustrations.stitching import fill, second_thread, top_thread

SPOT = (214.0, 118.0)
"""Where the ticket wants the middle of the motif."""


def sound(goods: Goods) -> str:
    """The motif is upright on its mark."""
    return _garment(goods) + _motif(goods) + _cross(goods)


def faulty(goods: Goods) -> str:
    """The motif is turned, lower and further out than its mark."""
    return (
        _garment(goods)
        + f'<g transform="translate(24 38) rotate(14 {SPOT[0]:g} {SPOT[1]:g})">{_motif(goods)}</g>'
        + _cross(goods)
    )


def _garment(goods: Goods) -> str:
    """The front of a polo shirt: collar and placket."""
    placket = through([(88, 46), (122, 46), (122, 200), (88, 200)], closed=True)
    collar = (
        through([(-6, -6), (30, -6), (105, 46), (70, 84), (-6, 32)], closed=True),
        through([(216, -6), (180, -6), (105, 46), (140, 84), (216, 20)], closed=True),
    )
    folded = "".join(
        area(each, goods.cloth_light) + stroke(each, goods.cloth_deep, 2.4) for each in collar
    )
    buttons = "".join(
        f'<circle cx="105" cy="{y}" r="6" fill="{goods.steel_light}" stroke="{goods.steel_deep}" '
        'stroke-width="1.6"/>'
        for y in (98, 142, 186)
    )
    edge = stroke(placket, goods.cloth_deep, 2.4)
    return woven(goods) + area(placket, goods.cloth) + edge + buttons + folded


def _motif(goods: Goods) -> str:
    frame = _moved(block(74, 50))
    inside = _moved(block(54, 30))
    return fill(frame, top_thread(goods), spacing=4) + fill(
        inside, second_thread(goods), spacing=4, angle=90
    )


def _moved(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    return [(x - 160 + SPOT[0], y - 120 + SPOT[1]) for x, y in points]


def _cross(goods: Goods) -> str:
    """The mark: the middle and the upright."""
    x, y = SPOT
    data = lines([((x, y - 66), (x, y + 66)), ((x - 76, y), (x + 76, y))])
    return stroke(data, goods.mark, 2.6, more=' stroke-dasharray="9 6"')


DRAWING = Illustration(
    kind="misplacement",
    sound_words="The motif sits upright, its middle on the mark.",
    faulty_words="The motif sits low, to one side of its mark and crooked.",
    sound=sound,
    faulty=faulty,
)
