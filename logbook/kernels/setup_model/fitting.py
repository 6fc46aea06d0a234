"""The fit: one quasi-likelihood mixed model of a kind's rate on everything a run was sewn with.

``link(rate) = sum of effects``; each effect has a normal prior, whose standard deviation is given
(plain factors) or estimated (lots, designs, combinations). Variances allow for runs that differ
beyond counting. Penalised iteratively reweighted least squares (Breslow & Clayton 1993, JASA
88:9-25), the standard deviations by restricted likelihood along the way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from logbook.errors import KernelError
from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model.blocks import Covariance
from logbook.kernels.setup_model.laplace import Maximum, maximise
from logbook.kernels.setup_model.moments import moments
from logbook.kernels.setup_model.normal_equations import Problem, solve
from logbook.kernels.setup_model.objective import RESTRICTED, Objective
from logbook.kernels.setup_model.responses import clustering, effect_of, rate_at, slope_at
from logbook.kernels.setup_model.settling import (
    Settled,
    Start,
    effective_parameters,
    settle,
)
from logbook.kernels.setup_model.setups import Setups
from logbook.kernels.setup_model.terms import Layout, Rows, Term, lay_out
from logbook.kernels.setup_model.variances import information

FIRST_SD = 0.3
MOST_ROWS_AT_FIRST, ROWS_AT_FIRST = 100_000, 50_000
"""A longer record is fitted to some of its rows first: from there few steps over all are left."""
MOST_LEVEL_STEPS, LEVEL_STILL = 100, 1e-12


@dataclass(frozen=True, slots=True, eq=False)
class SetupFit:
    """A fitted model.

    Attributes
    ----------
    setups, layout, rows
        What was fitted, where each coefficient is, and which ones each row takes.
    coefficients
        (P,) effects, on the scale of log odds or log rate.
    covariance
        (P, P) of the coefficients together.
    sds
        (J,) standard deviation of each of ``layout.groups``, given or estimated.
    estimated
        (J,) which were estimated.
    spread_information
        (J', J') information on the logarithms of the estimated variances.
    overdispersion
        Variance of runs beyond counting, relative to odds (or rate) squared.
    level_shift
        Added to every sum of effects so that fitted counts add up to those observed.
    effective_parameters
        How many coefficients' worth the data settled.
    iterations, converged, warnings
        How the fit went.
    maximum
        The marginal likelihood at its top, where that was the objective.
    """

    setups: Setups
    layout: Layout
    rows: Rows
    coefficients: FloatArray
    covariance: Covariance
    sds: FloatArray
    estimated: BoolArray
    spread_information: FloatArray
    overdispersion: float
    level_shift: float
    effective_parameters: float
    iterations: int
    converged: bool
    warnings: tuple[str, ...]
    maximum: Maximum | None = None

    def sd(self, name: str) -> float:
        """Standard deviation of a term's effects; NaN where there is no such term."""
        groups = self.layout.groups
        return float(self.sds[groups.index(name)]) if name in groups else np.nan

    def fitted(self) -> FloatArray:
        """Rate of each row, (m,), its own lot included."""
        eta = self.layout.predict(self.rows, self.coefficients) + self.setups.offset
        eta = eta + self.level_shift
        return rate_at(eta, self.setups.measure)


