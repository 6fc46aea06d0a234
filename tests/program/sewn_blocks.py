"""Stitch files for tests: plain blocks of rows, drawn as asked."""

from __future__ import annotations

import io

import pystitch

BLUE, RED = 0x204080, 0xA02040


def stitch_file(
    *, rows: int = 40, row_spacing_mm: float = 0.4, colours: int = 2, ending: str = "dst"
) -> bytes:
    """Blocks one above the other, each of one colour, of rows 20 mm long with 4 mm stitches."""
    pattern = pystitch.EmbPattern()
    tenths = row_spacing_mm * 10
    for colour in range(colours):
        pattern.add_thread({"color": (BLUE, RED)[colour % 2]})
        for row in range(rows):
            y = (row + colour * rows) * tenths
            for step in range(6):
                x = step * 40 if row % 2 == 0 else 200 - step * 40
                pattern.add_stitch_absolute(pystitch.STITCH, x, y)
        if colour < colours - 1:
            pattern.add_command(pystitch.COLOR_CHANGE)
    pattern.add_command(pystitch.END)
    out = io.BytesIO()
    getattr(pystitch, f"write_{ending}")(pattern, out)
    return out.getvalue()
