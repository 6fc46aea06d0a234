"""Measures a design: counts, size, thread, stitch lengths and the density map, in one result."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

from logbook.stitches.density import CELL_MM, WINDOW_MM, DensityMap, map_density
from logbook.stitches.design import Command, FloatArray, StitchDesign, Trims
from logbook.stitches.notes import notes_about
from logbook.stitches.reading import design_of, read_design
from logbook.stitches.threads import Thread, cuts, follow_thread
from logbook.vocabulary.bands import DENSITY_BANDS, band_of
from logbook.wording import number, percent

QUESTION = "How large and how dense is this design?"

THREAD_WIDTH_MM = 0.4
"""Of 40 wt thread (common practice)."""
SHORT_MM = 1.0
"""Stitches below this break thread (common practice)."""
USUAL_UP_TO = next(band.below for band in DENSITY_BANDS if band.name == "solid")
"""Stitches per mm2 of solid stitching in one layer; see the bands of the setup factor."""
LENGTH_EDGES_MM = (0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 7.0, 10.0, 12.1)
"""From 12.1 mm on, a stitch is longer than most machines sew."""


@dataclass(frozen=True, slots=True, eq=False)
class StitchLengths:
    """Lengths of the stitches; threads that jumps carry are not among them.

    ``counts`` has one entry for each of ``LENGTH_EDGES_MM``, up to the next one, the last
    without end.
    """

    stitches: int
    mean_mm: float
    median_mm: float
    longest_mm: float
    short: int
    counts: tuple[int, ...]

    @property
    def short_share(self) -> float:
        """Share of stitches below ``SHORT_MM``."""
        return self.short / self.stitches if self.stitches else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class BandShare:
    """Share of the sewn area where the density lies in one band."""

    name: str
    label: str
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class Measurement:
    """One design, measured.

    Attributes
    ----------
    design
        What was measured.
    stitches, jumps, stops, sequins, colour_changes
        As recorded; stitches are needle penetrations.
    trims
        Cuts of the thread within a colour; None where the file has no command for it.
    left_mm, top_mm, width_mm, height_mm
        The smallest upright rectangle around all needle points.
    thread_length_m
        Top thread along the face: straight from needle point to needle point, without what is
        taken up in depth, and with ``thread_over_jumps_m``, carried by jumps without a cut.
    sewn_area_cm2
        Cloth with thread on it: half-millimetre squares that thread runs through, gaps of up
        to 1 mm between threads filled.
    mean_density
        Stitches per mm2 of sewn area.
    layers, densest_layers
        Thread length x 0.4 mm / area, over the sewn area and in the densest square centimetre.
    bands
        Shares of the sewn area by the density of the square centimetre around.
    step_stitches
        Stitches of each colour step.
    thread
        From needle point to needle point.
    density
        The maps.
    """

    design: StitchDesign
    stitches: int
    jumps: int
    trims: int | None
    stops: int
    sequins: int
    colour_changes: int
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    thread_length_m: float
    thread_over_jumps_m: float
    sewn_area_cm2: float
    mean_density: float
    layers: float
    densest_layers: float
    bands: tuple[BandShare, ...]
    lengths: StitchLengths
    step_stitches: tuple[int, ...]
    thread: Thread
    density: DensityMap
    notes: tuple[str, ...]

    def distance_mm(self, place_mm: tuple[float, float]) -> float:
        """How far a place is from the nearest needle point."""
        away = self.design.needle_points_mm - np.array(place_mm)
        return float(np.sqrt((away**2).sum(axis=1).min()))

    def density_near(self, places_mm: FloatArray, *, within_mm: float) -> FloatArray:
        """Density at the needle point nearest to each place; NaN where none is near enough.

        Parameters
        ----------
        places_mm
            (p, 2) in the design's coordinates, good to a thumb's width.
        within_mm
            How far off a place may be.
        """
        points = self.design.needle_points_mm
        found = np.full(len(places_mm), np.nan)
        for at, place in enumerate(places_mm):
            away = ((points - place) ** 2).sum(axis=1)
            nearest = int(away.argmin())
            if away[nearest] <= within_mm**2:
                found[at] = self.density.at(points[nearest : nearest + 1])[0]
        return found

    @property
    def above_usual(self) -> float:
        """Share of the sewn area denser than solid stitching in one layer."""
        above = [band for band in DENSITY_BANDS if band.lowest >= USUAL_UP_TO]
        names = {band.name for band in above}
        return sum(each.share for each in self.bands if each.name in names)

    def finding(self) -> str:
        """How large and how dense, in words."""
        colours = len(self.step_stitches)
        x, y = self.density.densest_at_mm
        band = band_of(self.density.densest, DENSITY_BANDS)
        named = "" if band is None else f" ({band.label.split(',')[0].lower()})"
        return (
            f"{number(self.stitches)} stitches in {colours} "
            f"{'colour' if colours == 1 else 'colours'}, {self.width_mm:.1f} by "
            f"{self.height_mm:.1f} mm. The densest square centimetre holds "
            f"{self.density.densest:.1f} stitches/mm²{named}, {_beside(x, 'right', 'left')} and "
            f"{_beside(y, 'below', 'above')} the file's origin; the sewn area as a whole "
            f"{self.mean_density:.1f}, and {percent(self.above_usual, 0)} of it lies above the "
            f"{USUAL_UP_TO} of solid stitching."
        )

    def table(self) -> pl.DataFrame:
        """One row a band of density."""
        return pl.DataFrame(
            [{"band": each.name, "label": each.label, "share": each.share} for each in self.bands]
        )

    def as_json(self) -> dict[str, Any]:
        """Lengths in the units that their names say, places in the design's coordinates."""
        found, grid = self.design, self.density
        return {
            "file": found.file_name,
            "ending": found.ending,
            "content_hash": found.content_hash,
            "finding": self.finding(),
            "stitches": self.stitches,
            "jumps": self.jumps,
            "trims": self.trims,
            "trims_are": found.trims.value,
            "stops": self.stops,
            "sequins": self.sequins,
            "colour_changes": self.colour_changes,
            "steps": [
                {"colour": colour, "stitches": stitches}
                for colour, stitches in zip(found.colours, self.step_stitches, strict=True)
            ],
            "width_mm": round(self.width_mm, 3),
            "height_mm": round(self.height_mm, 3),
            "left_mm": round(self.left_mm, 3),
            "top_mm": round(self.top_mm, 3),
            "thread_length_m": self.thread_length_m,
            "thread_over_jumps_m": self.thread_over_jumps_m,
            "sewn_area_cm2": self.sewn_area_cm2,
            "stitch_length": self._lengths_as_json(),
            "density": {
                "mean": self.mean_density,
                "densest_cm2": grid.densest,
                "densest_at_mm": list(grid.densest_at_mm),
                "densest_needle_points": grid.densest_points,
                "densest_thread_m": grid.densest_thread_mm / 1000,
                "layers": self.layers,
                "densest_layers": self.densest_layers,
                "usual_up_to": USUAL_UP_TO,
                "share_above_usual": self.above_usual,
                "bands": self.table().to_dicts(),
            },
            "cells": _cells_as_json(grid),
            "notes": list(self.notes),
        }

    def _lengths_as_json(self) -> dict[str, Any]:
        lengths = self.lengths
        return {
            "stitches": lengths.stitches,
            "mean_mm": lengths.mean_mm,
            "median_mm": lengths.median_mm,
            "longest_mm": lengths.longest_mm,
            "under_1_mm": {"count": lengths.short, "share": lengths.short_share},
            "from_mm": list(LENGTH_EDGES_MM),
            "counts": list(lengths.counts),
        }


