"""Steps from a start until neither coefficients nor spreads move any more."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logbook.kernels.arguments import FloatArray
from logbook.kernels.setup_model.blocks import Covariance
from logbook.kernels.setup_model.laplace import (
    LONGEST_CHANGE,
    Pull,
    given_the_rest,
    laplace_score,
    no_lower,
    pull,
)
from logbook.kernels.setup_model.moments import Moments, moments
from logbook.kernels.setup_model.normal_equations import Problem, Step, solve
from logbook.kernels.setup_model.responses import clustering, rate_at, slope_at
from logbook.kernels.setup_model.variances import (
    hastened,
    information,
    overdispersion_from,
    spread_score,
    spread_step,
)

SPREADS_FROM = 2
"""Steps before the standard deviations begin to move."""
HALVED_AFTER = 10
"""Steps after which those of standard deviations are halved: what still moves then swings."""
SIGNS, SIGNS_AT_LAST = 24, 160
"""Random signs that groups of many levels are averaged over, on the way and at the end."""
EXACT_LEVERAGE_ROWS = 6_000
DAMPING = 0.7
SMALL_SD = 0.05
"""Spreads well below this matter to no answer, and need not stand as still."""


@dataclass(frozen=True, slots=True, eq=False)
class Start:
    """Where the steps begin.

    Attributes
    ----------
    coefficients, sds
        (P,) and (J,).
    overdispersion
        Variance of runs beyond counting.
    near
        Whether it is taken to be near the end, so that spreads move from the first step on.
    """

    coefficients: FloatArray
    sds: FloatArray
    overdispersion: float
    near: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Settled(Start):
    """Where they ended, with the last step's solution, what it says of spreads, and how it went."""

    step: Step | None = None
    known: FloatArray | None = None
    effective: float = 0.0
    iterations: int = 0
    settled: bool = False


def settle(problem: Problem, start: Start) -> Settled:
    """Step from a start until nothing moves any more."""
    spreads, objective = problem.spreads, problem.objective
    coefficients, sds, overdispersion = start.coefficients, start.sds, start.overdispersion
    # From a near start even the first steps are short: only shorter ones say that it has settled.
    still = objective.still / 3 if start.near else objective.still
    settled, iterations, last_grow = False, 0, np.zeros(sds.size)
    while True:
        iterations += 1
        step = solve(problem, coefficients, sds, overdispersion)
        own, by, move = _move(problem, step)
        furthest = float(np.abs(problem.crosstabs.predict(move)).max())
        if by is not None:
            move = no_lower(problem, coefficients, sds, move, by.by_coefficient)
        else:
            move = move * min(1.0, LONGEST_CHANGE / max(furthest, LONGEST_CHANGE))
        coefficients = coefficients + move
        last = settled or iterations >= objective.most_iterations
        if iterations <= SPREADS_FROM and not (start.near or last):
            continue
        signs = None if objective.laplace else SIGNS_AT_LAST if last else SIGNS
        sums = moments(own, spreads.members, signs=signs)
        known = information(spreads, sums, sds, objective.spread_prior)
        effective = effective_parameters(sums, sds, problem)
        if last:
            break
        by_log_variance = (
            spread_score(spreads, coefficients, sums.traces, sds, objective.spread_prior)
            if by is None
            else laplace_score(problem, coefficients, sds, sums.traces, by)
        )
        plain = spread_step(spreads, by_log_variance, known)
        grow = hastened(plain, last_grow, leap=iterations % 3 == 0)
        last_grow = plain
        if iterations > HALVED_AFTER and by is None:
            grow = grow / 2.0
        grown = _grown(problem, sds, grow)
        found = 0.0
        if objective.overdispersed:
            found = _overdispersion(problem, coefficients, step, effective, overdispersion)
        moved = max(
            float((np.abs(grown - sds) / (sds + SMALL_SD)).max()),
            abs(found - overdispersion) / (0.1 + overdispersion),
            furthest,
        )
        overdispersion += DAMPING * (found - overdispersion)
        sds, settled = grown, moved < still
    return Settled(
        coefficients, sds, overdispersion, True, step, known, effective, iterations, settled
    )


def _move(problem: Problem, step: Step) -> tuple[Covariance, Pull | None, FloatArray]:
    """The covariance that spreads go by, the determinant's pull, and the move with it."""
    if not problem.objective.laplace:
        return step.covariance, None, step.move
    assert step.precision is not None
    own = given_the_rest(step.precision, problem.integrated)
    by = pull(problem, step, step.covariance if problem.objective.jeffreys else own)
    return own, by, step.move + step.covariance.times(by.by_coefficient)


def _grown(problem: Problem, sds: FloatArray, grow: FloatArray) -> FloatArray:
    """Standard deviations after a step of their logarithms, within bounds."""
    objective = problem.objective
    grown = np.clip(sds * np.exp(grow), objective.smallest_sd, objective.largest_sd)
    return np.where(problem.spreads.estimated, grown, sds)


def effective_parameters(sums: Moments, sds: FloatArray, problem: Problem) -> float:
    """Trace of the covariance with the data's own information."""
    return float(problem.layout.size - np.sum(sums.traces / sds**2))


def _overdispersion(
    problem: Problem,
    coefficients: FloatArray,
    step: Step,
    effective: float,
    overdispersion: float,
) -> float:
    setups, layout, rows = problem.setups, problem.layout, problem.rows
    rate = rate_at(problem.eta(coefficients), setups.measure)
    slope = slope_at(rate, setups.measure)
    unit = setups.trials * slope
    extra = slope**2 * clustering(setups.trials, setups.squares, setups.measure)
    if rate.size <= EXACT_LEVERAGE_ROWS:
        leverage = step.weighed * layout.leverage(rows, step.covariance)
    else:
        # Exact leverages take a pass over pairs of terms; with many rows each is small.
        leverage = np.full(rate.size, effective / rate.size)
    squared = (setups.count - setups.trials * rate) ** 2 / (1.0 - np.minimum(leverage, 0.9))
    return overdispersion_from(
        residual=squared, variance=unit + overdispersion * extra, unit=unit, extra=extra
    )
