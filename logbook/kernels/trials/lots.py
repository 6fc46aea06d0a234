"""What a few lots leave open, however many pieces are sewn with them."""

from __future__ import annotations

import math

from logbook.errors import KernelError

Lots = tuple[int, int]


def lots_variance(
    *, rates: tuple[float, float], lot_sd: float, lots_each: Lots, pairs: int | None = None
) -> float:
    """Variance that lots add to the difference of two rates.

    Parameters
    ----------
    rates
        Rate with each arm, as fractions.
    lot_sd
        Standard deviation of lots of one kind of backing, in log odds.
    lots_each
        Lots sewn with in each arm, spread evenly over the pairs.
    pairs
        None for all of it. Else only what the spread between so many pairs does not show
        already: lots that change from pair to pair make the pairs differ.

    Notes
    -----
    A lot's rate differs from the average by ``lot_sd p (1 - p)`` to first order. With L lots
    over R pairs the spread between pairs holds (L - 1) / L · R / (R - 1) of a lot's variance, so
    (R - L) / (R - 1) of the lots' share of the variance is unseen.
    """
    if not (math.isfinite(lot_sd) and lot_sd >= 0):
        raise KernelError(
            f"The spread of lots must not be negative; got {lot_sd!r}.", "0 where none is known."
        )
    if min(lots_each) < 1:
        raise KernelError(f"Each arm has at least one lot; got {lots_each!r}.", "Count the lots.")
    total = 0.0
    for rate, asked in zip(rates, lots_each, strict=True):
        lots = asked if pairs is None else min(asked, pairs)
        unseen = 1.0 if pairs is None else (pairs - lots) / (pairs - 1)
        total += (lot_sd * rate * (1 - rate)) ** 2 / lots * unseen
    return total
