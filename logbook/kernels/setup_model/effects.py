"""What goes with one level of a factor: that level against the others, on the same pieces.

The population is every piece in the strata where both the level and the others have a few runs.
All of it is imagined with the level; and again with the others, each row as it was, the level's
own rows with another level of their stratum, as often as the stratum has it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtr

from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model.contrasts import (
    Population,
    quantile,
    standardised,
    thinned,
    variance_and_degrees,
)
from logbook.kernels.setup_model.fitting import SetupFit
from logbook.kernels.setup_model.levels import FEWEST_RUNS, Estimate, estimated_rate
from logbook.kernels.setup_model.setups import IntArray

AT_ONCE = 32
"""Levels judged by one solution: what is read of the factor counts, not what is multiplied."""


@dataclass(frozen=True, slots=True, eq=False)
class LevelEffect:
    """A level against the other levels.

    Attributes
    ----------
    rate, others_rate
        Of the population with the level, and with the others.
    ratio
        Of the two; its interval is made on the logarithm.
    p_value
        Two-sided, that the ratio is 1.
    degrees, log_ratio_error
        Of freedom behind it, and the standard error of its logarithm.
    like_for_like_share
        Share of the level's pieces that lie in the population.
    shared
        (m,) rows in the population.
    """

    rate: Estimate
    others_rate: Estimate
    ratio: Estimate
    p_value: float
    degrees: float
    log_ratio_error: float
    like_for_like_share: float
    shared: BoolArray

    def ratio_at(self, confidence: float) -> Estimate:
        """The ratio with an interval of another two-sided level."""
        return _ratio(math.log(self.ratio.estimate), self.log_ratio_error, self.degrees, confidence)


@dataclass(frozen=True, slots=True, eq=False)
class AskedEffect:
    """A level to be set against the others.

    Attributes
    ----------
    factor, level
        Which, by its code.
    strata
        (m,) codes of what must be alike; below zero: in none.
    renewed
        A factor whose levels do not last (lots), where the factor changes what is bought.
    slope, slope_of_level
        A measured quantity that goes with the factor, and its value at each level, (L,).
    """

    factor: str
    level: int
    strata: IntArray
    renewed: str | None = None
    slope: str | None = None
    slope_of_level: FloatArray | None = None


def overlap(*, strata: IntArray, codes: IntArray, runs: FloatArray, level: int) -> BoolArray:
    """Rows in strata with at least ``FEWEST_RUNS`` runs of the level and of others, (m,)."""
    inside = (strata >= 0) & (codes >= 0)
    count = int(strata.max(initial=-1)) + 1
    enough = np.ones(count, dtype=bool)
    for own in (inside & (codes == level), inside & (codes != level)):
        enough &= np.bincount(strata[own], weights=runs[own], minlength=count) >= FEWEST_RUNS
    return np.asarray(inside & np.append(enough, False)[strata])


def others_of(*, strata: IntArray, codes: IntArray, weights: FloatArray, level: int) -> IntArray:
    """Give rows with the level another level of their stratum, spread as the stratum has them.

    Rows of one stratum are laid out along its other rows' weights at even distances, so that the
    same record always gives the same answer.
    """
    result = codes.copy()
    for stratum in np.unique(strata[codes == level]):
        own = np.flatnonzero((strata == stratum) & (codes == level))
        other = np.flatnonzero((strata == stratum) & (codes != level))
        if other.size == 0:
            # Only where a large population was thinned: too few runs to bear on the average.
            continue
        other = other[np.argsort(codes[other], kind="stable")]
        along = np.cumsum(weights[other])
        at = np.cumsum(weights[own]) - weights[own] / 2.0
        picked = np.searchsorted(along, at / weights[own].sum() * along[-1])
        result[own] = codes[other[np.minimum(picked, other.size - 1)]]
    return result


def effects(
    *, fit: SetupFit, asked: Sequence[AskedEffect], confidence: float = 0.95
) -> list[LevelEffect | None]:
    """Set levels of factors, each by itself, against their factor's others.

    Parameters
    ----------
    fit
        The fitted model.
    asked
        Which levels; those of one factor together are quickest.
    confidence
        Two-sided level.

    Returns
    -------
    list of LevelEffect or None
        None where the level and the others share no stratum.
    """
    found: list[LevelEffect | None] = []
    population: Population | None = None
    for start in range(0, len(asked), AT_ONCE):
        sides: list[_Sides | None] = []
        for each in asked[start : start + AT_ONCE]:
            sides.append(_sides(fit, each, population))
            population = population if sides[-1] is None else sides[-1].population
        found += _judged(fit, sides, confidence)
    return found


def effect(*, fit: SetupFit, asked: AskedEffect, confidence: float = 0.95) -> LevelEffect | None:
    """Set one level of a factor against the others, as :func:`effects` does several."""
    return effects(fit=fit, asked=[asked], confidence=confidence)[0]


@dataclass(frozen=True, slots=True, eq=False)
class _Sides:
    """A population with the level and with the others, and the level's share of like rows."""

    population: Population
    shared: BoolArray
    like_for_like_share: float
    rates: tuple[float, float]
    relative: tuple[FloatArray, FloatArray]


