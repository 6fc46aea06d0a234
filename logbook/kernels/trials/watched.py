"""What a running trial says so far, where every look is paid for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from logbook.errors import KernelError
from logbook.kernels.arguments import Numbers
from logbook.kernels.count_series import Measure
from logbook.kernels.trials.bounds import Bounds, spending_bounds
from logbook.kernels.trials.judge import FEWEST_PAIRS, Judgement, judge, pairs_that_count
from logbook.kernels.trials.lots import Lots
from logbook.kernels.trials.signs import DRAWS


@dataclass(frozen=True, slots=True)
class Look:
    """One look at a running trial.

    Attributes
    ----------
    judgement
        As of a finished trial but at the level of this look, so that all intervals of all looks
        hold together; its verdict may be acted on.
    fraction_done
        Share of the planned pairs.
    bound
        Standard errors from zero at which the trial may stop.
    alpha, spent
        Level of this look, and the chance of a false alarm spent up to and with it.
    stop
        Whether the trial is over: better or worse for certain, or run to its end.
    """

    judgement: Judgement
    fraction_done: float
    bound: float
    alpha: float
    spent: float
    stop: bool


def watch(
    *,
    count_now: Numbers,
    pieces_now: Numbers,
    count_changed: Numbers,
    pieces_changed: Numbers,
    planned_pairs: int,
    earlier_looks: Sequence[int] = (),
    later_looks: Sequence[int] = (),
    measure: Measure = "pieces",
    alpha: float = 0.05,
    margin: float | None = None,
    lot_sd: float = 0.0,
    lots_each: Lots = (1, 1),
    draws: int = DRAWS,
    seed: int = 1,
) -> Look:
    """Look at a trial before its end, or at its end after earlier looks.

    Parameters
    ----------
    count_now, pieces_now, count_changed, pieces_changed, alpha, margin, lot_sd, lots_each
        As in :func:`logbook.kernels.trials.judge`, of the pairs so far; ``alpha`` is that of the
        whole trial.
    planned_pairs
        Pairs decided on beforehand.
    earlier_looks
        Pairs there were at each earlier look, rising.
    later_looks
        Pairs at looks that are planned and still to come; they change nothing, but with them the
        bounds of all looks are found at once.
    measure
        As in :func:`logbook.kernels.trials.judge`.
    draws, seed
        Of the sign-flip test.

    Raises
    ------
    KernelError
        If the looks do not rise, or one came at or after the planned end: nothing is left.

    Notes
    -----
    Bounds as in :func:`logbook.kernels.trials.spending_bounds`, held against Student's p-value at
    the level of the look (Jennison & Turnbull 2000, sec. 3.8), which gives repeated confidence
    intervals (Jennison & Turnbull 1989, J R Stat Soc B 51:305-361). Looks before there are pairs
    enough for a verdict cost nothing.
    """
    arms = {"count_now": count_now, "pieces_now": pieces_now}
    arms |= {"count_changed": count_changed, "pieces_changed": pieces_changed}
    pairs = int(pairs_that_count(**arms, measure=measure).share.size)
    looks = _paid_for(pairs, planned_pairs, tuple(earlier_looks))
    later = tuple(each for each in later_looks if pairs < each <= planned_pairs)
    bounds = _bounds((*looks, *later), planned_pairs, alpha)
    bound, here, spent = (
        float(each[len(looks) - 1]) for each in (bounds.z, bounds.alpha, bounds.spent)
    )
    found = judge(
        **arms,
        measure=measure,
        alpha=here,
        margin=margin,
        lot_sd=lot_sd,
        lots_each=lots_each,
        draws=draws,
        seed=seed,
    )
    return Look(
        judgement=found,
        fraction_done=min(pairs / planned_pairs, 1.0),
        bound=bound,
        alpha=here,
        spent=spent,
        stop=found.verdict in ("better", "worse") or pairs >= planned_pairs,
    )


@lru_cache(maxsize=256)
def _bounds(looks: tuple[int, ...], planned_pairs: int, alpha: float) -> Bounds:
    """Bounds of all looks, those to come among them."""
    done = [min(look / planned_pairs, 1.0) for look in looks]
    return spending_bounds(fraction_done=done, alpha=alpha)


def _paid_for(pairs: int, planned_pairs: int, earlier: tuple[int, ...]) -> tuple[int, ...]:
    """Looks that cost something, this one last."""
    if planned_pairs < FEWEST_PAIRS:
        raise KernelError(
            f"A trial has at least {FEWEST_PAIRS} pairs; {planned_pairs} were planned.",
            "Plan more pairs before the trial begins.",
        )
    rising = [*earlier, pairs]
    if any(after <= before for before, after in pairwise(rising)):
        raise KernelError(
            f"Looks must rise from one to the next; got {earlier!r} and now {pairs} pairs.",
            "Give the number of pairs at each earlier look once, and look again with more.",
        )
    if earlier and earlier[-1] >= planned_pairs:
        raise KernelError(
            f"The trial was judged at its end, after {earlier[-1]} of {planned_pairs} pairs.",
            "Keep that verdict, or plan a new trial.",
        )
    return tuple(look for look in rising if look >= FEWEST_PAIRS) or (max(pairs, 1),)
