"""The fit: from arguments to estimates, if in doubt from several starts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from logbook.errors import KernelError
from logbook.kernels.arguments import Numbers
from logbook.kernels.mixed.record import (
    Columns,
    Record,
    columns_of,
    first_guess,
    read,
    read_prior_sd,
    setups_of,
)
from logbook.kernels.mixed.result import UNREAL_SD, MixedFit, result_of
from logbook.kernels.setup_model import fitting
from logbook.kernels.setup_model.fitting import SetupFit
from logbook.kernels.setup_model.laplace import Maximum
from logbook.kernels.setup_model.objective import LAPLACE, Objective
from logbook.kernels.setup_model.settling import Start
from logbook.kernels.setup_model.terms import Term

Family: TypeAlias = Literal["binomial", "poisson"]

MOST_STARTS = 3
FIRST_SD, SMALL_SD, LARGE_SD = 0.4, 0.1, 3.0
HIGHER = 1e-6


def fit(
    *,
    family: Family,
    count: Numbers,
    exposure: Numbers,
    fixed: Any,
    groups: Mapping[str, NDArray[np.integer[Any]]],
    offset: Numbers = 0.0,
    fixed_prior_sd: Numbers | None = None,
    boundary_avoiding: bool = False,
    jeffreys_prior: bool = False,
) -> MixedFit:
    """Fit rates with fixed effects and crossed random intercepts, by maximum likelihood.

    Parameters
    ----------
    family
        ``"binomial"`` (pieces among pieces, logit link) or ``"poisson"`` (events, log link).
    count
        (m,) defective pieces, or events.
    exposure
        (m,) pieces inspected, or what events were counted over (the log of it is an offset).
        Rows without exposure are left out.
    fixed
        (m, p) design matrix; an intercept is a column of ones.
    groups
        Name -> (m,) non-negative integer codes, one random intercept a code. Empty: a plain
        generalized linear model. A group with one code a row is extra variance from row to row.
    offset
        A number or (m,): known part of the linear predictor, beside the log of a Poisson
        exposure.
    fixed_prior_sd
        Off by default. A number, or (p,): normal priors of that standard deviation around 0
        on the coefficients; infinity for none. A number covers the intercept, too.
    boundary_avoiding
        Off by default. Whether the log of each standard deviation is added to the log
        likelihood, which keeps it off 0 (Chung et al. 2013, Psychometrika 78:685-709).
    jeffreys_prior
        Off by default. Firth's penalty, half the log determinant of the information: finite
        estimates under separation. Without groups only.

    Returns
    -------
    MixedFit
        A standard deviation of 0, separation, and columns that repeat one another are results
        with a warning, not errors.

    Raises
    ------
    KernelError
        If a count cannot be true, the shapes do not fit, codes are not non-negative integers, or
        ``jeffreys_prior`` is asked for beside groups.

    Notes
    -----
    Laplace approximation: see :mod:`logbook.kernels.setup_model.laplace`. Held to converged
    published fits in tests/reference/test_mixed_models.py: coefficients within a quarter of a
    standard error, standard errors and standard deviations within 15 %.
    """
    record = read(family, count, exposure, fixed, groups, offset)
    if jeffreys_prior and record.codes:
        raise KernelError(
            "jeffreys_prior is for fits without groups.",
            "With groups, keep coefficients finite by fixed_prior_sd.",
        )
    columns = columns_of(record.fixed, read_prior_sd(fixed_prior_sd, record.fixed.shape[1]))
    objective = replace(LAPLACE, jeffreys=jeffreys_prior)
    found, maximum = _best(record, columns, objective, boundary_avoiding)
    return result_of(record, columns, found, maximum, jeffreys=jeffreys_prior)


def _best(
    record: Record, columns: Columns, objective: Objective, avoiding: bool
) -> tuple[SetupFit, Maximum]:
    """Fit from one start, and where that leaves a doubt from more; keep the highest."""
    setups = setups_of(record, columns)
    terms = [
        Term(f"column {index}", slope=f"column {index}", sd=float(sd))
        for index, sd in enumerate(columns.prior_sd)
    ]
    terms += [
        Term(name, (name,), boundary_avoiding=avoiding)
        for name in record.codes
        if name not in record.repeats
    ]
    # The engine wants a term: without columns and groups, one that is nothing.
    terms = terms or [Term("nothing", slope="nothing", sd=1.0)]
    guess = first_guess(record, setups, columns)
    best: tuple[SetupFit, Maximum] | None = None
    sds = np.full(len(terms) - columns.prior_sd.size, FIRST_SD)
    for again in range(MOST_STARTS):
        start = Start(guess, np.concatenate([columns.prior_sd, sds]), 0.0)
        found = fitting.fit(setups=setups, terms=terms, objective=objective, start=start)
        assert found.maximum is not None
        if best is None or _preferred(found.maximum, best[1]):
            best = found, found.maximum
        if _sure(best[1]):
            break
        # Those left without spread take it from the others; then all have much.
        none = best[1].none[columns.prior_sd.size :]
        sds = np.where(none, FIRST_SD, SMALL_SD) if again == 0 else np.full(sds.size, LARGE_SD)
    assert best is not None
    return best


def _sure(found: Maximum) -> bool:
    """Whether no other start is apt to end higher."""
    return bool(
        found.settled
        and found.covariance is not None
        and not found.none.any()
        and not _unreal(found)
    )


def _unreal(found: Maximum) -> bool:
    return bool((found.point.sds[found.estimated] > UNREAL_SD).any())


def _preferred(other: Maximum, best: Maximum) -> bool:
    """Whether another end is the better one.

    The approximation is far too high where levels are all or nothing: an end with a spread that
    no real levels have is not taken for one without.
    """
    if not other.settled or not best.settled:
        return other.settled
    if _unreal(other) != _unreal(best):
        return _unreal(best)
    return other.point.value > best.point.value + HIGHER
