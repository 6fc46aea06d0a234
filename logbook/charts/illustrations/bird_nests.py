"""Bird nests: a wad of thread under the needle plate, seen from the side."""

from __future__ import annotations

from math import cos, sin
from random import Random

from logbook.charts.illustrations.frame import (
    HEIGHT,
    WIDTH,
    Illustration,
    Point,
    area,
    stroke,
    through,
)
from logbook.charts.illustrations.goods import Goods
from logbook.charts.illustrations.machine_parts import needle, plate
from logbook.charts.illustrations.stitching import strand, top_thread

CLOTH_TOP, CLOTH_BOTTOM, PLATE_TOP = 80.0, 104.0, 112.0


def sound(goods: Goods) -> str:
    """Top and bobbin thread lock inside the cloth; the room under the plate is clear."""
    top, under = "M-8 78", "M-8 106"
    for x in range(12, 140, 22):
        top += f"L{x - 6} 78Q{x - 1} 78 {x - 1} 91L{x + 1} 91Q{x + 1} 78 {x + 6} 78"
        under += f"L{x - 5} 106Q{x} 106 {x} 92Q{x} 106 {x + 5} 106"
    return (
        _side_view(goods)
        + stroke(under, goods.bobbin_deep, 5)
        + stroke(under, goods.bobbin, 3.4)
        + strand(top, top_thread(goods), 3.2)
        + strand("M126 78C142 74 154 60 158 40", top_thread(goods), 3)
        + needle(goods, 160, -4, 76)
    )


def faulty(goods: Goods) -> str:
    """Loops upon loops of top thread hang under the cloth and fill the hole of the plate."""
    chance = Random(21)
    threads = "".join(strand(_tangle(chance), top_thread(goods), 2.8) for _ in range(7))
    return _side_view(goods) + threads + needle(goods, 160, -4, 76)


def _side_view(goods: Goods) -> str:
    room = f'<rect width="{WIDTH}" height="{HEIGHT}" fill="{goods.cloth_light}" opacity="0.35"/>'
    cloth = [(-4.0, CLOTH_TOP), (324.0, CLOTH_TOP), (324.0, CLOTH_BOTTOM), (-4.0, CLOTH_BOTTOM)]
    section = through(cloth, closed=True)
    return (
        room
        + plate(goods, PLATE_TOP)
        + area(section, goods.cloth)
        + area(section, "url(#weave)")
        + stroke(section, goods.cloth_deep, 2)
    )


def _tangle(chance: Random) -> str:
    """One long thread that winds about under the plate."""
    at: Point = (160 + chance.uniform(-10, 10), 100.0)
    data = f"M{at[0]:.1f} {at[1]:.1f}"
    for _ in range(9):
        turn = chance.uniform(0, 6.28)
        reach = chance.uniform(0.35, 1.0)
        to = (160 + 66 * reach * cos(turn), 170 + 42 * reach * sin(turn))
        first = (to[0] + chance.uniform(-40, 40), to[1] + chance.uniform(-30, 30))
        data += f"S{first[0]:.1f} {first[1]:.1f} {to[0]:.1f} {to[1]:.1f}"
    return data


DRAWING = Illustration(
    kind="bird_nests",
    sound_words="From the side: the threads lock inside the cloth; below the plate all is clear.",
    faulty_words="From the side: a wad of thread under the plate holds the piece down.",
    sound=sound,
    faulty=faulty,
)
