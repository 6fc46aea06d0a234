"""The outer search: standard deviations and fixed effects that maximise the Laplace likelihood.

A quasi-Newton search with the exact gradient comes near; Newton's method, with the Hessian from
differences of that gradient, finishes, and its Hessian gives the standard errors. A standard
deviation whose likelihood rises towards 0 is set to 0: the slope by the variance decides.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import LinAlgError, cholesky, eigh, solve_triangular
from scipy.optimize import minimize

from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.mixed.laplace import (
    Point,
    Problem,
    conditional_information,
    conditional_mode,
    evaluate,
)

LARGEST_SD = 20.0
"""On the scale of the linear predictor: beyond any real spread between levels."""

FIRST_SD = 0.5
_SD_AT_BOUNDARY = 1e-3
_SDS_LET_GO = (0.1, 0.03, 0.01, 0.003)
_DIFFERENCE = 1e-4
_CLOSE = 1e-6
_STALE = 1e-3
_ROUNDS = 25
_FLAT = 1e-10
_BENT = 0.05
_LONGEST_STEP = 5.0
_CHORDS = 6
_HALVINGS = 12


@dataclass(frozen=True, slots=True, eq=False)
class Optimum:
    """Where the search ended.

    Attributes
    ----------
    theta, fixed
        (k,) and (p,) estimates; a theta on its boundary is exactly 0 or ``LARGEST_SD``.
    free
        (k,) which thetas lie between their boundaries.
    hessian
        Of the objective by the free thetas and then the fixed effects.
    """

    theta: FloatArray
    fixed: FloatArray
    free: BoolArray
    hessian: FloatArray
    point: Point
    settled: bool
    iterations: int


class Search:
    """Holds the units in which the search steps and the modes it last found.

    Positions are (k + p,) vectors: thetas, then fixed effects, each about one standard error
    long a unit.
    """

    def __init__(self, problem: Problem, theta: FloatArray, fixed: FloatArray) -> None:
        self.problem = problem
        self.k = len(problem.crossing.sizes)
        mode = conditional_mode(problem, theta, fixed, np.zeros(problem.crossing.level_count))
        self.modes = mode.spherical
        root = _root_of_units(conditional_information(problem, mode))
        self.units = np.zeros((self.k + fixed.size, self.k + fixed.size))
        sizes = np.array(problem.crossing.sizes, dtype=float)
        self.units[: self.k, : self.k] = np.diag(FIRST_SD / np.sqrt(2 * sizes))
        self.units[self.k :, self.k :] = solve_triangular(root, np.eye(fixed.size))
        self.origin = np.concatenate([np.zeros(self.k), fixed])
        self.position = np.concatenate(
            [theta / np.diag(self.units)[: self.k], np.zeros(fixed.size)]
        )
        self.iterations = 0

    def at(self, position: FloatArray) -> tuple[Point, FloatArray]:
        """Return the objective there and its gradient in the search's own units."""
        parameters = self.origin + self.units @ position
        theta = np.clip(parameters[: self.k], 0.0, LARGEST_SD)
        point = evaluate(self.problem, theta, parameters[self.k :], self.modes)
        if point.mode.settled:
            self.modes = point.mode.spherical
        return point, self.units.T @ np.concatenate([point.by_theta, point.by_fixed])

    def upper(self) -> FloatArray:
        """Return (k,) the upper boundary of the thetas in the search's own units."""
        return LARGEST_SD / np.diag(self.units)[: self.k]

    def approach(self) -> float:
        """Come near the optimum from the present position; return the objective there."""

        def objective(position: FloatArray) -> tuple[float, FloatArray]:
            point, gradient = self.at(position)
            return point.value, gradient

        bounds: list[tuple[float | None, float | None]] = [(0.0, bound) for bound in self.upper()]
        bounds += [(None, None)] * (self.position.size - self.k)
        found = minimize(
            objective,
            self.position,
            jac=True,
            method="L-BFGS-B",
            bounds=bounds,
            options={"ftol": 1e-13, "gtol": 1e-4, "maxiter": 300},
        )
        self.position = found.x
        self.iterations += int(found.nit)
        return float(found.fun)

    def let_go(self, held: BoolArray) -> None:
        """Move the (k,) ``held`` thetas off 0, by the step that brings the objective lowest."""
        stepped = []
        for sd in _SDS_LET_GO:
            position = self.position.copy()
            position[: self.k][held] = sd / np.diag(self.units)[: self.k][held]
            stepped.append((self.at(position)[0].value, sd, position))
        self.position = min(stepped)[2]

    def hessian(self, free: BoolArray) -> FloatArray:
        """Return the Hessian by the free parameters, from central differences of the gradient."""
        indices = np.flatnonzero(free)
        columns = []
        for index in indices:
            step = np.zeros(self.position.size)
            step[index] = _DIFFERENCE * max(1.0, 0.1 * self.position[index])
            above, below = self.at(self.position + step)[1], self.at(self.position - step)[1]
            columns.append((above - below)[indices] / (2 * step[index]))
        hessian = np.array(columns).reshape(indices.size, indices.size)
        return np.asarray((hessian + hessian.T) / 2)

    def finish(self, free: BoolArray) -> tuple[FloatArray, bool]:
        """Run Newton's method over the free parameters; return the last Hessian, and success.

        Stops short when a theta comes to a boundary.
        """
        point, gradient = self.at(self.position)
        hessian = np.zeros((int(free.sum()),) * 2)
        for _ in range(_ROUNDS):
            self.iterations += 1
            hessian = self.hessian(free)
            values, vectors = eigh(hessian)
            convex = bool(values.min(initial=1.0) > 0)
            # Where the objective bends the wrong way, downhill by steps of modest length.
            curvature = np.maximum(np.abs(values), _FLAT if convex else _BENT)
            moved = 0.0
            for _ in range(_CHORDS):
                step = np.zeros(self.position.size)
                step[free] = -(vectors / curvature) @ (vectors.T @ gradient[free])
                decrement = float(np.sqrt(max(0.0, -float(gradient @ step))))
                step *= min(1.0, _LONGEST_STEP / max(_FLAT, float(np.linalg.norm(step))))
                if not convex:
                    step[free] += _off_the_ridge(vectors[:, 0], gradient[free])
                elif decrement < _CLOSE:
                    break
                before = self.position
                point, gradient = self._no_worse(point, gradient, step)
                moved += float(np.linalg.norm(self.position - before))
                if decrement > 1.0 or not convex:
                    break
            if convex and decrement < _CLOSE and moved < _STALE:
                return hessian, True
            thetas = self.position[: self.k][free[: self.k]]
            if moved == 0 or not _inside(thetas, self.upper()[free[: self.k]]).all():
                break
        return hessian, False

    def _no_worse(
        self, point: Point, gradient: FloatArray, step: FloatArray
    ) -> tuple[Point, FloatArray]:
        slack = 1e-9 * (1 + abs(point.value)) * 1e-3
        for halving in range(_HALVINGS):
            candidate = self.position + 0.5**halving * step
            candidate[: self.k] = np.clip(candidate[: self.k], 0.0, self.upper())
            reached, by_position = self.at(candidate)
            if reached.value <= point.value + slack:
                self.position = candidate
                return reached, by_position
        return point, gradient


