"""Marks of defects over a design's density map, and whether they lean to dense places."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import polars as pl

from logbook.book.defect_locations import locations_on_design
from logbook.book.design_files import measured_again
from logbook.book.designs import design
from logbook.errors import RecordError, TooLittleData
from logbook.questions.places import analyse as places
from logbook.questions.places.result import PlacesResult
from logbook.runs.defect_locations import DefectLocation
from logbook.runs.designs import DesignVersion
from logbook.stitches import Measurement
from logbook.store import Store

NEAR_MM = 8.0
"""A tap misses by some millimetres: it counts for the stitch nearest to it, if one is so near."""


@dataclass(frozen=True, slots=True, eq=False)
class DesignPlaces:
    """One version of a design, measured, with the places marked on it.

    ``result`` is None where nothing was marked; ``elsewhere`` counts marks on other versions,
    which this map cannot hold.
    """

    version: DesignVersion
    measurement: Measurement
    places: tuple[DefectLocation, ...]
    result: PlacesResult | None
    elsewhere: int


def places_on(
    store: Store,
    name: str,
    *,
    mark: str | None = None,
    measuring: Callable[[Store, DesignVersion], Measurement] = measured_again,
) -> DesignPlaces:
    """Hold the marks on a version of a design against its density.

    Parameters
    ----------
    store
        The open book.
    name
        Of the design.
    mark
        Of the version; None for the one in use.
    measuring
        Measures its file; pages remember what was measured before.

    Raises
    ------
    RecordError
        The book holds no stitch file of that design.
    StoreError
        Its file has gone from the folder.
    """
    found = design(store, name)
    version = None if found is None else found.newest if mark is None else found.version(mark)
    if version is None:
        says = f"the book holds no such stitch file of {name}"
        raise RecordError(
            f"The design cannot be drawn: {says}.",
            "add its file on the page of designs",
            reasons={"design": says},
        )
    measured = measuring(store, version)
    marked = locations_on_design(store, name)
    here = [marks for marks in marked if marks.design_version == version.digest]
    elsewhere = sum(len(marks.places) for marks in marked) - sum(len(m.places) for m in here)
    every = [(marks.run_ref, place) for marks in here for place in marks.places]
    at = np.array([[place.x_mm, place.y_mm] for _, place in every], dtype=np.float64)
    frame = pl.DataFrame(
        {
            "kind": [place.kind for _, place in every],
            "run_ref": [run_ref for run_ref, _ in every],
            "density": measured.density_near(at.reshape(-1, 2), within_mm=NEAR_MM),
        },
        schema={"kind": pl.String, "run_ref": pl.String, "density": pl.Float64},
    ).filter(pl.col("density").is_not_nan())
    try:
        result = places.analyse(
            frame,
            stitch_density=measured.density.at(measured.design.needle_points_mm),
            design=name,
            labels={kind.name: kind.label for kind in store.shop.kinds},
        )
    except TooLittleData:
        result = None
    return DesignPlaces(version, measured, tuple(place for _, place in every), result, elsewhere)
