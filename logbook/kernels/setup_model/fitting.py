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
from logbook.kernels.setup_model.blocks import Covariance, Precision
from logbook.kernels.setup_model.laplace import (
    LONGEST_CHANGE,
    Maximum,
    given_the_rest,
    laplace_score,
    maximise,
    no_lower,
    pull,
)
from logbook.kernels.setup_model.normal_equations import Problem, Step, solve
from logbook.kernels.setup_model.objective import RESTRICTED, Objective
from logbook.kernels.setup_model.responses import clustering, effect_of, rate_at, slope_at
from logbook.kernels.setup_model.setups import Setups
from logbook.kernels.setup_model.terms import Layout, Rows, Term, lay_out
from logbook.kernels.setup_model.variances import (
    hastened,
    information,
    overdispersion_from,
    spread_score,
    spread_step,
)

FIRST_SD = 0.3
SPREADS_FROM = 2
"""Steps before the standard deviations begin to move."""
MOST_ROWS_AT_FIRST, ROWS_AT_FIRST = 100_000, 50_000
"""A longer record is fitted to some of its rows first: from there few steps over all are left."""
EXACT_LEVERAGE_ROWS = 6_000
DAMPING = 0.7
MOST_LEVEL_STEPS, LEVEL_STILL = 100, 1e-12
SMALL_SD = 0.05
"""Spreads well below this matter to no answer, and need not stand as still."""


@dataclass(frozen=True, slots=True, eq=False)
class SetupFit:
    """A fitted model.

    Attributes
    ----------
    setups, layout, rows
        What was fitted, where each coefficient is, and which ones each row takes.
    coefficients
        (P,) effects, on the scale of log odds or log rate.
    covariance, precision
        (P, P) of the coefficients together, and its inverse.
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
    precision: Precision
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


@dataclass(frozen=True, slots=True, eq=False)
class Start:
    """Where the steps begin.

    Attributes
    ----------
    coefficients, sds
        (P,) and (J,).
    overdispersion
        Variance of runs beyond counting.
    """

    coefficients: FloatArray
    sds: FloatArray
    overdispersion: float


@dataclass(frozen=True, slots=True, eq=False)
class _Settled(Start):
    """Where they ended."""

    step: Step
    known: FloatArray
    iterations: int
    settled: bool


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
            found = _settle(Problem.of(part, layout, rows.some(few), objective), found)
    problem = Problem.of(setups, layout, rows, objective)
    settled = _settle(problem, found)
    maximum = None
    if objective.laplace:
        maximum = maximise(problem, settled.coefficients, settled.sds)
        settled = _at_maximum(problem, settled, maximum)
    step, sds = settled.step, settled.sds
    return SetupFit(
        setups=setups,
        layout=layout,
        rows=rows,
        coefficients=settled.coefficients,
        covariance=step.covariance,
        precision=step.precision,
        sds=sds,
        estimated=problem.spreads.estimated,
        spread_information=settled.known,
        overdispersion=settled.overdispersion,
        level_shift=(
            _level_shift(setups, problem.eta(settled.coefficients)) if objective.calibrated else 0.0
        ),
        effective_parameters=_effective(step, sds, layout),
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


def _settle(problem: Problem, start: Start) -> _Settled:
    """Step from a start until nothing moves any more."""
    layout, rows, spreads = problem.layout, problem.rows, problem.spreads
    objective = problem.objective
    coefficients, sds, overdispersion = start.coefficients, start.sds, start.overdispersion
    # From a near start even the first steps are short: only shorter ones say that it has settled.
    still = objective.still / 3 if isinstance(start, _Settled) else objective.still
    settled, iterations, last_grow = False, 0, np.zeros(sds.size)
    while True:
        iterations += 1
        step = solve(problem, coefficients, sds, overdispersion)
        own, by, move = step.covariance, None, step.move
        if objective.laplace:
            own = given_the_rest(step.precision, problem.integrated)
            by = pull(problem, step, step.covariance if objective.jeffreys else own)
            move = move + step.covariance.times(by.by_coefficient)
        furthest = float(np.abs(layout.predict(rows, move)).max())
        if by is not None:
            move = no_lower(problem, coefficients, sds, move, by.by_coefficient)
        else:
            move = move * min(1.0, LONGEST_CHANGE / max(furthest, LONGEST_CHANGE))
        coefficients = coefficients + move
        known = information(spreads, own, sds, objective.spread_prior)
        if settled or iterations >= objective.most_iterations:
            break
        if iterations <= SPREADS_FROM and not isinstance(start, _Settled):
            continue
        score = (
            spread_score(spreads, coefficients, own, sds, objective.spread_prior)
            if by is None
            else laplace_score(problem, coefficients, sds, own, by)
        )
        plain = spread_step(spreads, score, known)
        grow = hastened(plain, last_grow, leap=iterations % 3 == 0)
        last_grow = plain
        grown = np.where(
            spreads.estimated,
            np.clip(sds * np.exp(grow), objective.smallest_sd, objective.largest_sd),
            sds,
        )
        found = 0.0
        if objective.overdispersed:
            found = _overdispersion(problem, coefficients, step, sds, overdispersion)
        moved = max(
            float((np.abs(grown - sds) / (sds + SMALL_SD)).max()),
            abs(found - overdispersion) / (0.1 + overdispersion),
            furthest,
        )
        overdispersion += DAMPING * (found - overdispersion)
        sds, settled = grown, moved < still
    return _Settled(coefficients, sds, overdispersion, step, known, iterations, settled)


def _at_maximum(problem: Problem, near: _Settled, maximum: Maximum) -> _Settled:
    """The fit at the top of the marginal likelihood."""
    point = maximum.point
    step = solve(problem, point.coefficients, point.sds, 0.0)
    known = information(
        problem.spreads, point.covariance, point.sds, problem.objective.spread_prior
    )
    return _Settled(
        point.coefficients, point.sds, 0.0, step, known, near.iterations, maximum.settled
    )


def working_weights(fitted: SetupFit, rate: FloatArray) -> FloatArray:
    """Weight of each row in the normal equations, (m,), at the rates given."""
    setups = fitted.setups
    slope = slope_at(rate, setups.measure)
    extra = clustering(setups.trials, setups.squares, setups.measure)
    return setups.trials * slope / (1.0 + fitted.overdispersion * slope * extra / setups.trials)


def _overdispersion(
    problem: Problem, coefficients: FloatArray, step: Step, sds: FloatArray, overdispersion: float
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
        leverage = np.full(rate.size, _effective(step, sds, layout) / rate.size)
    squared = (setups.count - setups.trials * rate) ** 2 / (1.0 - np.minimum(leverage, 0.9))
    return overdispersion_from(
        residual=squared, variance=unit + overdispersion * extra, unit=unit, extra=extra
    )


def _effective(step: Step, sds: FloatArray, layout: Layout) -> float:
    """Trace of the covariance with the data's own information."""
    return float(layout.size - np.sum(step.covariance.diagonal() / sds[layout.group_of] ** 2))


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
