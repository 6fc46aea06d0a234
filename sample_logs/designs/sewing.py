"""A design being drawn: threads, cuts and stitches, and the file at the end."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence

import pystitch

from sample_logs.designs.strokes import Place

UNITS_PER_MM = 10
DRAWN_AT = "20251117090000"
"""Some files hold the moment of writing: the first of the shop's year."""


class Sewing:
    """Takes strokes one after another, each begun after a cut."""

    def __init__(self) -> None:
        self.pattern = pystitch.EmbPattern()
        self._sewn = False

    def thread(self, colour: str, name: str) -> None:
        """Sew with this thread from here on."""
        if self._sewn:
            self.pattern.color_change()
        self.pattern.add_thread({"hex": colour, "description": name})

    def sew(self, *strokes: Sequence[Place]) -> None:
        """Sew strokes that hang together."""
        for stroke in strokes:
            for x, y in stroke:
                self.pattern.add_stitch_absolute(
                    pystitch.STITCH, round(x * UNITS_PER_MM), round(y * UNITS_PER_MM)
                )
        self._sewn = True

    def sew_apart(self, strokes: Iterable[Sequence[Place]]) -> None:
        """Sew strokes with a cut before each."""
        for stroke in strokes:
            self.move(stroke[0])
            self.sew(stroke)

    def move(self, place: Place) -> None:
        """Cut the thread and begin elsewhere."""
        if self._sewn:
            self.pattern.trim()
        self.pattern.move_abs(round(place[0] * UNITS_PER_MM), round(place[1] * UNITS_PER_MM))

    def file(self, ending: str) -> bytes:
        """The bytes of the file."""
        self.pattern.end()
        writer = next(
            known["writer"]
            for known in pystitch.supported_formats()
            if known["extension"] == ending
        )
        stream = io.BytesIO()
        pystitch.EmbPattern.write_embroidery(writer, self.pattern, stream, {"date": DRAWN_AT})
        return stream.getvalue()
