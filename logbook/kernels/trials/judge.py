"""What a finished trial says: the pairs' differences against their own spread.

Pieces of one run share its luck, so the pairs are the sample and not the pieces. A test that
pools the pieces of each arm calls equal setups different several times too often.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtr, stdtrit

from logbook.kernels.arguments import (
    FloatArray,
    Numbers,
    count_and_exposure,
    fraction,
    line_of_points,
    same_shape,
)
from logbook.kernels.count_series import Measure
from logbook.kernels.setup_model.levels import Estimate, Verdict, verdict
from logbook.kernels.trials.lots import Lots, lots_variance
from logbook.kernels.trials.signs import DRAWS, SignFlip, sign_flip

FEWEST_PAIRS = 6
"""With fewer, even pairs that all point one way could be chance: 2 in 32 for five."""


@dataclass(frozen=True, slots=True)
class Judgement:
    """What a trial says; NaN where it cannot be said.

    Attributes
    ----------
    difference, lower, upper
        Changed minus now, a fraction, with its interval at ``level``; NaN bounds where there are
        too few pairs or all pairs say the same to the digit.
    p_value
        Of Student's test for "no difference"; of the signs where the pairs leave no spread.
    sign_flip_p_value, sign_flip_draws
        Of the sign-flip test, about the lots sewn with; draws as in
        :class:`logbook.kernels.trials.signs.SignFlip`.
    verdict
        Of the changed setup: ``better``, ``worse``, ``no_worse`` within the margin, or
        ``not_enough_data``.
    rate_now, rate_changed
        Averages with the weights of the difference.
    standard_error, degrees
        Of the difference.
    pairs, pairs_left_out
        Pairs that count, and pairs with an arm without pieces.
    pieces
        Of both arms, in the pairs that count.
    level
        Of the interval.
    """

    difference: float
    lower: float
    upper: float
    p_value: float
    sign_flip_p_value: float
    sign_flip_draws: int
    verdict: Verdict
    rate_now: float
    rate_changed: float
    standard_error: float
    degrees: float
    pairs: int
    pairs_left_out: int
    pieces: int
    level: float


@dataclass(frozen=True, slots=True)
class Pairs:
    """Pairs that count: (R,) pieces and rates of each arm, and shares of weight adding to 1."""

    pieces: FloatArray
    rate_now: FloatArray
    rate_changed: FloatArray
    share: FloatArray
    left_out: int

    @property
    def differences(self) -> FloatArray:
        """Changed minus now, (R,)."""
        return self.rate_changed - self.rate_now


def judge(
    *,
    count_now: Numbers,
    pieces_now: Numbers,
    count_changed: Numbers,
    pieces_changed: Numbers,
    measure: Measure = "pieces",
    alpha: float = 0.05,
    margin: float | None = None,
    lot_sd: float = 0.0,
    lots_each: Lots = (1, 1),
    draws: int = DRAWS,
    seed: int = 1,
) -> Judgement:
    """Judge a trial that has run to its planned number of pairs.

    Parameters
    ----------
    count_now, pieces_now, count_changed, pieces_changed
        (R,) defective pieces and pieces inspected of each arm, one entry a pair; or events and
        what they are counted in.
    measure
        ``pieces``, of which none is counted twice, or ``events``.
    alpha
        Two-sided; the interval is at 1 - alpha.
    margin
        Difference that does not matter, a fraction; None asks for no such verdict.
    lot_sd, lots_each
        As in :func:`logbook.kernels.trials.plan`, with the lots that were sewn with, spread
        evenly over the pairs: widens the interval so that it holds for other lots too.
    draws, seed
        Of the sign-flip test with many pairs.

    Raises
    ------
    KernelError
        If a count exceeds its pieces, a number is missing or negative, or lengths differ.

    Notes
    -----
    Differences are weighted by ``n0 n1 / (n0 + n1)``. The standard error comes from the pairs'
    own spread, each squared deviation over one less its share of the weight (HC2, MacKinnon &
    White 1985), with the degrees of freedom of Bell & McCaffrey (2002), Survey Methodology
    28:169-181, for a variance that falls with the weight. With equal weights it is Student's
    paired test with R - 1 degrees of freedom. Lots add a variance taken as known and widen the
    degrees of freedom by its share (Satterthwaite 1946).
    """
    fraction(alpha, "alpha")
    pairs = pairs_that_count(count_now, pieces_now, count_changed, pieces_changed, measure=measure)
    count = pairs.share.size
    now, changed = (float(pairs.share @ each) for each in (pairs.rate_now, pairs.rate_changed))
    difference = float(pairs.share @ pairs.differences)
    flip, error, degrees, hidden = SignFlip(math.nan, 0), math.nan, math.nan, 0.0
    if count >= FEWEST_PAIRS:
        flip = sign_flip(differences=pairs.share * pairs.differences, draws=draws, seed=seed)
        hidden = lots_variance(
            rates=(now, changed), lot_sd=lot_sd, lots_each=lots_each, pairs=count
        )
        error, degrees = _error(pairs, difference, hidden)
    p_value, reach, verdict_reach = math.nan, math.nan, math.nan
    if error > 0:
        p_value = 2.0 * float(stdtr(degrees, -abs(difference) / error))
        reach = verdict_reach = error * float(-stdtrit(degrees, alpha / 2))
    elif error == 0:
        p_value = flip.p_value
        # Pairs that all say the same leave no spread to judge by; their signs still count.
        verdict_reach = 0.0 if p_value <= alpha and hidden == 0 else math.nan
    return Judgement(
        difference=difference if count else math.nan,
        lower=difference - reach,
        upper=difference + reach,
        p_value=p_value,
        sign_flip_p_value=flip.p_value,
        sign_flip_draws=flip.draws,
        verdict=verdict(
            Estimate(difference, difference - verdict_reach, difference + verdict_reach),
            margin=margin,
        ),
        rate_now=now if count else math.nan,
        rate_changed=changed if count else math.nan,
        standard_error=error,
        degrees=degrees,
        pairs=count,
        pairs_left_out=pairs.left_out,
        pieces=int(pairs.pieces.sum()),
        level=1 - alpha,
    )


def pairs_that_count(
    count_now: Numbers,
    pieces_now: Numbers,
    count_changed: Numbers,
    pieces_changed: Numbers,
    *,
    measure: Measure = "pieces",
) -> Pairs:
    """Check the counts and leave out pairs with an arm without pieces."""
    arms = [
        count_and_exposure(count, pieces, names=names, bounded=measure == "pieces")
        for count, pieces, names in (
            (count_now, pieces_now, ("count_now", "pieces_now")),
            (count_changed, pieces_changed, ("count_changed", "pieces_changed")),
        )
    ]
    named = {"count_now": arms[0][0], "pieces_now": arms[0][1]}
    named |= {"count_changed": arms[1][0], "pieces_changed": arms[1][1]}
    lined = {name: line_of_points(array, name) for name, array in named.items()}
    y0, n0, y1, n1 = same_shape(lined)
    sewn = (n0 > 0) & (n1 > 0)
    y0, n0, y1, n1 = y0[sewn], n0[sewn], y1[sewn], n1[sewn]
    weight = n0 * n1 / (n0 + n1)
    return Pairs(
        pieces=n0 + n1,
        rate_now=y0 / n0,
        rate_changed=y1 / n1,
        share=weight / weight.sum(),
        left_out=int(np.count_nonzero(~sewn)),
    )


def _error(pairs: Pairs, difference: float, hidden: float) -> tuple[float, float]:
    """Standard error and degrees of freedom; zero error where all pairs say the same."""
    share, off = pairs.share, pairs.differences - difference
    if float(np.abs(off).max()) <= 1e-12:
        return 0.0, math.nan
    held = share**2 / (1 - share)
    seen = float(held @ off**2)
    degrees = 1.0 / float(held**2 @ ((1 / share - 1) ** 2 - 1) + held.sum() ** 2)
    return math.sqrt(seen + hidden), degrees * ((seen + hidden) / seen) ** 2
