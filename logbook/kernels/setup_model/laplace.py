"""The marginal likelihood by Laplace's approximation: its value, its slopes, and its maximum.

With the random effects ``u`` at their conditional modes, ``H`` the precision of them given all
else and ``D`` that of their priors, the log likelihood of standard deviations and coefficients is

    log p(y | u) - u'D u / 2 - log |H| / 2 + log |D| / 2

(Breslow & Clayton 1993, JASA 88:9-25, eq. 3; Bates, Maechler, Bolker & Walker 2015, J Stat
Software 67(1)). ``H`` holds the working weights, which move with the modes, and the modes move
with everything: what the working model of the verdicts leaves out, and what matters where a level
has few pieces. The slopes follow the modes by the implicit function theorem.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import cholesky, eigh

from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model.blocks import Covariance, Precision, without
from logbook.kernels.setup_model.normal_equations import Problem, Step, solve
from logbook.kernels.setup_model.responses import (
    log_likelihood,
    rate_at,
    residual_at,
    skewness_at,
)
from logbook.kernels.setup_model.variances import spread_score

MOST_MODE_STEPS, MODE_STILL = 100, 1e-8
MOST_HALVINGS = 30
LONGEST_CHANGE = 4.0
"""Furthest that the sum of effects of any row moves in one step."""
MOST_ROUNDS, NEAR_ENOUGH = 40, 2e-3
"""From so many standard errors below the top the last step leads there."""
DIFFERENCE = 1e-3
LONGEST_STEP = 5.0
FLAT, BENT = 1e-6, 0.05
LEAST_INFORMATION = 1e-2
NEARLY_NONE, NO_LOSS = 0.02, 1e-6
"""A standard deviation below this that still falls is tried at none, as is any at the end."""


@dataclass(frozen=True, slots=True, eq=False)
class Pull:
    """What the determinant adds: to the slopes by coefficients (P,), and to the modes (P,)."""

    by_coefficient: FloatArray
    on_modes: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Point:
    """The marginal likelihood at coefficients and standard deviations.

    Attributes
    ----------
    coefficients, sds
        (P,) with the random effects at their modes, and (J,).
    value
        Log likelihood with all priors, but for constants of the counts.
    log_likelihood
        The same without priors on coefficients and standard deviations.
    by_coefficient, by_log_variance
        (P,) and (J,) slopes of ``value``; by random effects zero.
    covariance
        (P, P) of the random effects given the rest; zero elsewhere.
    """

    coefficients: FloatArray
    sds: FloatArray
    value: float
    log_likelihood: float
    by_coefficient: FloatArray
    by_log_variance: FloatArray
    covariance: Covariance


@dataclass(frozen=True, slots=True, eq=False)
class Maximum:
    """Where the search ended.

    Attributes
    ----------
    point
        The likelihood there.
    covariance
        (R, R) of the coefficients that are not random effects, from the curvature by coefficients
        and standard deviations together; None where it is not that of a maximum.
    estimated, none
        (J,) standard deviations that were estimated, and that ended at none.
    settled
        Whether it ended ``NEAR_ENOUGH``.
    """

    point: Point
    covariance: FloatArray | None
    estimated: BoolArray
    none: BoolArray
    settled: bool


def given_the_rest(precision: Precision, integrated: BoolArray) -> Covariance:
    """(P, P) covariance of the random effects were the other coefficients known."""
    return without(precision.holding(~integrated).inverse()[0], ~integrated)


def pull(problem: Problem, step: Step, covariance: Covariance) -> Pull:
    """Follow the determinant through the working weights.

    Parameters
    ----------
    step
        Weights and sums of effects.
    covariance
        (P, P) of the random effects given the rest; under Jeffreys' prior of all coefficients.
    """
    layout, crosstabs, setups = problem.layout, problem.crosstabs, problem.setups
    third = setups.trials * skewness_at(rate_at(step.eta, setups.measure), setups.measure)
    by_eta = -0.5 * layout.leverage(problem.rows, covariance) * third
    if problem.objective.jeffreys:
        return Pull(crosstabs.gather(-by_eta), np.zeros(layout.size))
    on_modes = covariance.times(crosstabs.gather(by_eta))
    by_eta = by_eta - step.weighed * crosstabs.predict(on_modes)
    by_coefficient = crosstabs.gather(by_eta)
    by_coefficient[problem.integrated] = 0.0
    return Pull(by_coefficient, on_modes)


def laplace_score(
    problem: Problem, coefficients: FloatArray, sds: FloatArray, traces: FloatArray, by: Pull
) -> FloatArray:
    """Slope of the marginal likelihood by the logarithms of the variances, (J,)."""
    spreads = problem.spreads
    score = spread_score(spreads, coefficients, traces, sds, problem.objective.spread_prior)
    moved = (coefficients * by.on_modes) @ spreads.members
    return np.where(spreads.estimated, score + moved / sds**2, 0.0)


def no_lower(
    problem: Problem,
    coefficients: FloatArray,
    sds: FloatArray,
    move: FloatArray,
    tilt: FloatArray | float = 0.0,
) -> FloatArray:
    """Shorten a move until the penalised likelihood with a linear ``tilt`` (P,) does not fall."""
    change = float(np.abs(problem.crosstabs.predict(move)).max(initial=0.0))
    move = move * min(1.0, LONGEST_CHANGE / max(change, LONGEST_CHANGE))
    tilted = np.broadcast_to(tilt, coefficients.shape)

    def value(at: FloatArray) -> float:
        return _joint(problem, at, sds) + float(tilted @ at)

    before = value(coefficients)
    slack = 1e-12 * (1.0 + abs(before))
    for halving in range(MOST_HALVINGS):
        shorter = move * 0.5**halving
        if value(coefficients + shorter) >= before - slack:
            return shorter
    return np.zeros_like(move)


def evaluate(problem: Problem, coefficients: FloatArray, sds: FloatArray) -> Point:
    """Find the modes of the random effects, and the likelihood there.

    Parameters
    ----------
    coefficients, sds
        (P,) whose random effects are where the search for the modes begins, and (J,).
    """
    integrated, objective = problem.integrated, problem.objective
    for _ in range(MOST_MODE_STEPS):
        step = solve(problem, coefficients, sds, 0.0, held=~integrated)
        change = problem.crosstabs.predict(step.move)
        units = step.move / sds[problem.layout.group_of]
        furthest = max(np.abs(change).max(initial=0.0), np.abs(units).max(initial=0.0))
        if furthest < MODE_STILL and step.decrement < MODE_STILL**2:
            break
        coefficients = coefficients + no_lower(problem, coefficients, sds, step.move)
    covariance = step.covariance
    value = _joint(problem, coefficients, sds) - 0.5 * step.log_determinant
    if objective.jeffreys:
        whole = solve(problem, coefficients, sds, 0.0)
        by = pull(problem, whole, whole.covariance)
        penalised = 0.5 * whole.log_determinant
    else:
        by = pull(problem, step, covariance)
        penalised = 0.0
    estimated, spreads = problem.spreads.estimated, problem.spreads
    logs = np.log(sds[estimated])
    value -= float(spreads.sizes[estimated] @ logs)
    traces = covariance.diagonal() @ spreads.members
    score = laplace_score(problem, coefficients, sds, traces, by)
    prior = 1.0 / sds[problem.layout.group_of] ** 2
    residual = residual_at(
        step.eta, problem.setups.count, problem.setups.trials, problem.setups.measure
    )
    slopes = problem.crosstabs.gather(residual) - prior * coefficients
    penalty = 0.5 * float(np.sum((prior * coefficients**2)[~integrated]))
    penalised += float(spreads.boundary_avoiding[estimated] @ logs) - 0.5 * float(
        np.sum(sds[estimated] ** 2) / objective.spread_prior**2
    )
    return Point(
        coefficients=coefficients,
        sds=sds,
        value=value + penalised,
        log_likelihood=value + penalty,
        by_coefficient=np.where(integrated, 0.0, slopes + by.by_coefficient),
        by_log_variance=score,
        covariance=covariance,
    )


def maximise(problem: Problem, coefficients: FloatArray, sds: FloatArray) -> Maximum:
    """Climb from near the top to the top, by Newton's method with halved steps.

    Parameters
    ----------
    coefficients, sds
        (P,) and (J,) to begin from.

    Notes
    -----
    The curvature is taken from differences of the exact slopes. Spreads that fall towards none
    are set to none; whether the likelihood rises again elsewhere takes another start to tell.
    """
    search = _Search(problem, evaluate(problem, coefficients, sds))
    settled, hessian, top = False, np.zeros((0, 0)), False
    for _ in range(MOST_ROUNDS):
        search.hold()
        gradient, hessian = search.gradient(), search.hessian()
        values, vectors = eigh(hessian) if hessian.size else (np.ones(0), hessian)
        top = bool((values > FLAT).all())
        curvature = np.maximum(np.abs(values), FLAT if top else BENT)
        step = (vectors / curvature) @ (vectors.T @ gradient)
        near = top and float(np.sqrt(max(float(gradient @ step), 0.0))) < NEAR_ENOUGH
        step *= min(1.0, LONGEST_STEP / max(FLAT, float(np.linalg.norm(step))))
        if not top:
            if float(np.linalg.norm(gradient)) < NEAR_ENOUGH and search.drop():
                continue
            # Off the ridge, upwards; on its very crest towards smaller standard deviations.
            along = vectors[:, 0]
            step += np.where(along @ gradient != 0, np.sign(along @ gradient), -1.0) * along
        moved = search.climb(step)
        if (near or not moved) and not search.drop():
            settled = near
            break
    return search.end(hessian, top, settled)


class _Search:
    """Holds the point, which spreads still move, and the units of about a standard error."""

    def __init__(self, problem: Problem, point: Point) -> None:
        self.problem, self.point = problem, point
        self.free = problem.spreads.estimated.copy()
        self.none = np.zeros(self.free.size, dtype=bool)
        self.rest = np.flatnonzero(~problem.integrated)
        self.unit = np.zeros((0, 0))
        if self.rest.size:
            step = solve(problem, point.coefficients, point.sds, 0.0)
            known = np.linalg.inv(step.covariance.among(self.rest))
            known[np.diag_indices_from(known)] += LEAST_INFORMATION
            self.unit = cholesky(np.linalg.inv(known), lower=True)
        self.unit_of_spread = np.sqrt(2.0 / problem.spreads.sizes)

    def hold(self) -> None:
        """Set spreads that fall towards none to none, and hold those at the largest allowed."""
        for group in np.flatnonzero(self.free):
            sd, slope = self.point.sds[group], self.point.by_log_variance[group]
            if sd < NEARLY_NONE and slope < 0:
                self._try_none(int(group))
            elif sd >= self.problem.objective.largest_sd and slope > 0:
                self.free[group] = False

    def drop(self) -> bool:
        """Set a spread that the likelihood can do without to none; whether there was one."""
        return any(self._try_none(int(group)) for group in np.flatnonzero(self.free))

    def _try_none(self, group: int) -> bool:
        sds = self.point.sds.copy()
        sds[group] = self.problem.objective.smallest_sd
        other = evaluate(self.problem, self.point.coefficients, sds)
        if other.value < self.point.value - NO_LOSS:
            return False
        self.point, self.free[group], self.none[group] = other, False, True
        return True

    def gradient(self) -> FloatArray:
        """Slopes in the search's own units: coefficients, then the spreads that move."""
        return self._in_units(self.point)

    def _in_units(self, point: Point) -> FloatArray:
        spread = (point.by_log_variance * self.unit_of_spread)[self.free]
        return np.concatenate([self.unit.T @ point.by_coefficient[self.rest], spread])

    def moved(self, step: FloatArray) -> Point:
        """The likelihood a step away."""
        coefficients, sds = self.point.coefficients.copy(), self.point.sds.copy()
        coefficients[self.rest] += self.unit @ step[: self.rest.size]
        logs = 0.5 * self.unit_of_spread[self.free] * step[self.rest.size :]
        objective = self.problem.objective
        sds[self.free] = np.clip(
            sds[self.free] * np.exp(np.clip(logs, -1.5, 1.5)),
            objective.smallest_sd,
            objective.largest_sd,
        )
        return evaluate(self.problem, coefficients, sds)

    def hessian(self) -> FloatArray:
        """Curvature downwards, from differences of the slopes."""
        size = self.rest.size + int(self.free.sum())
        here = self._in_units(self.point)
        steps = DIFFERENCE * np.eye(size)
        columns = [(here - self._in_units(self.moved(step))) / DIFFERENCE for step in steps]
        matrix = np.array(columns).reshape(size, size)
        return np.asarray((matrix + matrix.T) / 2.0)

    def climb(self, step: FloatArray) -> bool:
        """Go the step, or half, or less of it, where that is no lower; whether it went at all."""
        slack = 1e-11 * (1.0 + abs(self.point.value))
        for halving in range(MOST_HALVINGS):
            reached = self.moved(step * 0.5**halving)
            if reached.value >= self.point.value - slack:
                self.point = reached
                return True
        return False

    def end(self, hessian: FloatArray, top: bool, settled: bool) -> Maximum:
        """Say where the search ended."""
        covariance = None
        if top:
            size = self.rest.size
            inverse = np.linalg.inv(hessian)[:size, :size]
            covariance = self.unit @ inverse @ self.unit.T
        return Maximum(
            point=self.point,
            covariance=covariance,
            estimated=self.problem.spreads.estimated,
            none=self.none,
            settled=settled,
        )


def _joint(problem: Problem, coefficients: FloatArray, sds: FloatArray) -> float:
    """Log likelihood less half the squares of the coefficients by their priors."""
    setups = problem.setups
    eta = problem.eta(coefficients)
    squares = float(np.sum((coefficients / sds[problem.layout.group_of]) ** 2))
    return log_likelihood(eta, setups.count, setups.trials, setups.measure) - 0.5 * squares
