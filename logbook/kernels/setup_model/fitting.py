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
from scipy.linalg import LinAlgError, cho_solve, cholesky
from scipy.linalg.lapack import dpotri

from logbook.errors import KernelError
from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model.responses import clustering, effect_of, rate_at, slope_at
from logbook.kernels.setup_model.setups import Setups
from logbook.kernels.setup_model.terms import Layout, Pairs, Rows, Term, lay_out
from logbook.kernels.setup_model.variances import (
    LARGEST_SD,
    SMALLEST_SD,
    hastened,
    information,
    kappa_from,
    spread_step,
    spreads_of,
)

MOST_ITERATIONS = 30
SPREADS_FROM = 2
"""Steps before the standard deviations begin to move."""
MOST_ROWS_AT_FIRST, ROWS_AT_FIRST = 100_000, 50_000
"""A longer record is fitted to some of its rows first: from there few steps over all are left."""
EXACT_LEVERAGE_ROWS = 6_000
DAMPING = 0.7
LONGEST_CHANGE = 4.0
"""Furthest that the sum of effects of any row moves in one step."""
STILL = 0.03
"""A fit has settled when no spread, relative to itself, nor any row's sum of effects moves more."""
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
    kappa
        Variance of runs beyond counting, relative to odds (or rate) squared.
    level_shift
        Added to every sum of effects so that fitted counts add up to those observed.
    effective_parameters
        How many coefficients' worth the data settled.
    iterations, converged, warnings
        How the fit went.
    """

    setups: Setups
    layout: Layout
    rows: Rows
    coefficients: FloatArray
    covariance: FloatArray
    precision: FloatArray
    sds: FloatArray
    estimated: BoolArray
    spread_information: FloatArray
    kappa: float
    level_shift: float
    effective_parameters: float
    iterations: int
    converged: bool
    warnings: tuple[str, ...]

    def sd(self, name: str) -> float:
        """Standard deviation of a term's effects; NaN where there is no such term."""
        groups = self.layout.groups
        return float(self.sds[groups.index(name)]) if name in groups else np.nan

    def fitted(self) -> FloatArray:
        """Rate of each row, (m,), its own lot included."""
        eta = self.layout.predict(self.rows, self.coefficients) + self.level_shift
        return rate_at(eta, self.setups.measure)


@dataclass(frozen=True, slots=True, eq=False)
class _Step:
    """One solution of the normal equations, at the coefficients that went into it."""

    move: FloatArray
    covariance: FloatArray
    precision: FloatArray
    weighed: FloatArray
    eta: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class _Start:
    """Where the steps begin."""

    coefficients: FloatArray
    sds: FloatArray
    kappa: float


@dataclass(frozen=True, slots=True, eq=False)
class _Settled(_Start):
    """Where they ended."""

    step: _Step
    known: FloatArray
    iterations: int
    settled: bool


