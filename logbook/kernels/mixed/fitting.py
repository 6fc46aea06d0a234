"""The fit: from arguments to estimates."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from logbook.kernels.arguments import BoolArray, FloatArray, Numbers
from logbook.kernels.mixed.crossing import Crossing
from logbook.kernels.mixed.families import FamilyName
from logbook.kernels.mixed.firth import firth_part
from logbook.kernels.mixed.laplace import Problem, conditional_information
from logbook.kernels.mixed.result import Estimates, MixedFit, sentences
from logbook.kernels.mixed.rows import (
    Rows,
    read_avoiding,
    read_precision,
    read_rows,
    repeated_groups,
)
from logbook.kernels.mixed.search import covariance
from logbook.kernels.mixed.separation import (
    Finite,
    covariance_along,
    finite_part,
    orthonormal,
    prior_in,
    stopped,
)
from logbook.kernels.mixed.starts import best_of_starts


def fit(
    *,
    family: FamilyName,
    count: Numbers,
    exposure: Numbers,
    fixed: Any,
    groups: Mapping[str, NDArray[np.integer[Any]]],
    offset: Numbers = 0.0,
    fixed_prior_sd: Numbers | None = None,
    boundary_avoiding: bool | Mapping[str, bool] = False,
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
        Off by default. Whether standard deviations are kept off 0, for all groups or by name:
        the log of each is added to the log likelihood.
    jeffreys_prior
        Off by default. Firth's penalty, half the log determinant of the information: finite
        estimates under separation. Without groups and ``fixed_prior_sd`` only.

    Returns
    -------
    MixedFit
        Estimates, standard errors, conditional modes, likelihood and warnings. A standard
        deviation of 0, separation, and columns that repeat one another are results with a
        warning, not errors.

    Raises
    ------
    KernelError
        If a count cannot be true, the shapes do not fit, codes are not non-negative integers,
        the groups besides the largest have more than 10,000 levels, or ``jeffreys_prior`` is
        asked for beside groups or another prior.

    Notes
    -----
    Laplace approximation (Breslow & Clayton 1993, J Am Stat Assoc 88:9-25; Bates et al. 2015,
    J Stat Software 67(1)), with the conditional modes found to rounding: published fits that
    stop their inner loop at 1e-7 differ in the fourth digit. Boundary avoidance: Chung et al.
    (2013), Psychometrika 78:685-709. Jeffreys' prior: Firth (1993), Biometrika
    80:27-38. Several peaks: see :mod:`logbook.kernels.mixed.starts`. Checked in
    tests/reference/test_mixed_models.py.
    """
    rows, grouping, left_out = read_rows(family, count, exposure, offset, fixed, groups)
    precision = read_precision(fixed_prior_sd, rows.fixed.shape[1])
    avoiding = read_avoiding(boundary_avoiding, tuple(grouping.levels))
    finite = firth_part(rows, fixed_prior_sd) if jeffreys_prior else finite_part(rows, precision)
    part = rows.take(finite.kept)
    kept = precision[finite.columns]
    basis, triangle = orthonormal(part.fixed[:, finite.columns], kept)
    part, start = replace(part, fixed=basis), triangle @ finite.start
    prior = prior_in(triangle, kept)
    estimates = (
        _with_groups(part, start, prior, avoiding)
        if rows.sizes and part.count.size
        else _without_groups(part, start, prior)
    )
    back = np.linalg.inv(triangle)
    coefficients = np.zeros(precision.size)
    coefficients[finite.columns] = back @ estimates.fixed
    coefficients = stopped(rows, finite, coefficients)
    far = covariance_along(rows, finite, coefficients)
    coefficients[np.setdiff1d(np.arange(precision.size), finite.identified)] = np.nan
    conditional = _all_columns(finite, far, back @ estimates.conditional @ back.T)
    joint = (
        conditional
        if estimates.covariance is None
        else _all_columns(finite, far, back @ estimates.covariance @ back.T)
    )
    names = tuple(grouping.levels)
    log_likelihood = estimates.log_likelihood + rows.family.constant(rows.count, rows.trials)
    return MixedFit(
        family=rows.family.name,
        fixed=coefficients,
        fixed_se=np.sqrt(np.diag(joint)),
        fixed_se_conditional=np.sqrt(np.diag(conditional)),
        fixed_covariance=joint,
        sd=dict(zip(names, estimates.theta.tolist(), strict=True)),
        sd_se=dict(zip(names, estimates.theta_se.tolist(), strict=True)),
        effects=dict(zip(names, estimates.effects, strict=True)),
        effects_sd=dict(zip(names, estimates.effects_sd, strict=True)),
        levels=grouping.levels,
        log_likelihood=log_likelihood,
        aic=-2 * log_likelihood + 2 * (finite.identified.size + len(names)),
        separated=tuple(finite.separated().tolist()),
        converged=estimates.settled and finite.settled,
        iterations=estimates.iterations,
        warnings=tuple(sentences(grouping, left_out, finite, estimates, coefficients)),
    )


