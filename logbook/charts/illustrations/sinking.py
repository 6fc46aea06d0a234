"""Sinking: pile stands up through the letter and eats its edges."""

from __future__ import annotations

from random import Random

from logbook.charts.illustrations.cloth import terry
from logbook.charts.illustrations.frame import Illustration, Point, pile, tuft
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.stitching import Stitch, letter_h, satin, top_thread

LEFT, TOP, ACROSS, DOWN = 105.0, 55.0, 110.0, 130.0


def sound(goods: Goods) -> str:
    """The letter stands on top of the pile, its edges clean."""
    return terry() + _letter(goods, 36)


def faulty(goods: Goods) -> str:
    """The same letter, its strokes thin and ragged, with tufts standing through them."""
    chance = Random(5)
    through_it: list[Point] = []
    for posts in letter_h(LEFT, TOP, width=ACROSS, height=DOWN, stroke_width=30):
        through_it += _along_edges(posts, chance)
    return (
        terry()
        + _letter(goods, 27)
        + pile(goods, "".join(tuft(x, y, chance) for x, y in through_it))
    )


def _letter(goods: Goods, stroke_width: float) -> str:
    parts = letter_h(LEFT, TOP, width=ACROSS, height=DOWN, stroke_width=stroke_width)
    return "".join(satin(each, top_thread(goods)) for each in parts)


def _along_edges(stitches: list[Stitch], chance: Random) -> list[Point]:
    """Places of tufts: mostly at the ends of the stitches, some in their middle."""
    places: list[Point] = []
    for (x0, y0), (x1, y1) in stitches[::2]:
        shares = [chance.uniform(-0.12, 0.06), chance.uniform(0.94, 1.12), chance.uniform(0.2, 0.8)]
        kept = [share for share in shares if chance.random() < 0.5]
        places += [(x0 + (x1 - x0) * share, y0 + (y1 - y0) * share) for share in kept]
    return places


DRAWING = Illustration(
    kind="sinking",
    sound_words="The letter stands on top of the pile with clean, full strokes.",
    faulty_words="Tufts stand up through the letter; its strokes look thin and ragged.",
    sound=sound,
    faulty=faulty,
)
