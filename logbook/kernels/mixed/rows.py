"""What ``mixed.fit`` accepts, checked and brought into one form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from logbook.errors import KernelError
from logbook.kernels.arguments import (
    BoolArray,
    FloatArray,
    Numbers,
    as_floats,
    count_and_exposure,
    line_of_points,
)
from logbook.kernels.mixed.families import FAMILIES, Family

Codes: TypeAlias = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Counts with their covariates.

    Attributes
    ----------
    count, trials, offset
        (m,) in the form of :mod:`logbook.kernels.mixed.families`.
    fixed
        (m, p) design matrix.
    codes
        One (m,) array a grouping, each counting its levels from 0.
    sizes
        How many levels each grouping has, seen in these rows or not.
    """

    family: Family
    count: FloatArray
    trials: FloatArray
    offset: FloatArray
    fixed: FloatArray
    codes: tuple[Codes, ...]
    sizes: tuple[int, ...]

    def take(self, which: BoolArray | Codes) -> Rows:
        """Return rows by mask or index; the groupings keep all their levels."""
        return replace(
            self,
            count=self.count[which],
            trials=self.trials[which],
            offset=self.offset[which],
            fixed=self.fixed[which],
            codes=tuple(codes[which] for codes in self.codes),
        )


def repeated_groups(rows: Rows) -> dict[int, int]:
    """Return, for groups that divide the rows as an earlier one does, the index of that one."""
    divisions = [np.unique(codes, return_inverse=True)[1] for codes in rows.codes]
    counts = [int(division.max(initial=-1)) + 1 for division in divisions]
    repeats: dict[int, int] = {}
    for later in range(len(divisions)):
        for earlier in range(later):
            if earlier in repeats or counts[earlier] != counts[later]:
                continue
            pairs = np.unique(divisions[earlier] * counts[later] + divisions[later])
            if pairs.size == counts[later]:
                repeats[later] = earlier
    return repeats


@dataclass(frozen=True, slots=True, eq=False)
class Grouping:
    """The groupings by name: (q,) sorted labels of each, and its rows' codes into them."""

    levels: dict[str, NDArray[np.integer[Any]]]
    codes: tuple[Codes, ...]


def read_rows(
    family: str,
    count: Numbers,
    exposure: Numbers,
    offset: Numbers,
    fixed: Any,
    groups: Mapping[str, Any],
) -> tuple[Rows, Grouping, int]:
    """Check the data and leave out rows without exposure.

    Returns
    -------
    tuple
        The rows, the groupings, and how many rows were left out.

    Raises
    ------
    KernelError
        If anything cannot be true or does not fit together.
    """
    if family not in FAMILIES:
        raise KernelError(f"There is no family called {family!r}.", "Use binomial or poisson.")
    bounded = family == "binomial"
    counts, exposures = count_and_exposure(
        count, exposure, names=("count", "exposure"), bounded=bounded
    )
    counts, exposures = line_of_points(counts, "count"), line_of_points(exposures, "exposure")
    known = _offset(offset, counts.size)
    design = _design(fixed, counts.size)
    grouping = _grouping(groups, counts.size)
    seen = exposures > 0
    if not seen.any():
        raise KernelError("No row has any exposure.", "Pass rows that were inspected or sewn.")
    rows = Rows(
        FAMILIES[family],
        counts[seen],
        exposures[seen] if bounded else np.ones(int(seen.sum())),
        known[seen] if bounded else known[seen] + np.log(exposures[seen]),
        design[seen],
        tuple(codes[seen] for codes in grouping.codes),
        tuple(int(levels.size) for levels in grouping.levels.values()),
    )
    return rows, grouping, int(np.sum(~seen))


def read_precision(fixed_prior_sd: Numbers | None, columns: int) -> FloatArray:
    """Return (p,) one over the squared prior standard deviation; 0 without a prior.

    Raises
    ------
    KernelError
        If a standard deviation is not above 0 or there is not one for each column.
    """
    if fixed_prior_sd is None:
        return np.zeros(columns)
    sd = as_floats(fixed_prior_sd, "fixed_prior_sd")
    if sd.shape not in ((), (columns,)):
        raise KernelError(
            f"fixed_prior_sd has shape {sd.shape}, but fixed has {columns} columns.",
            "Pass one number, or one for each column.",
        )
    if not (sd > 0).all():
        raise KernelError(
            f"fixed_prior_sd must be above 0; got {fixed_prior_sd!r}.",
            "Write infinity for a column without a prior.",
        )
    return np.broadcast_to(sd, (columns,)) ** -2.0


def read_avoiding(
    boundary_avoiding: bool | Mapping[str, bool], names: tuple[str, ...]
) -> BoolArray:
    """Return (k,) whether each grouping's standard deviation is kept off 0.

    Raises
    ------
    KernelError
        If a name is not that of a grouping.
    """
    if not isinstance(boundary_avoiding, Mapping):
        return np.full(len(names), bool(boundary_avoiding))
    unknown = sorted(set(boundary_avoiding) - set(names))
    if unknown:
        raise KernelError(
            f"boundary_avoiding names {unknown[0]!r}, which is not among the groups.",
            "Use the names given in groups.",
        )
    return np.array([bool(boundary_avoiding.get(name, False)) for name in names], dtype=bool)


def _offset(offset: Numbers, rows: int) -> FloatArray:
    known = as_floats(offset, "offset")
    if known.shape not in ((), (rows,)) or not np.isfinite(known).all():
        raise KernelError(
            f"offset must be one finite number, or one for each of {rows} rows; "
            f"got shape {known.shape}.",
            "Leave out rows whose offset is unknown.",
        )
    return np.broadcast_to(known, (rows,))


def _design(fixed: Any, rows: int) -> FloatArray:
    design = as_floats(fixed, "fixed")
    if design.ndim != 2 or design.shape[0] != rows:
        raise KernelError(
            f"fixed must be a matrix of {rows} rows, one a count; got shape {design.shape}.",
            "Pass the design matrix with its column of ones.",
        )
    if not np.isfinite(design).all():
        row, column = np.argwhere(~np.isfinite(design))[0]
        raise KernelError(
            f"fixed must be finite; got {design[row, column]:g} in row {row}, column {column}.",
            "Leave out rows with unknown covariates.",
        )
    return design


def _grouping(groups: Mapping[str, Any], rows: int) -> Grouping:
    levels, codes = {}, []
    for name, given in groups.items():
        labels = np.asarray(given)
        if labels.shape != (rows,):
            raise KernelError(
                f"Group {name!r} must have one code for each of {rows} rows; "
                f"got shape {labels.shape}.",
                "Pass integer codes, one a row.",
            )
        if not np.issubdtype(labels.dtype, np.integer):
            raise KernelError(
                f"Group {name!r} must hold integer codes; got {labels.dtype}.",
                "Number the levels from 0.",
            )
        if rows and labels.min() < 0:
            raise KernelError(
                f"Group {name!r} holds the negative code {labels.min()}.",
                "Leave out rows of unknown group, or give them a level of their own.",
            )
        levels[str(name)], code = np.unique(labels, return_inverse=True)
        codes.append(code.astype(np.intp))
    return Grouping(levels, tuple(codes))
