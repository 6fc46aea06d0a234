"""Bobbin thread on the face: pale specks along the edges of the columns."""

from __future__ import annotations

from random import Random

from logbook.charts.illustrations.cloth import woven
from logbook.charts.illustrations.frame import Illustration, Point, lines, stroke
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.stitching import Stitch, letter_h, ring, satin, top_thread


def sound(goods: Goods) -> str:
    """Top thread alone, from edge to edge."""
    return woven(goods) + _letter(goods)


def faulty(goods: Goods) -> str:
    """White specks where the bobbin thread was pulled up over the edge."""
    chance = Random(11)
    specks: list[tuple[Point, Point]] = []
    for stitches in letter_h(105, 55):
        specks += _specks(stitches, chance)
    return (
        woven(goods)
        + _letter(goods)
        + stroke(lines(specks), goods.bobbin_deep, 3.8)
        + stroke(lines(specks), goods.bobbin, 2.4)
        + ring(goods, (231, 120), 24, 74)
    )


def _letter(goods: Goods) -> str:
    return "".join(satin(each, top_thread(goods)) for each in letter_h(105, 55))


def _specks(stitches: list[Stitch], chance: Random) -> list[Stitch]:
    """Short ends of bobbin thread at the ends of stitches, most at one edge."""
    specks = []
    for (x0, y0), (x1, y1) in stitches:
        for (x, y), (far_x, far_y), often in (
            ((x0, y0), (x1, y1), 0.55),
            ((x1, y1), (x0, y0), 0.1),
        ):
            if chance.random() < often:
                inwards = chance.uniform(0.08, 0.24)
                specks.append(((x, y), (x + (far_x - x) * inwards, y + (far_y - y) * inwards)))
    return specks


DRAWING = Illustration(
    kind="bobbin_showing",
    sound_words="Only top thread is seen, from edge to edge of each column.",
    faulty_words="Pale specks of bobbin thread line the edges of the columns.",
    sound=sound,
    faulty=faulty,
)
