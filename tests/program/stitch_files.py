"""Designs whose stitches are known, and their files through the library's own writers."""

from __future__ import annotations

import io
from collections.abc import Sequence

import numpy as np
import pystitch

Place = tuple[float, float]
COLOURS = ("#0a55a3", "#ed171f", "#ffff00")
"""Colours that every palette has."""


def written(pattern: pystitch.EmbPattern, ending: str) -> bytes:
    """The bytes of a pattern's file."""
    writer = next(
        known["writer"] for known in pystitch.supported_formats() if known["extension"] == ending
    )
    out = io.BytesIO()
    if not getattr(writer, "WRITE_FILE_IN_TEXT_MODE", False):
        pystitch.EmbPattern.write_embroidery(writer, pattern, out)
        return out.getvalue()
    text = io.TextIOWrapper(out, encoding="utf-8", newline="")
    pystitch.EmbPattern.write_embroidery(writer, pattern, text)
    text.flush()
    return out.getvalue()


def pattern_of(*steps: Sequence[Place]) -> pystitch.EmbPattern:
    """One colour step after another, each sewn in one go; places in mm."""
    pattern = pystitch.EmbPattern()
    for number, places in enumerate(steps):
        if number:
            pattern.color_change()
        pattern.add_thread(COLOURS[number % len(COLOURS)])
        for x, y in places:
            pattern.add_stitch_absolute(pystitch.STITCH, round(x * 10), round(y * 10))
    pattern.end()
    return pattern


def plain_fill(
    *, width: float, height: float, spacing: float, stitch: float, stagger: float = 0.0
) -> list[Place]:
    """Rows there and back from (0, 0); needle points every ``stitch`` mm, ends included."""
    places: list[Place] = []
    for number, y in enumerate(np.arange(0, height + 1e-9, spacing)):
        first = (number * stagger) % 1 * stitch
        inner = [float(x) for x in np.arange(first, width, stitch) if x > 1e-9]
        row = [0.0, *inner, width]
        places += [(x, float(y)) for x in (row if number % 2 == 0 else row[::-1])]
    return places


def satin_column(*, width: float, length: float, spacing: float, left: float = 0.0) -> list[Place]:
    """A column downwards: side to side, each thread ``spacing`` below the last."""
    return [
        (left + (width if number % 2 else 0.0), float(y))
        for number, y in enumerate(np.arange(0, length + 1e-9, spacing))
    ]


def three_blocks() -> pystitch.EmbPattern:
    """Three colours, a cut within each: 180 stitches, 33.0 by 23.6 mm."""
    pattern = pystitch.EmbPattern()
    for step, colour in enumerate(COLOURS):
        if step:
            pattern.color_change()
        pattern.add_thread(colour)
        for number in range(60):
            left = 5 + step * 15 + (number % 2) * 3
            pattern.add_stitch_absolute(pystitch.STITCH, left * 10, 40 + number * 4)
            if number == 30:
                pattern.trim()
                pattern.move_abs(left * 10 + 200, 300)
    pattern.end()
    return pattern
