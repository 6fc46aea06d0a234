"""Thread breaks: the top thread has parted above the work."""

from __future__ import annotations

from logbook.charts.illustrations.cloth import woven
from logbook.charts.illustrations.frame import Illustration
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.machine_parts import needle
from logbook.charts.illustrations.stitching import Thread, column, ring, satin, strand, top_thread

EYE = (214.0, 96.0)


def sound(goods: Goods) -> str:
    """The thread runs through the eye and down to the last stitch."""
    thread = top_thread(goods)
    return (
        woven(goods)
        + satin(column((40, 170), (206, 170), 66), thread)
        + strand("M206 -4C202 40 204 80 212 94", thread, 3.2)
        + needle(goods, EYE[0], -4, EYE[1] + 34)
        + strand("M216 97C226 118 212 134 206 140", thread, 3.2)
    )


def faulty(goods: Goods) -> str:
    """A frayed end hangs from above, another from the last stitch; the column stops short."""
    thread = top_thread(goods)
    return (
        woven(goods)
        + satin(column((40, 170), (146, 170), 66), thread)
        + strand("M196 -4C184 14 196 30 186 46", thread, 3.2)
        + _frayed(thread, 186, 46, 1)
        + needle(goods, EYE[0], -4, EYE[1] + 34)
        + strand("M146 138C168 128 172 112 164 100", thread, 3.2)
        + _frayed(thread, 164, 100, -1)
        + ring(goods, (175, 73), 34, 50)
    )


def _frayed(thread: Thread, x: float, y: float, down: int) -> str:
    """The filaments of a parted end, spread like a brush."""
    return "".join(
        strand(f"M{x} {y}Q{x + lean * 0.3:g} {y + 8 * down} {x + lean} {y + 16 * down}", thread, 1)
        for lean in (-8, -4, 0, 4, 8)
    )


DRAWING = Illustration(
    kind="thread_breaks",
    sound_words="The top thread runs from above through the eye of the needle to the last stitch.",
    faulty_words="The top thread has parted: both ends are frayed, and the column stops short.",
    sound=sound,
    faulty=faulty,
)
