"""Looping: loose loops of top thread stand on the face."""

from __future__ import annotations

from logbook.charts.illustrations.cloth import woven
from logbook.charts.illustrations.frame import SOFT, Illustration, stroke
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.stitching import letter_h, satin, strand, top_thread

# Where a loop leaves the stitching, how far it stands off, how wide it is and where it leans.
LOOPS = (
    (100.0, 66.0, 30.0, 8.0, 205.0),
    (114.0, 86.0, 38.0, 10.0, -28.0),
    (92.0, 108.0, 24.0, 7.0, 160.0),
    (96.0, 132.0, 46.0, 11.0, 196.0),
    (116.0, 152.0, 26.0, 7.0, 20.0),
    (104.0, 172.0, 34.0, 9.0, 118.0),
    (148.0, 112.0, 28.0, 9.0, -64.0),
    (176.0, 126.0, 22.0, 7.0, 72.0),
    (206.0, 74.0, 36.0, 9.0, 222.0),
    (226.0, 96.0, 42.0, 11.0, -36.0),
    (224.0, 128.0, 24.0, 7.0, 12.0),
    (208.0, 150.0, 30.0, 8.0, 150.0),
    (220.0, 176.0, 40.0, 10.0, 40.0),
)


def sound(goods: Goods) -> str:
    """Every stitch lies flat and tight."""
    return woven(goods) + _letter(goods)


def faulty(goods: Goods) -> str:
    """Loops of top thread stand up from the letter."""
    return woven(goods) + _letter(goods) + "".join(_loop(goods, *each) for each in LOOPS)


def _letter(goods: Goods) -> str:
    return "".join(satin(each, top_thread(goods)) for each in letter_h(105, 55))


def _loop(goods: Goods, x: float, y: float, reach: float, wide: float, lean: float) -> str:
    data = (
        f"M0 -3C{reach * 0.4:g} {-wide * 0.4:g} {reach * 0.6:g} {-wide * 1.5:g} {reach:g} "
        f"{-wide * 0.7:g}S{reach * 0.7:g} {wide * 1.5:g} {reach * 0.4:g} {wide * 0.6:g}S4 5 0 3"
    )
    shadow = stroke(data, goods.dark, 4, opacity=0.5, more=SOFT)
    return (
        f'<g transform="translate({x + 3:g} {y + 5:g}) rotate({lean:g})">{shadow}</g>'
        f'<g transform="translate({x:g} {y:g}) rotate({lean:g})">'
        f"{strand(data, top_thread(goods))}</g>"
    )


DRAWING = Illustration(
    kind="looping",
    sound_words="Every stitch lies flat and tight on the cloth.",
    faulty_words="Loose loops of top thread stand up from the stitching.",
    sound=sound,
    faulty=faulty,
)
