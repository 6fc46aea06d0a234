"""One level of a factor against another, on the same pieces: the comparison of suppliers.

The population is every piece in the strata (for suppliers: fabric and backing) where both have at
least a few runs. All its pieces are imagined sewn with the one, then with the other; their own
lots are replaced by average new ones, since a buyer buys the next delivery, not the last.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from logbook.kernels.arguments import BoolArray, FloatArray, fraction
from logbook.kernels.setup_model.contrasts import (
    Standardised,
    quantile,
    standardised,
    thinned,
    variance_and_degrees,
)
from logbook.kernels.setup_model.fitting import SetupFit
from logbook.kernels.setup_model.responses import effect_of, rate_at, slope_at
from logbook.kernels.setup_model.setups import IntArray, Setups

Verdict: TypeAlias = Literal["better", "worse", "no_worse", "not_enough_data"]

FEWEST_RUNS = 3
"""Runs that a level needs in a stratum for the stratum to count as shared."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure with its interval."""

    estimate: float
    lower: float
    upper: float


@dataclass(frozen=True, slots=True, eq=False)
class LevelComparison:
    """A level set against a reference.

    Attributes
    ----------
    rate, reference_rate
        What the population's rate would be with each; intervals one at a time.
    difference
        Level minus reference; its interval holds together with those of the other comparisons.
    ratio, log_ratio_error
        Level over reference, and the standard error of its logarithm.
    variance, degrees
        Of the difference.
    quantile
        What the interval's half-width is, in standard errors.
    gradient
        (P,) of the difference by the coefficients.
    shared
        (m,) rows in the population.
    """

    rate: Estimate
    reference_rate: Estimate
    difference: Estimate
    ratio: float
    log_ratio_error: float
    variance: float
    degrees: float
    quantile: float
    gradient: FloatArray
    shared: BoolArray


def shared_rows(
    *, strata: IntArray, codes: IntArray, runs: FloatArray, level: int, reference: int
) -> BoolArray:
    """Rows in strata where both levels have at least ``FEWEST_RUNS`` runs, (m,).

    ``strata`` are codes 0, 1, …; a row below zero is in none.
    """
    inside = strata >= 0
    count = int(strata.max(initial=-1)) + 1
    enough = np.ones(count, dtype=bool)
    for each in (level, reference):
        own = inside & (codes == each)
        enough &= np.bincount(strata[own], weights=runs[own], minlength=count) >= FEWEST_RUNS
    return np.asarray(inside & np.append(enough, False)[strata])


def compare(
    *,
    fit: SetupFit,
    factor: str,
    level: int,
    reference: int,
    shared: BoolArray,
    renewed: str | None = None,
    comparisons: int = 1,
    confidence: float = 0.95,
    besides: tuple[Mapping[str, int], Mapping[str, int]] = ({}, {}),
    widened: float = 1.0,
) -> LevelComparison:
    """Set one level of a factor against another.

    Parameters
    ----------
    fit
        The fitted model.
    factor, level, reference
        Whose levels, and their codes.
    shared
        (m,) rows of the population, not empty.
    renewed
        A factor whose levels do not last (lots).
    comparisons
        How many differences are looked at together.
    confidence
        Two-sided level.
    besides
        Other factors' codes that go with the level, and with the reference.
    widened
        What all standard errors are multiplied by.
    """
    fraction(confidence, "confidence")
    population = thinned(shared)
    sides = [
        standardised(fit=fit, population=population, to={factor: code, **more}, renewed=renewed)
        for code, more in zip((level, reference), besides, strict=True)
    ]
    gradient = sides[0].gradient - sides[1].gradient
    # One solution for both sides: what is read of the factor counts, not what is multiplied.
    carried = fit.covariance.times(np.array([side.gradient for side in sides]).T).T
    variance, degrees = variance_and_degrees(
        fit=fit, gradient=gradient, carried=carried[0] - carried[1]
    )
    variance *= widened**2
    width = quantile(level=confidence, degrees=degrees, comparisons=comparisons)
    difference, reach = sides[0].rate - sides[1].rate, width * float(np.sqrt(variance))
    rates = [
        estimated_rate(fit, side.rate, side.gradient, confidence, each, widened)
        for side, each in zip(sides, carried, strict=True)
    ]
    return LevelComparison(
        rate=rates[0],
        reference_rate=rates[1],
        difference=Estimate(difference, difference - reach, difference + reach),
        ratio=sides[0].rate / sides[1].rate,
        log_ratio_error=widened * _log_ratio_error(fit, sides),
        variance=variance,
        degrees=degrees,
        quantile=width,
        gradient=gradient,
        shared=shared,
    )


def estimated_rate(
    fit: SetupFit,
    rate: float,
    gradient: FloatArray,
    confidence: float,
    carried: FloatArray | None = None,
    widened: float = 1.0,
) -> Estimate:
    """A rate with an interval made on the scale of the effects, so that it stays a rate."""
    measure = fit.setups.measure
    variance, degrees = variance_and_degrees(fit=fit, gradient=gradient, carried=carried)
    width = quantile(level=confidence, degrees=degrees)
    middle = effect_of(rate, measure)
    error = widened * float(np.sqrt(variance)) / float(slope_at(np.asarray(rate), measure))
    reach = width * error
    lower, upper = rate_at(np.array([middle - reach, middle + reach]), measure)
    return Estimate(rate, float(lower), float(upper))


def verdict(difference: Estimate, *, margin: float | None) -> Verdict:
    """Say what a difference allows to be said.

    ``better`` and ``worse`` where the interval lies on one side of zero; ``no_worse`` where it
    lies below the margin: then price decides, even if it is slightly worse for certain.
    """
    if difference.upper < 0:
        return "better"
    if margin is not None and difference.upper < margin:
        return "no_worse"
    if difference.lower > 0:
        return "worse"
    return "not_enough_data"


def _log_ratio_error(fit: SetupFit, sides: Sequence[Standardised]) -> float:
    gradient = sides[0].gradient / sides[0].rate - sides[1].gradient / sides[1].rate
    return float(np.sqrt(max(float(gradient @ fit.covariance.times(gradient)), 0.0)))


def rows_of_both(
    setups: Setups, *, factor: str, levels: tuple[int, int], shared: BoolArray
) -> BoolArray:
    """Rows of the population that were sewn with either level, (m,)."""
    return shared & np.isin(setups.factors[factor], levels)