def measure(design: StitchDesign) -> Measurement:
    """Measure a design.

    Parameters
    ----------
    design
        As read; at least two needle points in two places.
    """
    thread = follow_thread(design)
    grid = map_density(thread)
    lengths = _lengths(thread.stitch_lengths_mm)
    sewn_mm2 = float(grid.sewn_mm2.sum())
    sewn_m = float(thread.stitch_lengths_mm.sum()) / 1000
    carried_m = float(thread.length_mm[thread.carried].sum()) / 1000
    left, top = thread.points_mm.min(axis=0)
    width, height = np.ptp(thread.points_mm, axis=0)
    trims = None if design.trims is Trims.NOT_RECORDED else cuts(design)
    steps = np.bincount(design.steps[design.is_stitch], minlength=len(design.colours))
    densest_layers = grid.densest_thread_mm * THREAD_WIDTH_MM / WINDOW_MM**2
    return Measurement(
        design=design,
        stitches=len(thread.points_mm),
        jumps=design.count(Command.JUMP),
        trims=trims,
        stops=design.count(Command.STOP),
        sequins=design.count(Command.SEQUIN),
        colour_changes=design.count(Command.COLOUR_CHANGE),
        left_mm=float(left),
        top_mm=float(top),
        width_mm=float(width),
        height_mm=float(height),
        thread_length_m=sewn_m + carried_m,
        thread_over_jumps_m=carried_m,
        sewn_area_cm2=sewn_mm2 / 100,
        mean_density=len(thread.points_mm) / sewn_mm2,
        layers=sewn_m * 1000 * THREAD_WIDTH_MM / sewn_mm2,
        densest_layers=densest_layers,
        bands=_bands(grid),
        lengths=lengths,
        step_stitches=tuple(int(count) for count in steps),
        thread=thread,
        density=grid,
        notes=notes_about(
            design,
            size_mm=(float(width), float(height)),
            thread_over_jumps_m=carried_m,
            densest_layers=densest_layers,
            short=lengths.short,
            short_share=lengths.short_share,
        ),
    )


