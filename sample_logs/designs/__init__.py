"""Stitch files of the invented shop, drawn by code; ``python -m sample_logs.designs`` draws them.

The same code gives the same bytes. Names are those of the run sheets.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from sample_logs.designs.drawn import (
    beacon_small_mark,
    compass_roundel,
    harbour_lettering,
    heron_crest,
)
from sample_logs.designs.sewing import Sewing

FOLDER = Path(__file__).parent


@dataclass(frozen=True, slots=True)
class DrawnDesign:
    """One design: its name on the run sheets, its file, and how it is drawn."""

    name: str
    file_name: str
    draw: Callable[[], Sewing]

    def content(self) -> bytes:
        """The bytes of its file, drawn anew."""
        return self.draw().file(self.file_name.rpartition(".")[2])


DESIGNS: tuple[DrawnDesign, ...] = (
    DrawnDesign("Heron crest", "heron-crest.pes", heron_crest),
    DrawnDesign("Harbour lettering", "harbour-lettering.vp3", harbour_lettering),
    DrawnDesign("Beacon small mark", "beacon-small-mark.dst", beacon_small_mark),
    DrawnDesign("Compass roundel", "compass-roundel.jef", compass_roundel),
)


def write_designs(folder: Path = FOLDER) -> list[Path]:
    """Write every stitch file into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for design in DESIGNS:
        paths.append(folder / design.file_name)
        paths[-1].write_bytes(design.content())
    return paths
