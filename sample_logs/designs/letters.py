"""Block letters as satin strokes, on a field four wide and six high."""

from __future__ import annotations

from collections.abc import Iterator

from sample_logs.designs.strokes import Place, satin

Stroke = tuple[Place, Place]

STROKES: dict[str, tuple[Stroke, ...]] = {
    "A": (((0, 6), (2, 0)), ((2, 0), (4, 6)), ((1, 4), (3, 4))),
    "B": (
        ((0, 0), (0, 6)),
        ((0, 0), (3, 0)),
        ((0, 3), (3, 3)),
        ((0, 6), (3, 6)),
        ((4, 0.6), (4, 5.4)),
    ),
    "E": (((0, 0), (0, 6)), ((0, 0), (4, 0)), ((0, 3), (3, 3)), ((0, 6), (4, 6))),
    "H": (((0, 0), (0, 6)), ((4, 0), (4, 6)), ((0, 3), (4, 3))),
    "N": (((0, 6), (0, 0)), ((0, 0), (4, 6)), ((4, 6), (4, 0))),
    "O": (((0, 0), (0, 6)), ((0, 6), (4, 6)), ((4, 6), (4, 0)), ((4, 0), (0, 0))),
    "R": (((0, 6), (0, 0)), ((0, 0), (4, 0)), ((4, 0), (4, 3)), ((4, 3), (0, 3)), ((1, 3), (4, 6))),
    "U": (((0, 0), (0, 6)), ((0, 6), (4, 6)), ((4, 6), (4, 0))),
}


def lettered(
    word: str, at: Place, *, height: float, pitch: float, width: float, spacing: float
) -> Iterator[list[Place]]:
    """The strokes of a word, one after another.

    Parameters
    ----------
    word
        In capitals that ``STROKES`` has.
    at
        Top left corner of the first letter.
    height, pitch
        Of a letter, and from each to the next.
    width, spacing
        Of a stroke, and from each of its threads to the next.
    """
    scale = height / 6
    for number, letter in enumerate(word):
        left = at[0] + number * pitch
        for (x0, y0), (x1, y1) in STROKES[letter]:
            yield satin(
                (left + x0 * scale, at[1] + y0 * scale),
                (left + x1 * scale, at[1] + y1 * scale),
                width=width,
                spacing=spacing,
            )
