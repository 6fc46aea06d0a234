"""Runs as arrays: what they were sewn with, how much was at risk, how often it happened."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from logbook.errors import KernelError
from logbook.kernels.arguments import BoolArray, FloatArray, count_and_exposure, non_negative
from logbook.kernels.count_series import Measure

IntArray: TypeAlias = NDArray[np.intp]
NO_LEVEL = -1
"""Code of a row that a factor does not apply to; it takes no effect of that factor."""


@dataclass(frozen=True, slots=True, eq=False)
class Setups:
    """Rows of one kind of defect; a row is one run or several runs alike in every factor.

    Attributes
    ----------
    trials
        (m,) pieces inspected, or for events the exposure in units of which a run holds some
        (thousands of stitches).
    squares
        (m,) sum over the row's runs of their squared trials; of one run, its trials squared.
    count
        (m,) pieces that show it, or events.
    runs
        (m,) runs in the row.
    factors
        Name → (m,) codes 0, 1, …, or ``NO_LEVEL``.
    slopes
        Name → (m,) measured quantity, centred near zero.
    measure
        ``"pieces"`` or ``"events"``.
    offset
        Known part of the sum of effects, a number or (m,).
    """

    trials: FloatArray
    squares: FloatArray
    count: FloatArray
    runs: FloatArray
    factors: Mapping[str, IntArray]
    slopes: Mapping[str, FloatArray] = field(default_factory=dict)
    measure: Measure = "pieces"
    offset: FloatArray | float = 0.0

    def __post_init__(self) -> None:
        count_and_exposure(
            self.count, self.trials, names=("count", "trials"), bounded=self.measure == "pieces"
        )
        non_negative(self.squares, "squares")
        for name, values in {**self.factors, **self.slopes, "runs": self.runs}.items():
            if values.shape != self.trials.shape:
                raise KernelError(
                    f"{name} has {values.size} rows, but there are {self.trials.size}.",
                    "Give one value a row.",
                )
        if self.trials.sum() <= 0:
            raise KernelError("Nothing was at risk in any row.", "Leave out empty rows.")

    def some(self, picked: BoolArray | IntArray) -> Setups:
        """The rows that a mask, or positions, pick."""
        return Setups(
            trials=self.trials[picked],
            squares=self.squares[picked],
            count=self.count[picked],
            runs=self.runs[picked],
            factors=taken(self.factors, picked),
            slopes=taken(self.slopes, picked),
            measure=self.measure,
            offset=self.offset if isinstance(self.offset, float) else self.offset[picked],
        )

    @property
    def crude_rate(self) -> float:
        """Counts over trials of all rows."""
        return float(self.count.sum() / self.trials.sum())

    @property
    def all_alike(self) -> bool:
        """Whether nothing was counted, or every piece; of events there is no most."""
        total = self.count.sum()
        return bool(total <= 0 or (self.measure == "pieces" and total >= self.trials.sum()))


def taken(values: Mapping[str, NDArray], rows: NDArray) -> dict[str, NDArray]:  # type: ignore[type-arg]
    """Return some rows of every named array; ``rows`` is a mask or positions."""
    return {name: array[rows] for name, array in values.items()}
