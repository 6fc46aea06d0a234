"""The Laplace approximation of a mixed model's likelihood, with its exact gradient.

For standard deviations theta and fixed effects beta, the random effects S u (u of unit variance)
are set to their conditional modes by penalised iteratively reweighted least squares, and

    objective = - log p(y | u) + u'u / 2 + log |H| / 2,    H = I + S Z'W Z S

is the negative log likelihood (Bates, Maechler, Bolker & Walker 2015, J Stat Software 67(1);
Breslow & Clayton 1993, J Am Stat Assoc 88:9-25, eq. 3). The modes move with theta and beta; the
gradient follows them by the implicit function theorem.

Long products are written as sums, not with ``@``: see :mod:`logbook.kernels.mixed.crossing`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.mixed.crossing import Crossing, Factor
from logbook.kernels.mixed.rows import Rows

# The objective is even in each theta, so its slope in the variance is needed where theta is 0.
# At this theta the slope is exact to rounding and the objective is that of theta = 0.
_AS_GOOD_AS_ZERO = 1e-8
_MODE_STEPS = 100
_HALVINGS = 40
_STEP_LAST = 1e-6  # Newton's method squares it: the next step would be about 1e-12
_STEP_SMALL = 1e-10


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """What stays the same through a fit.

    Attributes
    ----------
    precision
        (p, p) prior precision of the fixed effects; 0 without a prior.
    avoiding
        (k,) whether log theta is added to the log likelihood (Chung et al. 2013,
        Psychometrika 78:685-709: a gamma prior of shape 2 and vanishing rate).
    """

    rows: Rows
    crossing: Crossing
    precision: FloatArray
    avoiding: BoolArray


@dataclass(frozen=True, slots=True, eq=False)
class Mode:
    """The conditional modes for given theta and beta.

    Attributes
    ----------
    spherical
        (q,) u.
    residual, weight, third
        (m,) count less mean, variance and third moment of the counts.
    joint
        log p(y | u) - u'u / 2 without the constant of the family.
    settled
        Whether the modes were found to 1e-10.
    """

    theta: FloatArray
    spherical: FloatArray
    residual: FloatArray
    weight: FloatArray
    third: FloatArray
    factor: Factor
    joint: float
    settled: bool


@dataclass(frozen=True, slots=True, eq=False)
class Point:
    """The objective at theta and beta.

    Attributes
    ----------
    value
        Penalised negative Laplace log likelihood without the constant of the family.
    log_likelihood
        Laplace log likelihood without penalties and without that constant.
    by_theta, by_fixed
        (k,) and (p,) gradient of ``value``.
    variance_slope
        (k,) half the slope ... by each variance theta^2, also where theta is 0.
    """

    mode: Mode
    value: float
    log_likelihood: float
    by_theta: FloatArray
    by_fixed: FloatArray
    variance_slope: FloatArray


def conditional_mode(
    problem: Problem, theta: FloatArray, fixed: FloatArray, start: FloatArray
) -> Mode:
    """Find the random effects' conditional modes, from ``start`` (q,) of unit variance."""
    rows, crossing = problem.rows, problem.crossing
    theta = np.maximum(theta, _AS_GOOD_AS_ZERO)
    scale = crossing.per_level(theta)
    known = rows.offset + np.einsum("ij,j->i", rows.fixed, fixed)
    u, joint = start, _joint(problem, known, scale, start)
    last = False
    for _ in range(_MODE_STEPS):
        eta = known + crossing.spread(scale * u)
        residual, weight, third = rows.family.moments(eta, rows.count, rows.trials)
        factor = crossing.factor(theta, weight)
        if last:
            break
        step = factor.solve(scale * crossing.sums(residual) - u)
        # In u, too: where theta is nearly 0, eta stands still while u is still far off.
        moved = crossing.spread(scale * step)
        change = float(max(np.abs(moved).max(initial=0.0), np.abs(step).max(initial=0.0)))
        if change < _STEP_SMALL:
            last = True
            break
        u, joint = _no_worse(problem, known, scale, u, joint, step)
        last = change < _STEP_LAST
    return Mode(theta, u, residual, weight, third, factor, joint, settled=last)


def evaluate(problem: Problem, theta: FloatArray, fixed: FloatArray, start: FloatArray) -> Point:
    """Return the objective and its gradient at (k,) ``theta`` and (p,) ``fixed``."""
    rows, crossing = problem.rows, problem.crossing
    mode = conditional_mode(problem, theta, fixed, start)
    theta, scale = mode.theta, crossing.per_level(mode.theta)
    moved, _ = mode.factor.leverage()
    by_eta = 0.5 * np.einsum("j,ji->i", theta, moved) * mode.third
    pulled = mode.factor.solve(scale * crossing.sums(by_eta))
    by_eta -= mode.weight * crossing.spread(scale * pulled)
    score = crossing.sums(mode.residual)
    cross = crossing.split(score * (2 * crossing.sums(by_eta) - score))
    slope = np.einsum("ji,i->j", moved, mode.weight) / theta + np.array(
        [part.sum() for part in cross]
    )
    log_likelihood = mode.joint - 0.5 * mode.factor.log_determinant()
    prior = problem.precision @ fixed
    avoided = problem.avoiding
    return Point(
        mode,
        0.5 * float(fixed @ prior) - log_likelihood - float(np.log(theta[avoided]).sum()),
        log_likelihood,
        theta * slope - avoided / theta,
        np.einsum("ij,i->j", rows.fixed, by_eta - mode.residual) + prior,
        slope,
    )


def conditional_information(problem: Problem, mode: Mode) -> FloatArray:
    """Return the (p, p) information on the fixed effects with theta held at its value."""
    rows, crossing = problem.rows, problem.crossing
    weighted = rows.fixed * mode.weight[:, np.newaxis]
    columns = [crossing.sums(column) for column in weighted.T]
    scale = crossing.per_level(mode.theta)
    tie = scale[:, np.newaxis] * np.array(columns).reshape(-1, scale.size).T
    return rows.fixed.T @ weighted - tie.T @ mode.factor.solve(tie) + problem.precision


def _joint(problem: Problem, known: FloatArray, scale: FloatArray, u: FloatArray) -> float:
    rows = problem.rows
    eta = known + problem.crossing.spread(scale * u)
    return rows.family.log_likelihood(eta, rows.count, rows.trials) - 0.5 * float((u * u).sum())


def _no_worse(
    problem: Problem,
    known: FloatArray,
    scale: FloatArray,
    u: FloatArray,
    joint: float,
    step: FloatArray,
) -> tuple[FloatArray, float]:
    slack = 1e-12 * (1 + abs(joint))
    for halving in range(_HALVINGS):
        candidate = u + 0.5**halving * step
        reached = _joint(problem, known, scale, candidate)
        if reached >= joint - slack:
            return candidate, reached
    return u, joint
