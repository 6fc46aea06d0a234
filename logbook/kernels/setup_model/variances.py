"""How far levels of a factor differ (standard deviations), and runs (overdispersion).

Standard deviations are stepped by Fisher scoring on the restricted likelihood of the working
model, in the logarithm of the variance. Two weak priors go with it: a half-normal of
``USUAL_SD`` on every one, and for those that must not collapse to zero the boundary-avoiding
prior, proportional to the standard deviation (Chung, Rabe-Hesketh, Dorie, Gelman & Liu 2013,
Psychometrika 78:685-709). A lot-to-lot spread estimated as zero would make two deliveries look
like many.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_factor, cho_solve, eigh

from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model.moments import Moments
from logbook.kernels.setup_model.terms import Layout

USUAL_SD = 0.7
NOTHING_KNOWN, TAKEN_INSTEAD = 0.01, 0.25
"""Information on logarithms of variances that is none, and what the priors are taken to give."""
LONGEST_STEP = 1.0
LARGEST_KAPPA = 50.0
LONGEST_SHARE = 0.75
"""Steps are lengthened at most fourfold."""


@dataclass(frozen=True, slots=True, eq=False)
class Spreads:
    """Which standard deviations are estimated, and how.

    Attributes
    ----------
    estimated
        (J,) of the layout's groups, those estimated.
    boundary_avoiding
        (J,) those kept from zero.
    members
        (P, J) one where a coefficient belongs to a group.
    sizes
        (J,) coefficients of each group.
    """

    estimated: BoolArray
    boundary_avoiding: BoolArray
    members: FloatArray
    sizes: FloatArray


def spreads_of(layout: Layout) -> Spreads:
    """Sort a layout's groups."""
    first = {term.name: term for term in reversed(layout.terms)}
    members = np.zeros((layout.size, len(layout.groups)))
    members[np.arange(layout.size), layout.group_of] = 1.0
    return Spreads(
        estimated=np.array([first[name].sd is None for name in layout.groups]),
        boundary_avoiding=np.array([first[name].boundary_avoiding for name in layout.groups]),
        members=members,
        sizes=members.sum(axis=0),
    )


def information(
    spreads: Spreads, found: Moments, sds: FloatArray, prior: float = USUAL_SD
) -> FloatArray:
    """Information on the logarithms of the variances, (J', J') over the estimated ones.

    The diagonal is floored: near zero the likelihood says nothing and steps would swing. So is
    what is known in every other direction: of two spreads that only show as their sum (lots where
    none is written down, and suppliers' backings) a long record says nothing about their parts.
    """
    variances = sds**2
    matrix = 0.5 * found.squares / np.outer(variances, variances)
    known = 0.5 * (spreads.sizes - 2.0 * found.traces / variances)
    floor = np.maximum(spreads.boundary_avoiding, 0.5) / 2.0 + variances / (2.0 * prior**2)
    matrix[np.diag_indices_from(matrix)] = np.maximum(np.diag(matrix) + known, floor)
    return _floored(matrix[np.ix_(spreads.estimated, spreads.estimated)])


def _floored(matrix: FloatArray) -> FloatArray:
    """Lift the eigenvalues that are as good as none; without one nothing changes at all."""
    values, vectors = eigh(matrix)
    lacking = np.where(values < NOTHING_KNOWN, TAKEN_INSTEAD - values, 0.0)
    return matrix + (vectors * lacking) @ vectors.T if lacking.any() else matrix


def spread_score(
    spreads: Spreads,
    coefficients: FloatArray,
    traces: FloatArray,
    sds: FloatArray,
    prior: float = USUAL_SD,
) -> FloatArray:
    """Slope of the objective by the logarithms of the variances, (J,)."""
    variances = sds**2
    squares = coefficients**2 @ spreads.members + traces
    score = 0.5 * (squares / variances - spreads.sizes + spreads.boundary_avoiding)
    return np.asarray(score - variances / (2.0 * prior**2))


def spread_step(spreads: Spreads, score: FloatArray, known: FloatArray) -> FloatArray:
    """Step of ``log(sds)``, (J,), zero where a standard deviation is given."""
    step = np.zeros(score.size)
    if spreads.estimated.any():
        solved = cho_solve(cho_factor(known), score[spreads.estimated])
        step[spreads.estimated] = np.clip(solved, -LONGEST_STEP, LONGEST_STEP) / 2.0
    return step


def hastened(step: FloatArray, last: FloatArray, *, leap: bool) -> FloatArray:
    """Lengthen steps that creep the same way, and halve those that turn round.

    Steps that shrink by a steady share add up to ``step / (1 - share)`` (Aitken's extrapolation,
    1926); one that has overshot is nearer half way back.

    Parameters
    ----------
    step, last
        (J,) this step and the one before, zero where there was none.
    """
    share = np.divide(step, last, out=np.zeros_like(step), where=last != 0)
    creeping = (share > 0) & (np.abs(step) < LONGEST_STEP / 2.0)
    longer = 1.0 / (1.0 - np.clip(share, 0.0, LONGEST_SHARE))
    hastened_step = np.where(share < 0, step / 2.0, step)
    if leap:
        hastened_step = np.where(creeping, step * longer, hastened_step)
    return np.clip(hastened_step, -LONGEST_STEP, LONGEST_STEP)


def overdispersion_from(
    *, residual: FloatArray, variance: FloatArray, unit: FloatArray, extra: FloatArray
) -> float:
    """Solve for the restlessness of runs from squared residuals.

    Parameters
    ----------
    residual
        (m,) squared residuals over one minus their leverage.
    variance
        (m,) variances as they stand.
    unit
        (m,) variances by counting alone.
    extra
        (m,) what overdispersion multiplies.

    Notes
    -----
    Moments, each row weighed by ``extra`` over the variance of its squared residual, which for
    rare counts is about ``V + 2 V**2``.
    """
    weight = extra / (variance + 2.0 * variance**2)
    known = float(weight @ extra)
    if known <= 0:
        return 0.0
    return float(np.clip(weight @ (residual - unit) / known, 0.0, LARGEST_KAPPA))
