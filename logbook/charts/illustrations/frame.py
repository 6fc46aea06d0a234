"""What an illustration is, and the SVG round it: size, words for screen readers, patterns."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape
from random import Random

from logbook.charts.illustrations.goods import Goods, goods

WIDTH = 320
HEIGHT = 240
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Illustration:
    """Sound work and the same work with one defect, drawn at the same scale.

    Parameters
    ----------
    kind
        The defect kind's column name.
    sound_words, faulty_words
        What to see in each drawing; captions on the page, descriptions for screen readers.
    sound, faulty
        Draw the inside of each panel.
    """

    kind: str
    sound_words: str
    faulty_words: str
    sound: Callable[[Goods], str]
    faulty: Callable[[Goods], str]

    def draw_sound(self, *, title: str, dark: bool = False) -> str:
        """Draw the work as it should be, as one SVG document."""
        return _svg(f"{title}: sound work", self.sound_words, self.sound(goods(dark=dark)), dark)

    def draw_faulty(self, *, title: str, dark: bool = False) -> str:
        """Draw the work with the defect, as one SVG document."""
        return _svg(f"{title}: the defect", self.faulty_words, self.faulty(goods(dark=dark)), dark)


def lines(segments: Sequence[tuple[Point, Point]]) -> str:
    """Path data of separate straight lines."""
    return "".join(f"M{_at(start)}L{_at(end)}" for start, end in segments)


def through(points: Sequence[Point], *, closed: bool = False) -> str:
    """Path data of one line through points."""
    return "M" + "L".join(map(_at, points)) + ("Z" if closed else "")


def stroke(data: str, colour: str, width: float, *, opacity: float = 1, more: str = "") -> str:
    """A path that is drawn along, round at its ends."""
    clear = f' opacity="{opacity:g}"' if opacity < 1 else ""
    return (
        f'<path d="{data}" fill="none" stroke="{colour}" stroke-width="{width:g}" '
        f'stroke-linecap="round" stroke-linejoin="round"{clear}{more}/>'
    )


def area(data: str, colour: str, *, opacity: float = 1, more: str = "") -> str:
    """A path that is filled."""
    clear = f' opacity="{opacity:g}"' if opacity < 1 else ""
    return f'<path d="{data}" fill="{colour}"{clear}{more}/>'


SOFT = ' filter="url(#soft)"'
FOLDED = ' filter="url(#folded)"'
SOFTER = ' filter="url(#softer)"'


def _at(point: Point) -> str:
    return f"{point[0]:.1f} {point[1]:.1f}".replace(".0 ", " ").removesuffix(".0")


def _svg(title: str, words: str, inside: str, dark: bool) -> str:
    colours = goods(dark=dark)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img">'
        f"<title>{escape(title)}</title><desc>{escape(words)}</desc>"
        f"<defs>{_weave(colours)}{_pile(colours) if 'url(#pile)' in inside else ''}"
        f"{_blur('soft', 2)}{_blur('folded', 3.2)}{_blur('softer', 6)}"
        f'<clipPath id="panel"><rect width="{WIDTH}" height="{HEIGHT}"/></clipPath></defs>'
        f'<g clip-path="url(#panel)">{inside}</g></svg>'
    )


def _weave(colours: Goods) -> str:
    return (
        '<pattern id="weave" width="6" height="6" patternUnits="userSpaceOnUse">'
        f'<path d="M0 1.5H2.6M3.4 4.5H6" stroke="{colours.cloth_light}" stroke-width="1.6" '
        'opacity="0.75"/>'
        f'<path d="M1.5 3.4V5.6M4.5 0.4V2.6" stroke="{colours.cloth_deep}" stroke-width="1.5" '
        'opacity="0.4"/></pattern>'
    )


def _pile(colours: Goods) -> str:
    """Tufts of terry, irregular within a tile that repeats."""
    chance = Random(3)
    tufts = "".join(
        tuft(column * 8 + row % 2 * 4 + chance.uniform(-1.5, 1.5), row * 8 + 4, chance)
        for row in range(-1, 9)
        for column in range(-1, 9)
    )
    return (
        '<pattern id="pile" width="64" height="64" patternUnits="userSpaceOnUse">'
        f'<rect width="64" height="64" fill="{colours.cloth_deep}"/>'
        f"{pile(colours, tufts)}</pattern>"
    )


def tuft(x: float, y: float, chance: Random) -> str:
    """Path data of one loop of pile."""
    lean = chance.uniform(-2, 2)
    return (
        f"M{x - 2.6:.1f} {y + 3:.1f}C{x - 4.4 + lean:.1f} {y - 6:.1f} {x + 4.4 + lean:.1f} "
        f"{y - 6:.1f} {x + 2.6:.1f} {y + 3:.1f}"
    )


def pile(colours: Goods, tufts: str) -> str:
    """Draw loops of pile along their path data."""
    return (
        stroke(tufts, colours.cloth_deep, 4)
        + stroke(tufts, colours.pile, 2.6)
        + stroke(tufts, colours.cloth_light, 0.9, opacity=0.8)
    )


def _blur(name: str, by: float) -> str:
    return (
        f'<filter id="{name}" x="-40%" y="-40%" width="180%" height="180%">'
        f'<feGaussianBlur stdDeviation="{by}"/></filter>'
    )
