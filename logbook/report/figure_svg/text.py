"""Words in a drawing: the few marks that figures know, how wide words are, where lines break."""

from __future__ import annotations

import re
from dataclasses import dataclass
from html import escape, unescape

SIZE = 12.0
LINE = 1.25
"""Height of a line, in sizes."""

# Advance widths in sizes, after DejaVu Sans: wider than most that a browser may put in its place,
# so that what fits here fits there.
_NARROW = dict.fromkeys("iljI.,:;'|!()[]", 0.34) | {" ": 0.32, "f": 0.36, "t": 0.4}
_WIDE = dict.fromkeys("mwMW%@", 0.86) | {"·": 0.34, "–": 0.5, "r": 0.42}
_MARKS = re.compile(r"(<br\s*/?>|</?[bi]>)", re.IGNORECASE)
_LINKS = re.compile(r"</?a\b[^>]*>", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of words, in pieces that are bold or not."""

    pieces: tuple[tuple[str, bool], ...]

    @property
    def plain(self) -> str:
        """The words alone."""
        return "".join(words for words, _ in self.pieces)

    def width(self, size: float = SIZE) -> float:
        """How wide the line is at most, in pixels."""
        return sum(
            sum(map(_advance, words)) * size * (1.1 if bold else 1.0) for words, bold in self.pieces
        )


def lines_of(markup: str | None) -> tuple[Line, ...]:
    """Read words as figures write them: ``<br>``, ``<b>``, ``<i>`` and entities, no other marks.

    Where links lead is left out: on paper they lead nowhere.
    """
    lines: list[Line] = []
    pieces: list[tuple[str, bool]] = []
    bold = False
    for part in _MARKS.split(_LINKS.sub("", markup or "")):
        mark = part.lower()
        if mark.startswith("<br"):
            lines.append(Line(tuple(pieces)))
            pieces = []
        elif mark in ("<b>", "</b>"):
            bold = mark == "<b>"
        elif part and mark not in ("<i>", "</i>"):
            pieces.append((unescape(part), bold))
    return (*lines, Line(tuple(pieces))) if pieces or lines else ()


def plain(markup: str | None) -> str:
    """Words without their marks, on one line."""
    return " ".join(line.plain for line in lines_of(markup))


def wrapped(lines: tuple[Line, ...], room: float, size: float = SIZE) -> tuple[Line, ...]:
    """Break lines at their spaces until each fits the room; one long word stays whole."""
    made: list[Line] = []
    for line in lines:
        begun: list[tuple[str, bool]] = []
        for words, bold in line.pieces:
            for word in re.findall(r"\S+\s*|\s+", words):
                tried = Line((*begun, (word.rstrip(), bold)))
                if begun and tried.width(size) > room:
                    made.append(_trimmed(begun))
                    begun = []
                begun.append((word, bold))
        made.append(_trimmed(begun))
    return tuple(made)


def widest(lines: tuple[Line, ...], size: float = SIZE) -> float:
    """Width of the widest line."""
    return max((line.width(size) for line in lines), default=0.0)


def height(lines: tuple[Line, ...], size: float = SIZE) -> float:
    """Height of all lines together."""
    return len(lines) * size * LINE


def written(
    x: float,
    top: float,
    lines: tuple[Line, ...],
    *,
    anchor: str = "start",
    colour: str,
    size: float = SIZE,
) -> str:
    """Write lines below ``top``, as one ``text`` element."""
    spans = []
    for place, line in enumerate(lines):
        y = top + (place * LINE + 1.0) * size
        inner = "".join(
            f'<tspan font-weight="bold">{escape(words)}</tspan>' if bold else escape(words)
            for words, bold in line.pieces
        )
        spans.append(f'<tspan x="{pixels(x)}" y="{pixels(y)}">{inner}</tspan>')
    return (
        f'<text text-anchor="{anchor}" font-size="{pixels(size)}" fill="{escape(colour)}">'
        f"{''.join(spans)}</text>"
    )


def pixels(value: float) -> str:
    """A length as a drawing holds it, to a tenth of a pixel."""
    return f"{value:.1f}".removesuffix(".0")


def _trimmed(pieces: list[tuple[str, bool]]) -> Line:
    if not pieces:
        return Line(())
    last, bold = pieces[-1]
    return Line((*pieces[:-1], (last.rstrip(), bold)))


def _advance(letter: str) -> float:
    if letter in _NARROW:
        return _NARROW[letter]
    if letter in _WIDE:
        return _WIDE[letter]
    return 0.7 if letter.isupper() else 0.62
