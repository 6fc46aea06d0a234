"""What :func:`logbook.kernels.mixed.fit` returns, and the sentences that go with it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import eigh
from scipy.special import gammaln

from logbook.kernels.arguments import FloatArray
from logbook.kernels.mixed.record import NEARLY_FLAT, Columns, Record
from logbook.kernels.setup_model.fitting import SetupFit
from logbook.kernels.setup_model.laplace import Maximum
from logbook.kernels.setup_model.setups import IntArray, Setups

NO_INFORMATION = 1e-4
"""A direction of the columns with less information than this is known by its prior only."""
INVOLVED = 1e-3
UNREAL_SD = 10.0
"""On the scale of the linear predictor: beyond any real spread between levels."""


@dataclass(frozen=True, slots=True, eq=False)
class MixedFit:
    """A generalized linear mixed model, fitted.

    Attributes
    ----------
    fixed
        (p,) coefficients on the logit or log scale; NaN for a column that is a combination of
        earlier ones. Large and arbitrary for columns in ``separated``.
    fixed_se, fixed_covariance
        (p,) standard errors and the (p, p) covariance behind them, from the curvature over
        coefficients and standard deviations together.
    sd
        By group, the standard deviation of its levels; exactly 0 where they differ no more than
        chance.
    effects, effects_sd
        By group, (q,) conditional modes of the levels in the order of ``levels``, and their
        standard deviations given all estimates.
    levels
        By group, (q,) the distinct codes given, ascending.
    log_likelihood
        With binomial coefficients and factorials, without priors.
    separated
        Columns whose best coefficient is infinite.
    converged
        Whether the search met its tolerance.
    warnings
        Plain sentences.
    """

    fixed: FloatArray
    fixed_se: FloatArray
    fixed_covariance: FloatArray
    sd: dict[str, float]
    effects: dict[str, FloatArray]
    effects_sd: dict[str, FloatArray]
    levels: dict[str, NDArray[np.integer[Any]]]
    log_likelihood: float
    separated: tuple[int, ...]
    converged: bool
    warnings: tuple[str, ...]


def result_of(
    record: Record, columns: Columns, found: SetupFit, maximum: Maximum, *, jeffreys: bool
) -> MixedFit:
    """Turn what the engine found into the terms of the caller's columns and codes."""
    size = columns.prior_sd.size
    known = found.covariance.among(np.arange(size))
    # Firth's standard errors are those of the information alone.
    joint = known if jeffreys or maximum.covariance is None else maximum.covariance
    # Without columns of the caller's the fit holds one that is nothing, and no part of the answer.
    joint = joint[:size, :size]
    fixed = columns.back @ found.coefficients[:size]
    covariance = columns.back @ joint @ columns.back.T
    fixed[columns.aliased] = covariance[columns.aliased] = np.nan
    covariance[:, columns.aliased] = np.nan
    separated = _separated(record, columns, known)
    sd, effects, effects_sd = {}, {}, {}
    for name, levels in record.levels.items():
        there = name not in record.repeats
        place = found.layout.place(name)
        index = found.layout.groups.index(name) if there else 0
        sd[name] = float(found.sds[index]) if there and not maximum.none[index] else 0.0
        seen = np.unique(record.codes[name])
        effects[name] = np.zeros(levels.size)
        effects_sd[name] = np.full(levels.size, sd[name])
        if sd[name]:
            effects[name][seen] = found.coefficients[place]
            spread = np.sqrt(maximum.point.covariance.diagonal()[place])
            effects_sd[name][seen] = spread
    return MixedFit(
        fixed=fixed,
        fixed_se=np.sqrt(np.diag(covariance)),
        fixed_covariance=covariance,
        sd=sd,
        effects=effects,
        effects_sd=effects_sd,
        levels=record.levels,
        log_likelihood=maximum.point.log_likelihood + _constant(record, found.setups),
        separated=tuple(separated.tolist()),
        converged=maximum.settled,
        warnings=tuple(_sentences(record, columns, maximum, fixed, separated, sd)),
    )


def _separated(record: Record, columns: Columns, covariance: FloatArray) -> IntArray:
    """Columns that take part in a direction of which the rows say nothing, for all its size."""
    flat = np.flatnonzero(columns.prior_sd == NEARLY_FLAT)
    if not flat.size:
        return flat
    values, vectors = eigh(covariance[np.ix_(flat, flat)])
    lost = vectors[:, values > 1.0 / NO_INFORMATION]
    reach = np.abs(columns.back[:, flat] @ lost) * np.abs(record.fixed).max(axis=0)[:, np.newaxis]
    return np.flatnonzero((reach > INVOLVED * reach.max(axis=0, initial=0.0)).any(axis=1))


def _constant(record: Record, setups: Setups) -> float:
    """Part of the log likelihood that depends on nothing fitted."""
    y, n = record.count, record.trials
    if record.measure == "pieces":
        return float(np.sum(gammaln(n + 1) - gammaln(y + 1) - gammaln(n - y + 1)))
    return float(np.sum(y * np.log(setups.trials) - gammaln(y + 1)))


def _sentences(
    record: Record,
    columns: Columns,
    maximum: Maximum,
    fixed: FloatArray,
    separated: IntArray,
    sd: Mapping[str, float],
) -> Iterator[str]:
    """Say what the reader of a fit must know."""
    if record.left_out:
        yield f"{record.left_out} rows without exposure were left out."
    for column in columns.aliased:
        yield f"Column {column} of fixed is a combination of earlier columns; it has no estimate."
    for column in separated:
        yield (
            f"Column {column} of fixed has no finite best coefficient (separation: the outcome of "
            f"some rows is predicted without error); it was stopped at {fixed[column]:.1f}, and "
            "its standard error says nothing."
        )
    for name, levels in record.levels.items():
        if name in record.repeats:
            yield (
                f"Group {name!r} divides the rows as {record.repeats[name]!r} does; the spread of "
                f"both is given to {record.repeats[name]!r}."
            )
            continue
        if levels.size == 1:
            yield f"Group {name!r} has a single level; nothing can be learned of its spread."
        if sd[name] == 0:
            yield (
                f"The standard deviation of {name!r} is estimated as 0: its levels differ no more "
                "than chance alone would make them."
            )
        elif sd[name] > UNREAL_SD:
            yield (
                f"The standard deviation of {name!r} came to {sd[name]:.3g}: its levels are all or "
                "nothing, and the approximation cannot be trusted there."
            )
    if maximum.covariance is None:
        yield (
            "The likelihood is not curved like a maximum; standard errors hold the standard "
            "deviations of the groups at their estimates."
        )
    if not maximum.settled:
        yield "The fit did not settle; its figures are the last ones reached."
