"""Skipped stitches: a bare place in a column, crossed by one long float."""

from __future__ import annotations

from logbook.charts.illustrations.cloth import woven
from logbook.charts.illustrations.frame import Illustration
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.stitching import (
    column,
    ring,
    running,
    satin,
    second_thread,
    strand,
    top_thread,
)

BAND = column((40, 95), (280, 95), 62)
LOST = slice(27, 37)


def sound(goods: Goods) -> str:
    """A full column, and a line of stitches of one length."""
    return (
        woven(goods)
        + satin(BAND, top_thread(goods))
        + running([(40, 175), (280, 175)], second_thread(goods), stitch=20)
    )


def faulty(goods: Goods) -> str:
    """Stitches are missing in the column, and one in the line."""
    (_, from_end), (to_end, _) = BAND[LOST.start - 1], BAND[LOST.stop]
    float_thread = (
        f"M{from_end[0]:g} {from_end[1]:g}C{from_end[0] + 14:g} {from_end[1] - 16:g} "
        f"{to_end[0] - 14:g} {to_end[1] + 22:g} {to_end[0]:g} {to_end[1]:g}"
    )
    return (
        woven(goods)
        + satin(BAND[: LOST.start], top_thread(goods))
        + satin(BAND[LOST.stop :], top_thread(goods))
        + strand(float_thread, top_thread(goods), 4)
        + running([(40, 175), (120, 175)], second_thread(goods), stitch=20)
        + running([(120, 175), (180, 175)], second_thread(goods), stitch=60)
        + running([(180, 175), (280, 175)], second_thread(goods), stitch=20)
        + ring(goods, (166, 95), 38, 52)
        + ring(goods, (150, 175), 42, 18)
    )


DRAWING = Illustration(
    kind="skipped_stitches",
    sound_words="The column is full, and the line below it keeps one stitch length.",
    faulty_words="A bare place crossed by a long float, and one stitch far too long in the line.",
    sound=sound,
    faulty=faulty,
)
