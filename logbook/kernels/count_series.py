"""A series of counts in time order: what can be true of it, its pooled rate and variance."""

from __future__ import annotations

from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from logbook.errors import KernelError
from logbook.kernels.arguments import (
    BoolArray,
    FloatArray,
    Numbers,
    count_and_exposure,
    line_of_points,
)

Measure: TypeAlias = Literal["pieces", "events"]


def counted_points(
    count: Numbers, exposure: Numbers, measure: Measure, baseline: NDArray[np.bool_] | None
) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Check the arguments that all calls on a series share.

    Parameters
    ----------
    count, exposure
        One value a point; a single number stands for every point.
    measure
        ``"pieces"`` or ``"events"``.
    baseline
        Boolean mask, or None for all points.

    Returns
    -------
    tuple
        Counts, exposures and baseline mask, all (m,).

    Raises
    ------
    KernelError
        If a count cannot be true, the measure is unknown, or the baseline marks no point or
        is not a mask of the points.
    """
    if measure not in ("pieces", "events"):
        raise KernelError(f"There is no measure called {measure!r}.", "Use pieces or events.")
    counts, exposures = count_and_exposure(
        count, exposure, names=("count", "exposure"), bounded=measure == "pieces"
    )
    counts, exposures = line_of_points(counts, "count"), line_of_points(exposures, "exposure")
    if baseline is None:
        return counts, exposures, np.ones(counts.size, dtype=bool)
    mask = np.asarray(baseline)
    if mask.dtype != np.bool_ or mask.shape != counts.shape:
        raise KernelError(
            f"The baseline must be one True or False a point; got {mask.size} values of type "
            f"{mask.dtype} for {counts.size} points.",
            "Pass a boolean mask as long as count.",
        )
    if not mask.any():
        raise KernelError("The baseline marks no point.", "Mark the points that set the centre.")
    return counts, exposures, mask


def pooled(counts: FloatArray, exposures: FloatArray, pool: BoolArray) -> float:
    """Return the sum of counts over the sum of exposures; NaN without exposure."""
    total = float(exposures[pool].sum())
    return float(counts[pool].sum()) / total if total > 0 else np.nan


def unit_variance(centre: float, measure: Measure) -> float:
    """Return the variance of a rate over one unit of exposure."""
    return centre * (1 - centre) if measure == "pieces" else centre
