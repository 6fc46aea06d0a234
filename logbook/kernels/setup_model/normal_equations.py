"""One step towards the coefficients: the penalised, reweighted normal equations, solved."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model.blocks import Covariance, Precision, without
from logbook.kernels.setup_model.crosstabs import Crosstabs
from logbook.kernels.setup_model.objective import Objective
from logbook.kernels.setup_model.responses import clustering, rate_at, residual_at, slope_at
from logbook.kernels.setup_model.setups import Setups
from logbook.kernels.setup_model.terms import Layout, Rows
from logbook.kernels.setup_model.variances import Spreads, spreads_of


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """What stays the same through a fit."""

    setups: Setups
    layout: Layout
    rows: Rows
    crosstabs: Crosstabs
    spreads: Spreads
    objective: Objective

    @classmethod
    def of(cls, setups: Setups, layout: Layout, rows: Rows, objective: Objective) -> Problem:
        """Put a record and its layout together."""
        crosstabs = Crosstabs.of(layout, rows)
        return cls(setups, layout, rows, crosstabs, spreads_of(layout), objective)

    @property
    def integrated(self) -> BoolArray:
        """(P,) coefficients of terms with estimated standard deviations, the random effects."""
        return np.asarray(self.spreads.estimated[self.layout.group_of])

    def eta(self, coefficients: FloatArray) -> FloatArray:
        """Sum of effects of each row, (m,)."""
        return self.crosstabs.predict(coefficients) + self.setups.offset


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """One solution of the normal equations, at the coefficients that went into it.

    Attributes
    ----------
    move
        (P,) towards the solution.
    decrement
        Squared length of the move in standard errors.
    covariance, log_determinant
        (P, P) of the coefficients together, and the log determinant of its inverse, of those not
        held.
    precision
        The inverse, where the objective has use for it.
    weighed, eta
        (m,) working weights and sums of effects.
    """

    move: FloatArray
    decrement: float
    covariance: Covariance
    precision: Precision | None
    log_determinant: float
    weighed: FloatArray
    eta: FloatArray


def solve(
    problem: Problem,
    coefficients: FloatArray,
    sds: FloatArray,
    overdispersion: float,
    held: BoolArray | None = None,
) -> Step:
    """Solve the normal equations at the coefficients.

    Parameters
    ----------
    held
        (P,) coefficients that stay where they are: they have no covariance.
    """
    setups, layout, crosstabs = problem.setups, problem.layout, problem.crosstabs
    eta = problem.eta(coefficients)
    rate = rate_at(eta, setups.measure)
    slope = slope_at(rate, setups.measure)
    extra = clustering(setups.trials, setups.squares, setups.measure)
    dispersion = 1.0 + overdispersion * slope * extra / setups.trials
    weighed = setups.trials * slope / dispersion
    prior = 1.0 / sds[layout.group_of] ** 2
    precision = crosstabs.gram(weighed, prior)
    residual = residual_at(eta, setups.count, setups.trials, setups.measure)
    score = crosstabs.gather(residual / dispersion) - prior * coefficients
    wanted = precision if problem.objective.laplace else None
    if held is None:
        covariance, log_determinant = precision.inverse(spent=wanted is None)
    else:
        score = np.where(held, 0.0, score)
        covariance, log_determinant = precision.holding(held).inverse(spent=True)
        covariance = without(covariance, held)
    move = covariance.times(score)
    decrement = float(move @ score)
    return Step(move, decrement, covariance, wanted, log_determinant, weighed, eta)
