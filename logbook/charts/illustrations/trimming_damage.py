"""Trimming damage: the cloth and some stitches are cut beside the motif."""

from __future__ import annotations

from logbook.charts.illustrations.cloth import woven
from logbook.charts.illustrations.frame import SOFT, Illustration, area, lines, stroke, through
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.stitching import column, ring, satin, strand, top_thread

BAND = column((60, 88), (260, 88), 66)
CUT = slice(24, 31)


def sound(goods: Goods) -> str:
    """The tail is trimmed short; cloth and stitches are whole."""
    tail = "M250 122C254 128 252 134 256 138"
    return woven(goods) + satin(BAND, top_thread(goods)) + strand(tail, top_thread(goods), 3)


def faulty(goods: Goods) -> str:
    """A slit in the cloth runs into the column, whose cut threads stand out."""
    slit = through(
        [(150, 112), (166, 112), (174, 140), (190, 168), (203, 200), (180, 178), (163, 150)],
        closed=True,
    )
    frays = [((x, y), (x + 5, y - 1)) for x, y in ((157, 132), (164, 150), (174, 168), (186, 183))]
    frays += [((x, y), (x - 5, y + 2)) for x, y in ((172, 134), (180, 151), (190, 169), (197, 184))]
    return (
        woven(goods)
        + satin(BAND[: CUT.start] + BAND[CUT.stop :], top_thread(goods))
        + satin([_upper(each) for each in BAND[CUT]], top_thread(goods))
        + stroke(slit, goods.cloth_deep, 6, more=SOFT)
        + area(slit, goods.behind)
        + stroke(lines(frays), goods.cloth_light, 1.6)
        + _cut_threads(goods)
        + ring(goods, (174, 152), 52, 66)
    )


def _upper(
    stitch: tuple[tuple[float, float], tuple[float, float]],
) -> tuple[tuple[float, float], tuple[float, float]]:
    """What is left of a stitch that was cut near its lower end."""
    (x0, y0), (x1, y1) = sorted(stitch, key=lambda end: end[1])
    return (x0, y0), (x0 + (x1 - x0) * 0.6, y0 + (y1 - y0) * 0.6)


def _cut_threads(goods: Goods) -> str:
    """Loose ends that bend away from the cut."""
    ends = ((156, -7, 8), (162, -4, 18), (168, 1, 12), (174, 4, 22), (180, 8, 6))
    return "".join(
        strand(f"M{x} 92Q{x} 104 {x + lean} {112 + down}", top_thread(goods), 3)
        for x, lean, down in ends
    )


DRAWING = Illustration(
    kind="trimming_damage",
    sound_words="The tail is cut short; cloth and stitches are whole.",
    faulty_words="The cloth is slit beside the stitching, and some stitches are cut through.",
    sound=sound,
    faulty=faulty,
)