def fit(
    *,
    setups: Setups,
    terms: Sequence[Term],
    objective: Objective = RESTRICTED,
    start: Start | None = None,
) -> SetupFit:
    """Fit the model.

    Parameters
    ----------
    setups
        Rows; at least one count above zero.
    terms
        The intercept among them, first, unless ``start`` is given.
    objective
        What is maximised; as given, what verdicts rest on.
    start
        Where to begin, if not at the crude rate.

    Returns
    -------
    SetupFit
        With ``converged`` false and a warning where it did not settle.

    Raises
    ------
    KernelError
        Nothing was counted in any row, so that no rate can be told apart from none; or a term
        names what is not there.

    Notes
    -----
    Separation (a level without a defect) needs no care: its prior keeps it finite.
    """
    if start is None and setups.all_alike:
        raise KernelError(
            "Every row counted none, or all: there is nothing to compare.",
            "Look at plain intervals instead.",
        )
    layout = lay_out(terms, setups.factors, setups.slopes)
    rows = layout.rows(setups.factors, setups.slopes)
    found = _crude(setups, layout) if start is None else start
    if setups.trials.size > MOST_ROWS_AT_FIRST:
        # Drawn, not every so many: machines and days that take turns would be left out whole.
        drawn = np.random.default_rng(0).choice(setups.trials.size, ROWS_AT_FIRST, replace=False)
        few = np.sort(drawn)
        part = setups.some(few)
        if not part.all_alike:
            found = settle(Problem.of(part, layout, rows.some(few), objective), found)
    problem = Problem.of(setups, layout, rows, objective)
    settled = settle(problem, found)
    maximum = None
    if objective.laplace:
        maximum = maximise(problem, settled.coefficients, settled.sds)
        settled = _at_maximum(problem, settled, maximum)
    step, known = settled.step, settled.known
    assert step is not None
    assert known is not None
    return SetupFit(
        setups=setups,
        layout=layout,
        rows=rows,
        coefficients=settled.coefficients,
        covariance=step.covariance,
        sds=settled.sds,
        estimated=problem.spreads.estimated,
        spread_information=known,
        overdispersion=settled.overdispersion,
        level_shift=(
            _level_shift(setups, problem.eta(settled.coefficients)) if objective.calibrated else 0.0
        ),
        effective_parameters=settled.effective,
        iterations=settled.iterations,
        converged=settled.settled,
        warnings=(
            ()
            if settled.settled
            else (f"The fit had not settled after {settled.iterations} steps.",)
        ),
        maximum=maximum,
    )


def _crude(setups: Setups, layout: Layout) -> Start:
    """Begin at the crude rate with modest spreads."""
    given = {term.name: term.sd for term in layout.terms}
    sds = np.array([FIRST_SD if given[name] is None else given[name] for name in layout.groups])
    coefficients = np.zeros(layout.size)
    coefficients[0] = effect_of(setups.crude_rate, setups.measure)
    return Start(coefficients, sds.astype(float), FIRST_SD)


def _at_maximum(problem: Problem, near: Settled, maximum: Maximum) -> Settled:
    """The fit at the top of the marginal likelihood."""
    point, members = maximum.point, problem.spreads.members
    step = solve(problem, point.coefficients, point.sds, 0.0)
    sums = moments(point.covariance, members, signs=None)
    whole = moments(step.covariance, members, signs=None)
    return Settled(
        point.coefficients,
        point.sds,
        0.0,
        True,
        step,
        information(problem.spreads, sums, point.sds, problem.objective.spread_prior),
        effective_parameters(whole, point.sds, problem),
        near.iterations,
        maximum.settled,
    )


def working_weights(fitted: SetupFit, rate: FloatArray) -> FloatArray:
    """Weight of each row in the normal equations, (m,), at the rates given."""
    setups = fitted.setups
    slope = slope_at(rate, setups.measure)
    extra = clustering(setups.trials, setups.squares, setups.measure)
    return setups.trials * slope / (1.0 + fitted.overdispersion * slope * extra / setups.trials)


def _level_shift(setups: Setups, eta: FloatArray) -> float:
    """Shift that makes fitted counts add up to those observed.

    The equations weigh rows by their restlessness, so that large runs count for less than their
    pieces and the level drifts.
    """
    total = float(setups.count.sum())
    if setups.measure == "events":
        return float(np.log(total / (setups.trials @ np.exp(eta))))
    # Newton's method on the log odds of the level; scipy.optimize would double the start-up time.
    shift, pieces = 0.0, float(setups.trials.sum())
    for _ in range(MOST_LEVEL_STEPS):
        rate = rate_at(eta + shift, setups.measure)
        fitted = float(setups.trials @ rate)
        slope = float(setups.trials @ slope_at(rate, setups.measure))
        # The step that a single common rate would need is exact there, and never overshoots far.
        odds = np.log(total / (pieces - total)) - np.log(fitted / (pieces - fitted))
        step = float(odds * fitted * (1.0 - fitted / pieces) / slope)
        shift += step
        if abs(step) < LEVEL_STILL:
            break
    return shift
