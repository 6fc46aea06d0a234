"""Needle cuts: holes and runs along the edge of the stitching."""

from __future__ import annotations

from logbook.charts.illustrations.cloth import hole, woven
from logbook.charts.illustrations.frame import Illustration, Point, lines, stroke
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.stitching import letter_h, ring, satin, top_thread

HOLES = ((86.0, 76.0, 5.0), (85.0, 98.0, 8.0), (86.0, 124.0, 6.0), (236.0, 150.0, 9.0))


def sound(goods: Goods) -> str:
    """The cloth is whole along the letter."""
    return woven(goods) + _letter(goods)


def faulty(goods: Goods) -> str:
    """Holes beside the posts, a run below the largest, and a hole in the crook of the letter."""
    holes = "".join(
        hole(goods, (x, y), radius, seed=place) for place, (x, y, radius) in enumerate(HOLES)
    )
    return (
        woven(goods)
        + _run(goods, (236, 158), 76)
        + _letter(goods)
        + holes
        + hole(goods, (128, 147), 5, seed=9)
        + ring(goods, (85, 100), 24, 46)
        + ring(goods, (238, 172), 24, 52)
    )


def _letter(goods: Goods) -> str:
    return "".join(satin(each, top_thread(goods)) for each in letter_h(109, 55, width=102))


def _run(goods: Goods, start: Point, long: float) -> str:
    """A ladder in the cloth: the rungs are left, the stitches are gone."""
    x, y = start
    rungs = [((x - 6, y + at), (x + 6, y + at)) for at in range(6, int(long), 7)]
    sides = [((x - 7, y), (x - 4, y + long)), ((x + 7, y), (x + 4, y + long))]
    return (
        stroke(lines([((x, y), (x, y + long))]), goods.behind, 11, opacity=0.55)
        + stroke(lines(rungs), goods.cloth_light, 2)
        + stroke(lines(sides), goods.cloth_deep, 2.4)
    )


DRAWING = Illustration(
    kind="needle_cuts",
    sound_words="The cloth is whole right up to the stitching.",
    faulty_words="Holes along the edge of the letter; a ladder has started from one of them.",
    sound=sound,
    faulty=faulty,
)
