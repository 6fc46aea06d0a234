"""Poor coverage: the ground is seen inside a filled area."""

from __future__ import annotations

from logbook.charts.illustrations.cloth import woven
from logbook.charts.illustrations.frame import Illustration
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.shapes import round_shape
from logbook.charts.illustrations.stitching import fill, fill_rows, rows_of, top_thread

ROWS_APART = 10.0
THREAD_WIDTH = 5.0


def sound(goods: Goods) -> str:
    """The rows lie side by side."""
    return woven(goods) + fill(round_shape(86), top_thread(goods), angle=-20)


def faulty(goods: Goods) -> str:
    """Between the rows the cloth is seen."""
    rows = fill_rows(round_shape(86), spacing=ROWS_APART, angle=-20)
    return woven(goods) + rows_of(rows, top_thread(goods), THREAD_WIDTH)


DRAWING = Illustration(
    kind="coverage",
    sound_words="The rows lie side by side: no cloth is seen inside the fill.",
    faulty_words="The cloth is seen between the rows, inside the fill itself.",
    sound=sound,
    faulty=faulty,
)
