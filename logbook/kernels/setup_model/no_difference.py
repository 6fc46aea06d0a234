"""Whether a setup differs at all from what it is set against, and what saving to tell of it.

A shrunken effect is right on average over all effects, but the best of many candidates is not an
average one. Most changes do nothing to most kinds of defect; so each kind's difference is taken to
be none with a chance that is learnt from all candidates together (a spike beside the fitted
normal, as in Stephens 2017, Biostatistics 18:275-294).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from logbook.kernels.arguments import FloatArray

if TYPE_CHECKING:
    from logbook.kernels.setup_model.prediction import Expected

NOTHING_PRIOR = 3.0
"""Candidates' worth of each, difference and none, that the chance is begun with."""
MOST_STEPS = 30
LUCK_TAKEN_OFF = 1.0
"""Standard errors taken off where runs differ by nothing but their own luck (see :func:`told`)."""
_LEAST = 1e-12
_LARGEST_LOG_ODDS = 30.0


def chance_of_difference(*, kinds: Sequence[Expected]) -> FloatArray:
    """Chance of each kind that a setup differs from row 0, (K, r); 0 for row 0 itself.

    Parameters
    ----------
    kinds
        Predictions of the same rows.

    Notes
    -----
    Of each difference of effects the posterior (mean, variance ``v``) and the prior's variance
    ``t`` give back what the data alone say: mean ``m t / (t - v)`` and variance ``v t / (t - v)``.
    From these comes the Bayes factor of none against the prior; the share of none is then settled
    by expectation and maximisation.
    """
    found = [_difference(kind) for kind in kinds]
    mean, variance, prior = (np.array([each[part] for each in found]) for part in range(3))
    variance = np.maximum(variance, _LEAST)
    prior = np.maximum(prior, variance * (1 + 1e-4))
    alone = variance * prior / (prior - variance)
    seen = mean * prior / (prior - variance)
    log_odds = 0.5 * (np.log1p(prior / alone) - np.square(seen) * (1 / alone - 1 / (alone + prior)))
    odds = np.exp(np.clip(log_odds, -_LARGEST_LOG_ODDS, _LARGEST_LOG_ODDS))[:, 1:]
    share, none = 0.5, np.full(odds.shape, 0.5)
    for _ in range(MOST_STEPS):
        none = share * odds / (share * odds + 1 - share)
        share = float((none.sum() + NOTHING_PRIOR) / (none.size + 2 * NOTHING_PRIOR))
    return np.pad(1 - none, ((0, 0), (1, 0)))


def _difference(kind: Expected) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Posterior mean, its variance and the prior's, of effects against row 0, each (r,)."""
    fit, scale = kind.fit, kind.slope[:, np.newaxis]
    gradients, carried = kind.gradients / scale, kind.carried / kind.slope
    apart, moved = gradients - gradients[:1], carried - carried[:, :1]
    unseen = kind.unseen + kind.unseen[0]
    spread = np.square(fit.sds[fit.layout.group_of])
    return (
        apart @ fit.coefficients,
        np.einsum("rp,pr->r", apart, moved) + unseen,
        np.square(apart) @ spread + unseen,
    )


def told(
    *,
    kinds: Sequence[Expected],
    chance: FloatArray,
    gain: FloatArray,
    variance: FloatArray,
    error: FloatArray,
) -> FloatArray:
    """Savings to tell of, (r,): those that come true on average of what is picked as best.

    Parameters
    ----------
    kinds
        Predictions of the same rows.
    chance
        (K, r) see :func:`chance_of_difference`.
    gain, variance
        (K, r) of each kind: its part of the saving, and the variance of that.
    error
        (r,) standard errors of the savings.

    Notes
    -----
    Where runs differ by their own luck, and the more so where that has a long tail, effects are
    still too large after shrinking. The share ``k / (1 + k)`` of a standard error is taken off,
    ``k`` being the overdispersion, averaged over kinds by their part of the variance. Its size was
    chosen on invented shops and measured on others (DEVELOPERS.md, section 9).
    """
    luck = np.array([each.fit.overdispersion / (1 + each.fit.overdispersion) for each in kinds])
    total = variance.sum(axis=0)
    share = np.divide(luck @ variance, total, out=np.zeros_like(total), where=total > 0)
    return np.asarray((chance * gain).sum(axis=0) - LUCK_TAKEN_OFF * share * error)
