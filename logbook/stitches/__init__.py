"""Stitch files: read, counted, and measured."""

from __future__ import annotations

from logbook.stitches.density import DensityMap
from logbook.stitches.design import Command, StitchDesign, Trims
from logbook.stitches.measured import Measurement, measure, measure_bytes, measure_file
from logbook.stitches.reading import design_of, read_design

__all__ = [
    "Command",
    "DensityMap",
    "Measurement",
    "StitchDesign",
    "Trims",
    "design_of",
    "measure",
    "measure_bytes",
    "measure_file",
    "read_design",
]
