"""What :func:`logbook.kernels.mixed.fit` accepts, in the form that the engine takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import qr
from scipy.special import logit

from logbook.errors import KernelError
from logbook.kernels.arguments import (
    FloatArray,
    Numbers,
    as_floats,
    count_and_exposure,
    line_of_points,
)
from logbook.kernels.count_series import Measure
from logbook.kernels.setup_model.setups import IntArray, Setups

MEASURES: dict[str, Measure] = {"binomial": "pieces", "poisson": "events"}
NEARLY_FLAT = 3e4
"""Prior standard deviation of columns of mean square 1: it keeps separated ones finite, no more."""
ALIASED = 1e-7


@dataclass(frozen=True, slots=True, eq=False)
class Record:
    """The rows with exposure, and how the groups' codes were numbered."""

    measure: Measure
    count: FloatArray
    trials: FloatArray
    offset: FloatArray
    fixed: FloatArray
    codes: dict[str, IntArray]
    levels: dict[str, NDArray[np.integer[Any]]]
    repeats: dict[str, str]
    left_out: int


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """The fixed effects as the engine takes them.

    Attributes
    ----------
    basis
        (m, r) columns of mean square 1 that span those with an estimate.
    back
        (p, r) from coefficients of the basis to those of the columns.
    prior_sd
        (r,) of the basis's coefficients.
    aliased
        Columns that are combinations of earlier ones.
    """

    basis: FloatArray
    back: FloatArray
    prior_sd: FloatArray
    aliased: IntArray


def read(
    family: str,
    count: Numbers,
    exposure: Numbers,
    fixed: Any,
    groups: Mapping[str, Any],
    offset: Numbers,
) -> Record:
    """Check the data and leave out rows without exposure.

    Raises
    ------
    KernelError
        If anything cannot be true or does not fit together.
    """
    if family not in MEASURES:
        raise KernelError(f"There is no family called {family!r}.", "Use binomial or poisson.")
    measure = MEASURES[family]
    counts, exposures = (
        line_of_points(each, name)
        for each, name in zip(
            count_and_exposure(
                count, exposure, names=("count", "exposure"), bounded=measure == "pieces"
            ),
            ("count", "exposure"),
            strict=True,
        )
    )
    known, design = _offset(offset, counts.size), _design(fixed, counts.size)
    levels, codes = _grouping(groups, counts.size)
    seen = exposures > 0
    if not seen.any():
        raise KernelError("No row has any exposure.", "Pass rows that were inspected or sewn.")
    codes = {name: code[seen] for name, code in codes.items()}
    return Record(
        measure,
        counts[seen],
        exposures[seen],
        known[seen],
        design[seen],
        codes,
        levels,
        _repeats(codes),
        int(np.sum(~seen)),
    )


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


def _grouping(
    groups: Mapping[str, Any], rows: int
) -> tuple[dict[str, NDArray[np.integer[Any]]], dict[str, IntArray]]:
    levels, codes = {}, {}
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
        codes[str(name)] = code.astype(np.intp)
    return levels, codes


def _repeats(codes: Mapping[str, IntArray]) -> dict[str, str]:
    """Groups that divide the rows as an earlier one does, and that one."""
    firsts: dict[bytes, str] = {}
    repeats = {}
    for name, code in codes.items():
        # Numbered by first appearance, two groups that divide rows alike have the same codes.
        _, first, inverse = np.unique(code, return_index=True, return_inverse=True)
        key = np.argsort(np.argsort(first))[inverse].tobytes()
        if key in firsts:
            repeats[name] = firsts[key]
        firsts.setdefault(key, name)
    return repeats


def read_prior_sd(given: Numbers | None, columns: int) -> FloatArray:
    """Return (p,) standard deviations of the priors, infinite where there is none.

    Raises
    ------
    KernelError
        If one is not above 0 or there is not one for each column.
    """
    sd = as_floats(np.inf if given is None else given, "fixed_prior_sd")
    if sd.shape not in ((), (columns,)):
        raise KernelError(
            f"fixed_prior_sd has shape {sd.shape}, but fixed has {columns} columns.",
            "Pass one number, or one for each column.",
        )
    if not (sd > 0).all():
        raise KernelError(
            f"fixed_prior_sd must be above 0; got {given!r}.",
            "Write infinity for a column without a prior.",
        )
    return np.broadcast_to(sd, (columns,))


def columns_of(fixed: FloatArray, prior_sd: FloatArray) -> Columns:
    """Turn columns without a prior into uncorrelated ones; keep the others as they are."""
    flat = np.flatnonzero(np.isinf(prior_sd))
    own = np.flatnonzero(np.isfinite(prior_sd))
    kept = flat[_independent(fixed[:, flat])]
    scale = np.sqrt(max(1, len(fixed)))
    basis, triangle = qr(fixed[:, kept], mode="economic") if kept.size else (fixed[:, :0], None)
    back = np.zeros((fixed.shape[1], kept.size + own.size))
    if triangle is not None:
        back[kept, : kept.size] = np.linalg.inv(triangle) * scale
    back[own, kept.size + np.arange(own.size)] = 1.0
    return Columns(
        np.hstack([basis * scale, fixed[:, own]]),
        back,
        np.concatenate([np.full(kept.size, NEARLY_FLAT), prior_sd[own]]),
        np.setdiff1d(flat, kept),
    )


def _independent(fixed: FloatArray) -> list[int]:
    """Columns that are no combination of earlier ones."""
    basis = np.empty((len(fixed), 0))
    taken = []
    for column in range(fixed.shape[1]):
        vector = fixed[:, column]
        left = vector - basis @ (basis.T @ vector)
        left -= basis @ (basis.T @ left)
        length = float(np.linalg.norm(left))
        if length > ALIASED * float(np.linalg.norm(vector)):
            basis = np.column_stack([basis, left / length])
            taken.append(column)
    return taken


def setups_of(record: Record, columns: Columns) -> Setups:
    """The record as the engine takes it; rates in units of the crude one, near which it works."""
    scale = 1.0
    if record.measure == "events":
        scale = max(float(record.count.sum()), 0.5) / float(record.trials.sum())
    trials = record.trials * scale
    return Setups(
        trials=trials,
        squares=trials**2,
        count=record.count,
        runs=np.ones(trials.size),
        factors=record.codes or {"all": np.zeros(trials.size, dtype=np.intp)},
        slopes={f"column {index}": column for index, column in enumerate(columns.basis.T)}
        or {"nothing": np.zeros(trials.size)},
        measure=record.measure,
        offset=record.offset - np.log(scale),
    )


def first_guess(record: Record, setups: Setups, columns: Columns) -> FloatArray:
    """(P,) coefficients by one weighted regression on the counts' own logits or logarithms."""
    y, n = record.count, setups.trials
    if record.measure == "pieces":
        share = (y + 0.5) / (n + 1.0)
        eta, weight = logit(share), n * share * (1.0 - share)
    else:
        eta, weight = np.log((y + 0.1) / n), y + 0.1
    weighted = columns.basis * weight[:, np.newaxis]
    matrix = weighted.T @ columns.basis + np.diag(columns.prior_sd**-2.0)
    fixed = np.linalg.lstsq(matrix, weighted.T @ (eta - setups.offset))[0]
    levels = sum(
        np.unique(code).size for name, code in record.codes.items() if name not in record.repeats
    )
    return np.concatenate([fixed, np.zeros(levels or int(not fixed.size))])
