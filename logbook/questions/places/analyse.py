"""Whether defects sit where the design is densest."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import polars as pl
from numpy.typing import NDArray

from logbook.errors import TooLittleData
from logbook.kernels.multiplicity import false_discovery
from logbook.kernels.point_density import PointDensityFit, point_density
from logbook.questions.places.result import KindPlaces, PlacesResult
from logbook.questions.places.words import FEWEST_RUNS

TOP = 0.1
CONTRAST = 1.1
"""The densest tenth has to be so many times as dense as the middle stitch for places to tell."""


def analyse(
    marks: pl.DataFrame,
    *,
    stitch_density: NDArray[np.float64],
    design: str,
    labels: Mapping[str, str],
) -> PlacesResult:
    """Hold marks of defects against the density of the design that they are on.

    Parameters
    ----------
    marks
        One row a mark: ``kind``, ``run_ref`` and ``density`` (stitches per mm2 at the mark).
    stitch_density
        (N,) the same density at each stitch of the design.
    design
        Its name.
    labels
        What people call each kind.

    Raises
    ------
    TooLittleData
        There is no mark.
    """
    if marks.is_empty():
        raise nothing_marked(design)
    counted = marks["kind"].value_counts().sort(["count", "kind"], descending=[True, False])
    kinds = counted["kind"].to_list()
    fits = [_fit(marks.filter(pl.col("kind") == kind), stitch_density) for kind in kinds]
    able = [place for place, fit in enumerate(fits) if fit.groups >= FEWEST_RUNS]
    q_values = dict(
        zip(able, false_discovery(p_values=[fits[at].p_value for at in able]), strict=True)
        if able
        else ()
    )
    even = fits[0].top_at_least < CONTRAST * float(np.median(stitch_density))
    found = [
        KindPlaces(
            kind, labels.get(kind, kind), fit, float(q_values[at]) if at in q_values else None, even
        )
        for at, (kind, fit) in enumerate(zip(kinds, fits, strict=True))
    ]
    found.sort(key=lambda each: (not each.leans, 2.0 if each.q_value is None else each.q_value))
    return PlacesResult(design, tuple(found))


def nothing_marked(design: str) -> TooLittleData:
    """What is told where a design has no mark to go by."""
    return TooLittleData(
        f"No places of defects are marked on {design}.",
        "tap on the drawing of the design when a defect is logged",
        needed=1,
        got=0,
        unit="marks",
    )


def _fit(marks: pl.DataFrame, stitch_density: NDArray[np.float64]) -> PointDensityFit:
    runs = marks["run_ref"].rank("dense").to_numpy().astype(np.int64)
    return point_density(
        mark_density=marks["density"].to_numpy(),
        stitch_density=stitch_density,
        groups=runs,
        top=TOP,
    )
