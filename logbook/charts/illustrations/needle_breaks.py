"""Needle breaks: the blade has snapped, and its tip lies on the work."""

from __future__ import annotations

from logbook.charts.illustrations.cloth import hole, woven
from logbook.charts.illustrations.frame import Illustration
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.machine_parts import needle, needle_tip
from logbook.charts.illustrations.stitching import column, ring, satin, top_thread


def sound(goods: Goods) -> str:
    """A whole needle, with its point."""
    return (
        woven(goods)
        + satin(column((40, 176), (196, 176), 62), top_thread(goods))
        + needle(goods, 204, -4, 138)
    )


def faulty(goods: Goods) -> str:
    """The jagged end of the blade, the tip on the cloth and the scar that it left."""
    return (
        woven(goods)
        + satin(column((40, 176), (176, 176), 62), top_thread(goods))
        + hole(goods, (196, 164), 6, seed=2)
        + needle(goods, 204, -4, 138, broken_at=84)
        + needle_tip(goods, (258, 164), turn=-58)
        + ring(goods, (258, 164), 42, 38)
        + ring(goods, (204, 82), 24)
    )


DRAWING = Illustration(
    kind="needle_breaks",
    sound_words="The needle is whole, down to its point.",
    faulty_words="The blade has snapped. Its tip lies on the work: every part must be found.",
    sound=sound,
    faulty=faulty,
)