def _without_groups(part: Rows, fixed: FloatArray, prior: FloatArray) -> Estimates:
    """Return the plain fit; groups that no row informs have standard deviation 0."""
    eta = part.offset + part.fixed @ fixed
    _, weight, _ = part.family.moments(eta, part.count, part.trials)
    inverse = _inverse(part.fixed.T @ (part.fixed * weight[:, np.newaxis]) + prior)
    k = len(part.sizes)
    return Estimates(
        theta=np.zeros(k),
        theta_se=np.full(k, np.nan),
        fixed=fixed,
        covariance=inverse,
        conditional=inverse,
        log_likelihood=part.family.log_likelihood(eta, part.count, part.trials),
        effects=[np.zeros(size) for size in part.sizes],
        effects_sd=[np.zeros(size) for size in part.sizes],
        settled=True,
        iterations=0,
        repeats={},
    )


def _with_groups(
    part: Rows, start: FloatArray, prior: FloatArray, avoiding: BoolArray
) -> Estimates:
    # The algebra wants the largest group first and the rows in its order.
    repeats = repeated_groups(part)
    order = sorted(set(range(len(part.sizes))) - repeats.keys(), key=lambda j: -part.sizes[j])
    codes = tuple(part.codes[j] for j in order)
    sizes = tuple(part.sizes[j] for j in order)
    ordered = replace(part, codes=codes, sizes=sizes).take(np.argsort(codes[0], kind="stable"))
    problem = Problem(ordered, Crossing(ordered.codes, sizes), prior, avoiding[order])
    optimum = best_of_starts(problem, start)
    mode, free = optimum.point.mode, optimum.free
    inverse = covariance(optimum)
    scale = problem.crossing.per_level(optimum.theta)
    spread = scale * np.sqrt(mode.factor.leverage()[1])
    theta, theta_se = np.zeros(len(part.sizes)), np.full(len(part.sizes), np.nan)
    theta[order] = optimum.theta
    if inverse is not None:
        theta_se[np.array(order)[free]] = np.sqrt(np.diag(inverse)[: free.sum()])
    effects = dict(zip(order, problem.crossing.split(scale * mode.spherical), strict=True))
    effects_sd = dict(zip(order, problem.crossing.split(spread), strict=True))
    return Estimates(
        theta=theta,
        theta_se=theta_se,
        fixed=optimum.fixed,
        covariance=None if inverse is None else inverse[free.sum() :, free.sum() :],
        conditional=_inverse(conditional_information(problem, mode)),
        log_likelihood=optimum.point.log_likelihood,
        effects=[effects.get(j, np.zeros(size)) for j, size in enumerate(part.sizes)],
        effects_sd=[effects_sd.get(j, np.zeros(size)) for j, size in enumerate(part.sizes)],
        settled=optimum.settled,
        iterations=optimum.iterations,
        repeats=repeats,
    )


def _inverse(information: FloatArray) -> FloatArray:
    return np.asarray(np.linalg.inv(information))


def _all_columns(finite: Finite, far: FloatArray, covariance: FloatArray) -> FloatArray:
    """Return the covariance of all columns: NaN for those without an estimate."""
    full = far.copy()
    full[np.ix_(finite.columns, finite.columns)] += covariance
    missing = np.setdiff1d(np.arange(len(far)), finite.identified)
    full[missing] = full[:, missing] = np.nan
    return full
