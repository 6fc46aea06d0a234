"""What goes with one level of a factor: that level against the others, on the same pieces.

The population is every piece in the strata where both the level and the others have a few runs.
All of it is imagined with the level; and again with the others, each row as it was, the level's
own rows with another level of their stratum, as often as the stratum has it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import stdtr

from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model.contrasts import (
    quantile,
    standardised,
    thinned,
    variance_and_degrees,
)
from logbook.kernels.setup_model.fitting import SetupFit
from logbook.kernels.setup_model.levels import FEWEST_RUNS, Estimate, estimated_rate
from logbook.kernels.setup_model.setups import IntArray


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
    degrees
        Of freedom behind it.
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
    like_for_like_share: float
    shared: BoolArray


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


def effect(
    *,
    fit: SetupFit,
    factor: str,
    level: int,
    strata: IntArray,
    renewed: str | None = None,
    slope: str | None = None,
    slope_of_level: FloatArray | None = None,
    confidence: float = 0.95,
) -> LevelEffect | None:
    """Set one level of a factor against the others.

    Parameters
    ----------
    fit
        The fitted model.
    factor, level
        Which, by its code.
    strata
        (m,) codes of what must be alike; below zero: in none.
    renewed
        A factor whose levels do not last (lots), where the factor changes what is bought.
    slope, slope_of_level
        A measured quantity that goes with the factor, and its value at each level, (L,).
    confidence
        Two-sided level.

    Returns
    -------
    LevelEffect or None
        None where the level and the others share no stratum.
    """
    setups = fit.setups
    codes = setups.factors[factor]
    shared = overlap(strata=strata, codes=codes, runs=setups.runs, level=level)
    if not shared.any():
        return None
    population = thinned(shared)
    own, weights = codes[population], setups.trials[population]
    others = others_of(strata=strata[population], codes=own, weights=weights, level=level)
    sides = []
    for each in (np.full_like(others, level), others):
        moved = {} if slope is None or slope_of_level is None else {slope: slope_of_level[each]}
        sides.append(
            standardised(
                fit=fit, population=population, to={factor: each}, slopes=moved, renewed=renewed
            )
        )
    relative = np.array([side.gradient / side.rate for side in sides])
    carried = fit.covariance.times(relative.T).T
    variance, degrees = variance_and_degrees(
        fit=fit, gradient=relative[0] - relative[1], carried=carried[0] - carried[1]
    )
    log_ratio, error = float(np.log(sides[0].rate / sides[1].rate)), float(np.sqrt(variance))
    reach = quantile(level=confidence, degrees=degrees) * error
    level_total = float(setups.trials[codes == level].sum())
    rates = [
        estimated_rate(fit, side.rate, side.gradient, confidence, each * side.rate)
        for side, each in zip(sides, carried, strict=True)
    ]
    return LevelEffect(
        rate=rates[0],
        others_rate=rates[1],
        ratio=Estimate(*(float(np.exp(log_ratio + step)) for step in (0.0, -reach, reach))),
        p_value=float(2.0 * stdtr(degrees, -abs(log_ratio) / error)),
        degrees=degrees,
        like_for_like_share=float(setups.trials[shared & (codes == level)].sum()) / level_total,
        shared=shared,
    )
