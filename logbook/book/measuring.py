"""Measures a stitch file; no book is needed."""

from __future__ import annotations

from pathlib import Path

from logbook.stitches import Measurement, design_of, read_design
from logbook.stitches import measure as measured


def measure(path: Path | str) -> Measurement:
    """Count, size and density map of a stitch file.

    Raises
    ------
    StitchFileError
        It cannot be opened, is no stitch file, breaks off, or is too large.
    """
    return measured(read_design(Path(path)))


def measure_bytes(content: bytes, *, file_name: str) -> Measurement:
    """The same of a file that was sent: its bytes, and the name that it had."""
    return measured(design_of(content, file_name=file_name))