def _root_of_units(information: FloatArray) -> FloatArray:
    """Upper root of the information, which only sets the search's units.

    Where rows without weight leave it singular (separation on the way), a part in a million of
    its own size keeps every direction's unit finite.
    """
    try:
        return np.asarray(cholesky(information, lower=False))
    except LinAlgError:
        ridge = 1e-6 * float(np.trace(information)) / information.shape[0]
        return np.asarray(cholesky(information + ridge * np.eye(information.shape[0]), lower=False))


def search(problem: Problem, theta: FloatArray, fixed: FloatArray) -> Optimum:
    """Maximise the penalised Laplace likelihood from (k,) ``theta`` and (p,) ``fixed``."""
    hunt = Search(problem, theta, fixed)
    hunt.approach()
    return _finished(hunt)


def search_below(
    problem: Problem, theta: FloatArray, fixed: FloatArray, *, below: float
) -> Optimum | None:
    """Do as ``search``, but give up where the first approach stays at or above ``below``."""
    hunt = Search(problem, theta, fixed)
    return _finished(hunt) if hunt.approach() < below else None


def _finished(hunt: Search) -> Optimum:
    problem, k, let_go = hunt.problem, hunt.k, np.zeros(hunt.k, dtype=bool)
    while True:
        free = np.ones(hunt.position.size, dtype=bool)
        while True:
            free[:k] &= _between(hunt)
            hessian, settled = hunt.finish(free)
            if (free[:k] <= _between(hunt)).all():
                break
        point, _ = hunt.at(hunt.position)
        held = ~free[:k] & (hunt.position[:k] == 0) & ~let_go
        held &= point.variance_slope < -1e-6 * np.array(problem.crossing.sizes)
        if not held.any():
            break
        # The likelihood rises from 0: a stationary point of theta, not a maximum.
        hunt.let_go(held)
        let_go |= held
        hunt.approach()
    parameters = hunt.origin + hunt.units @ hunt.position
    theta = np.where(free[:k] | (hunt.position[:k] == 0), parameters[:k], LARGEST_SD)
    unit = hunt.units[np.ix_(free, free)]
    back = np.linalg.inv(unit)
    return Optimum(
        theta,
        parameters[k:],
        free[:k],
        back.T @ hessian @ back,
        point,
        settled and point.mode.settled,
        hunt.iterations,
    )


def _off_the_ridge(bent: FloatArray, gradient: FloatArray) -> FloatArray:
    """Return a step of one standard error along the direction that bends down, downhill."""
    slope = float(bent @ gradient)
    # On the very ridge towards smaller standard deviations, which come first.
    return -bent if slope > 0 or (slope == 0 and bent[0] > 0) else bent


def _inside(thetas: FloatArray, upper: FloatArray) -> BoolArray:
    return np.asarray((thetas > 0) & (thetas < (1 - _FLAT) * upper))


def _between(hunt: Search) -> BoolArray:
    """Return which thetas lie between their boundaries, after moving near ones onto 0."""
    thetas = hunt.position[: hunt.k]
    near = (thetas * np.diag(hunt.units)[: hunt.k] < _SD_AT_BOUNDARY) & ~hunt.problem.avoiding
    thetas[near] = 0.0
    return _inside(thetas, hunt.upper())


def covariance(optimum: Optimum) -> FloatArray | None:
    """Return the inverse Hessian, free thetas first; None where it is not positive definite."""
    try:
        root = cholesky(optimum.hessian, lower=False)
    except LinAlgError:
        return None
    inverse = solve_triangular(root, np.eye(len(root)))
    return np.asarray(inverse @ inverse.T)