def _sides(fit: SetupFit, asked: AskedEffect, last: Population | None) -> _Sides | None:
    setups, level = fit.setups, asked.level
    codes = setups.factors[asked.factor]
    shared = overlap(strata=asked.strata, codes=codes, runs=setups.runs, level=level)
    if not shared.any():
        return None
    chosen = thinned(shared)
    if last is None or not np.array_equal(chosen, last.chosen):
        last = Population.of(fit, chosen)
    own, weights = codes[chosen], setups.trials[chosen]
    others = others_of(strata=asked.strata[chosen], codes=own, weights=weights, level=level)
    sides = []
    for each in (np.full_like(others, level), others):
        moved = {}
        if asked.slope is not None and asked.slope_of_level is not None:
            moved = {asked.slope: asked.slope_of_level[each]}
        to = {asked.factor: each}
        sides.append(
            standardised(fit=fit, population=last, to=to, slopes=moved, renewed=asked.renewed)
        )
    of_level = codes == level
    return _Sides(
        population=last,
        shared=shared,
        like_for_like_share=float(
            setups.trials[shared & of_level].sum() / setups.trials[of_level].sum()
        ),
        rates=(sides[0].rate, sides[1].rate),
        relative=(sides[0].gradient / sides[0].rate, sides[1].gradient / sides[1].rate),
    )


def _judged(
    fit: SetupFit, sides: Sequence[_Sides | None], confidence: float
) -> list[LevelEffect | None]:
    """Put the doubt to them, by one solution for all."""
    gradients = [gradient for each in sides if each is not None for gradient in each.relative]
    if not gradients:
        return [None for _ in sides]
    carried = iter(fit.covariance.times(np.array(gradients).T).T)
    found: list[LevelEffect | None] = []
    for each in sides:
        if each is None:
            found.append(None)
        else:
            both = next(carried), next(carried)
            found.append(_level_effect(fit, each, both, confidence))
    return found


def _level_effect(
    fit: SetupFit, sides: _Sides, carried: tuple[FloatArray, FloatArray], confidence: float
) -> LevelEffect:
    variance, degrees = variance_and_degrees(
        fit=fit,
        gradient=sides.relative[0] - sides.relative[1],
        carried=carried[0] - carried[1],
    )
    log_ratio, error = math.log(sides.rates[0] / sides.rates[1]), math.sqrt(variance)
    rates = [
        estimated_rate(fit, rate, gradient * rate, confidence, each * rate)
        for rate, gradient, each in zip(sides.rates, sides.relative, carried, strict=True)
    ]
    return LevelEffect(
        rate=rates[0],
        others_rate=rates[1],
        ratio=_ratio(log_ratio, error, degrees, confidence),
        p_value=float(2.0 * stdtr(degrees, -abs(log_ratio) / error)),
        degrees=degrees,
        log_ratio_error=error,
        like_for_like_share=sides.like_for_like_share,
        shared=sides.shared,
    )


def _ratio(log_ratio: float, error: float, degrees: float, confidence: float) -> Estimate:
    reach = quantile(level=confidence, degrees=degrees) * error
    return Estimate(*(math.exp(log_ratio + step) for step in (0.0, -reach, reach)))
