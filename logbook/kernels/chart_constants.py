"""A number that is the same at every point of a chart, and can be read either way."""

from __future__ import annotations

import math

import numpy as np

from logbook.kernels.arguments import FloatArray


class ChartConstant(np.ndarray):
    """One entry a point, all alike: an array in arithmetic, one number where one is asked for.

    A chart has one centre but is drawn point by point; ``float(fit.centre)`` and
    ``fit.centre[0]`` are the same number. As a truth value a comparison holds where it holds at
    every point.
    """

    def __float__(self) -> float:
        return float(self.flat[0]) if self.size else math.nan

    def __bool__(self) -> bool:
        return bool(np.all(np.asarray(self)))

    def __format__(self, how: str) -> str:
        return format(float(self), how)


def chart_constant(value: float, points: int) -> FloatArray:
    """Return ``value`` as an array of one entry a point."""
    return np.full(points, value, dtype=np.float64).view(ChartConstant)