def _lengths(lengths_mm: FloatArray) -> StitchLengths:
    if lengths_mm.size == 0:
        return StitchLengths(0, 0.0, 0.0, 0.0, 0, (0,) * len(LENGTH_EDGES_MM))
    # Files count in tenths of a millimetre: what is 1.0 mm there must not fall below it here.
    rounded = np.round(lengths_mm, 6)
    counts, _ = np.histogram(rounded, bins=[*LENGTH_EDGES_MM, np.inf])
    return StitchLengths(
        stitches=int(lengths_mm.size),
        mean_mm=float(lengths_mm.mean()),
        median_mm=float(np.median(lengths_mm)),
        longest_mm=float(lengths_mm.max()),
        short=int(np.count_nonzero(rounded < SHORT_MM)),
        counts=tuple(int(count) for count in counts),
    )


def _bands(grid: DensityMap) -> tuple[BandShare, ...]:
    whole = float(grid.sewn_mm2.sum())
    shares = []
    for band in DENSITY_BANDS:
        inside = (grid.density >= band.lowest) & (grid.density < band.below)
        shares.append(BandShare(band.name, band.label, float(grid.sewn_mm2[inside].sum()) / whole))
    return tuple(shares)


def _cells_as_json(grid: DensityMap) -> dict[str, Any]:
    """Rows from the top, each from the left; the first cell begins at ``origin_mm``."""
    rows, columns = grid.penetrations.shape
    return {
        "size_mm": CELL_MM,
        "origin_mm": list(grid.origin_mm),
        "columns": columns,
        "rows": rows,
        "penetrations": grid.penetrations.tolist(),
        "thread_mm": np.round(grid.thread_mm, 2).tolist(),
        "density": np.round(grid.density, 3).tolist(),
    }


def _beside(offset_mm: float, positive: str, negative: str) -> str:
    return f"{abs(offset_mm):.1f} mm {positive if offset_mm >= 0 else negative}"


def measure_file(path: Path) -> Measurement:
    """Count, size and density map of a stitch file.

    Raises
    ------
    StitchFileError
        It cannot be opened, is no stitch file, breaks off, or is too large.
    """
    return measure(read_design(path))


def measure_bytes(content: bytes, *, file_name: str) -> Measurement:
    """The same of a file that was sent: its bytes, and the name that it had."""
    return measure(design_of(content, file_name=file_name))