def fit(*, setups: Setups, terms: Sequence[Term]) -> SetupFit:
    """Fit the model.

    Parameters
    ----------
    setups
        Rows; at least one count above zero.
    terms
        The intercept among them, first.

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
    if setups.all_alike:
        raise KernelError(
            "Every row counted none, or all: there is nothing to compare.",
            "Look at plain intervals instead.",
        )
    layout = lay_out(terms, setups.factors, setups.slopes)
    rows = layout.rows(setups.factors, setups.slopes)
    start = _begin(setups, layout)
    if setups.trials.size > MOST_ROWS_AT_FIRST:
        # Drawn, not every so many: machines and days that take turns would be left out whole.
        drawn = np.random.default_rng(0).choice(setups.trials.size, ROWS_AT_FIRST, replace=False)
        few = np.sort(drawn)
        part = setups.some(few)
        if not part.all_alike:
            start = _settle(part, layout, rows.some(few), start)
    found = _settle(setups, layout, rows, start)
    sds = found.sds
    return SetupFit(
        setups=setups,
        layout=layout,
        rows=rows,
        coefficients=found.coefficients,
        covariance=found.step.covariance,
        precision=found.step.precision,
        sds=sds,
        estimated=spreads_of(layout).estimated,
        spread_information=found.known,
        kappa=found.kappa,
        level_shift=_level_shift(setups, layout.predict(rows, found.coefficients)),
        effective_parameters=_effective(found.step, sds, layout),
        iterations=found.iterations,
        converged=found.settled,
        warnings=(
            () if found.settled else (f"The fit had not settled after {found.iterations} steps.",)
        ),
    )


def _begin(setups: Setups, layout: Layout) -> _Start:
    given = {term.name: term.sd for term in layout.terms}
    sds = np.array([0.3 if given[name] is None else given[name] for name in layout.groups], float)
    coefficients = np.zeros(layout.size)
    coefficients[0] = effect_of(setups.crude_rate, setups.measure)
    return _Start(coefficients, sds, 0.3)


def _settle(setups: Setups, layout: Layout, rows: Rows, start: _Start) -> _Settled:
    """Step from a start until nothing moves any more."""
    pairs, spreads = layout.pairs(rows), spreads_of(layout)
    coefficients, sds, kappa = start.coefficients, start.sds, start.kappa
    known = np.zeros((0, 0))
    # From a near start even the first steps are short: only shorter ones say that it has settled.
    still = STILL / 3 if isinstance(start, _Settled) else STILL
    settled, iterations, last_grow = False, 0, np.zeros(sds.size)
    while True:
        iterations += 1
        step = _solve(setups, layout, rows, pairs, coefficients, sds, kappa)
        change = layout.predict(rows, step.move)
        furthest = float(np.abs(change).max())
        move = step.move * min(1.0, LONGEST_CHANGE / max(furthest, LONGEST_CHANGE))
        coefficients = coefficients + move
        known = information(spreads, step.covariance, sds)
        if settled or iterations >= MOST_ITERATIONS:
            break
        if iterations <= SPREADS_FROM and not isinstance(start, _Settled):
            continue
        grow = spread_step(spreads, coefficients, step.covariance, sds, known)
        plain = grow
        grow = hastened(grow, last_grow, leap=iterations % 3 == 0)
        last_grow = plain
        grown = np.where(
            spreads.estimated, np.clip(sds * np.exp(grow), SMALLEST_SD, LARGEST_SD), sds
        )
        restless = _kappa(setups, layout, rows, coefficients, step, sds, kappa)
        moved = max(
            float((np.abs(grown - sds) / (sds + SMALL_SD)).max()),
            abs(restless - kappa) / (0.1 + kappa),
            furthest,
        )
        sds, kappa, settled = grown, kappa + DAMPING * (restless - kappa), moved < still
    return _Settled(coefficients, sds, kappa, step, known, iterations, settled)


def working_weights(fitted: SetupFit, rate: FloatArray) -> FloatArray:
    """Weight of each row in the normal equations, (m,), at the rates given."""
    setups = fitted.setups
    slope = slope_at(rate, setups.measure)
    extra = clustering(setups.trials, setups.squares, setups.measure)
    return setups.trials * slope / (1.0 + fitted.kappa * slope * extra / setups.trials)


def _solve(
    setups: Setups,
    layout: Layout,
    rows: Rows,
    pairs: Pairs | None,
    coefficients: FloatArray,
    sds: FloatArray,
    kappa: float,
) -> _Step:
    eta = layout.predict(rows, coefficients)
    rate = rate_at(eta, setups.measure)
    slope = slope_at(rate, setups.measure)
    extra = clustering(setups.trials, setups.squares, setups.measure)
    dispersion = 1.0 + kappa * slope * extra / setups.trials
    weighed = setups.trials * slope / dispersion
    prior = 1.0 / sds[layout.group_of] ** 2
    precision = layout.gram(rows, weighed, pairs)
    precision[np.diag_indices_from(precision)] += prior
    score = layout.gather(rows, (setups.count - setups.trials * rate) / dispersion)
    factor = cholesky(precision, lower=True)
    move = cho_solve((factor, True), score - prior * coefficients)
    lower, failed = dpotri(factor, lower=1)
    if failed:
        raise LinAlgError("The normal equations could not be inverted.")
    covariance = lower + lower.T
    covariance[np.diag_indices_from(covariance)] /= 2.0
    return _Step(move, covariance, precision, weighed, eta)


def _kappa(
    setups: Setups,
    layout: Layout,
    rows: Rows,
    coefficients: FloatArray,
    step: _Step,
    sds: FloatArray,
    kappa: float,
) -> float:
    rate = rate_at(layout.predict(rows, coefficients), setups.measure)
    slope = slope_at(rate, setups.measure)
    unit = setups.trials * slope
    extra = slope**2 * clustering(setups.trials, setups.squares, setups.measure)
    if rate.size <= EXACT_LEVERAGE_ROWS:
        leverage = step.weighed * layout.leverage(rows, step.covariance)
    else:
        # Exact leverages take a pass over pairs of terms; with many rows each is small.
        leverage = np.full(rate.size, _effective(step, sds, layout) / rate.size)
    squared = (setups.count - setups.trials * rate) ** 2 / (1.0 - np.minimum(leverage, 0.9))
    return kappa_from(residual=squared, variance=unit + kappa * extra, unit=unit, extra=extra)


def _effective(step: _Step, sds: FloatArray, layout: Layout) -> float:
    """Trace of the covariance with the data's own information."""
    return float(layout.size - np.sum(np.diag(step.covariance) / sds[layout.group_of] ** 2))


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
