"""Runs grouped by one or two columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from logbook.expectation.coding import coded, crossed
from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model.setups import IntArray
from logbook.questions.where.result import Value


@dataclass(frozen=True, slots=True, eq=False)
class Grouped:
    """Levels of columns.

    Attributes
    ----------
    columns
        What is grouped by.
    everywhere
        (m,) code of each run's level, in all of the record.
    codes
        (n,) place in ``levels`` of each run that is asked about.
    levels
        Those that such a run has: column → value, None where it was not recorded.
    """

    columns: tuple[str, ...]
    everywhere: IntArray
    codes: IntArray
    levels: tuple[Mapping[str, Value], ...]

    def added(self, values: FloatArray | BoolArray) -> FloatArray:
        """Sum of the values, one a run that is asked about, of each level."""
        weights = values.astype(np.float64)
        return np.bincount(self.codes, weights, len(self.levels)).astype(np.float64)


def grouped(runs: pl.DataFrame, columns: Sequence[str], inside: BoolArray) -> Grouped:
    """Group runs by columns; what is not recorded is a level of its own."""
    everywhere = crossed(*(coded(runs[name]) for name in columns))
    rows = np.flatnonzero(inside)
    _, first, codes = np.unique(everywhere[rows], return_index=True, return_inverse=True)
    levels = runs.select(columns)[rows[first]].to_dicts()
    return Grouped(tuple(columns), everywhere, codes.astype(np.intp), tuple(levels))


def all_together(runs: pl.DataFrame, inside: BoolArray) -> Grouped:
    """All runs asked about as one level."""
    whole = np.zeros(runs.height, dtype=np.intp)
    return Grouped((), whole, whole[inside], ({},))
