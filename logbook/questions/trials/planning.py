"""Plans a fair trial from this shop's own record: how many pairs, and whether it can decide."""

from __future__ import annotations

import math
import secrets
from dataclasses import dataclass, replace

from logbook.book.runs import now_at
from logbook.errors import ParameterError
from logbook.kernels.power import pieces_per_arm, power_of
from logbook.kernels.trials import (
    Plan,
    cost_of_looks,
    pairs_with_looks,
    plan,
    planned_looks,
    power_at,
)
from logbook.questions.parameters import kind_of
from logbook.questions.trials.record import (
    BRINGS_LOTS,
    ShopRecord,
    record_of,
    usual_load,
    weekly_pieces,
)
from logbook.questions.trials.wishes import TrialWish, Understood, understood
from logbook.runs.trials import LARGEST_SEED, Trial, drawn_order
from logbook.store import Store
from logbook.vocabulary.defects import ANY, DefectKind

MOST_PIECES = 20_000
"""A trial of more pieces than this costs more than it can tell."""
AFFORDABLE_WEEKS = 26
"""A trial may take all of that work for so long; after that the shop is another one."""
MOST_LOTS = 12
"""More lots of a backing than this nobody waits for."""
USUAL_STEP = 0.25
"""Share of the rate now that a fall must be to be worth finding, where nothing else is told."""


@dataclass(frozen=True, slots=True)
class PlannedTrial:
    """A trial drawn up, and what it can and cannot do.

    Attributes
    ----------
    trial
        To be kept; None where no affordable trial decides.
    asked
        What is tried and on which work.
    rests_on, rests_on_words
        Pieces from which the rate now is taken, and of which work they are.
    pairs_wanted, pieces_wanted
        What a trial of the difference asked for would take; None where no number does.
    pieces_affordable
        Pieces of this work in half a year, at most ``MOST_PIECES``.
    weeks
        How long that takes; None where the work does not come up.
    learnable
        Smallest fall that an affordable trial finds; None where it finds none.
    pieces_if_steady
        Pieces an arm if every piece had its own luck (Fleiss, Levin & Paik 2003, ch. 4).
    power_if_steady, power_if_more_restless
        Power of the trial if runs had no luck of their own, and if they had twice as much.
    share_if_there
        Share of the pairs sewn on average, where the difference is there.
    lots_wanted
        Lots of each arm to speak about the backing itself; 1 where lots do not matter.
    restlessness_known
        Whether the record could tell how restless runs are.
    """

    trial: Trial | None
    asked: Understood
    defect: DefectKind
    currency: str
    rate_now: float
    smallest_difference: float
    cost_per_defective: float
    rests_on: int
    rests_on_words: str
    pairs_wanted: int | None
    pieces_wanted: int | None
    pieces_affordable: int
    weeks: float | None
    learnable: float | None
    pieces_if_steady: float
    power_if_steady: float
    power_if_more_restless: float
    share_if_there: float
    lots_wanted: int
    lots_each: int
    restlessness_known: bool
    pieces_per_arm: int
    power: float
    alpha: float


def plan_trial(store: Store, wish: TrialWish) -> PlannedTrial:
    """Draw up a trial; nothing is kept.

    Raises
    ------
    ParameterError, RecordError
        What is wanted cannot be.
    TooLittleData
        No like run is on record, or none with the defect.
    """
    kind = kind_of(store, wish.defect)
    if kind.measure != "pieces":
        raise ParameterError(
            "No trial was planned: a trial is judged by pieces.",
            "events such as thread breaks are looked at beside; name a defect of pieces, or any",
            reasons={"defect": "a trial is judged by pieces"},
        )
    asked = understood(store, wish)
    found = record_of(store, asked, kind)
    rate = asked.rate_now if asked.rate_now and kind.name == ANY.name else found.rate
    step = _smallest(wish, asked, rate, found.cost)
    pieces = wish.pieces_per_arm or usual_load(store, asked.scope)
    brings_lots = any(each.column in BRINGS_LOTS for each in asked.changes)
    lots_wanted = _planned(rate, step, pieces, found, wish).lots_needed if brings_lots else 1
    lots = lots_wanted if lots_wanted <= MOST_LOTS else 1
    counted = found if brings_lots and lots_wanted <= MOST_LOTS else replace(found, lot_sd=0.0)
    weekly = weekly_pieces(store, asked.scope)
    affordable = min(MOST_PIECES, int(weekly * AFFORDABLE_WEEKS)) if weekly else MOST_PIECES
    once = _planned(rate, step, pieces, counted, wish, lots)
    pairs = None if once.pairs is None else _with_looks(once.pairs, wish)
    taken = None if pairs is None else 2 * pairs * pieces
    decides = taken is not None and taken <= affordable
    trial = None
    if decides and pairs is not None:
        trial = _trial(store, wish, asked, kind, counted, rate, step, pieces, pairs, lots)
    return PlannedTrial(
        trial=trial,
        asked=asked,
        defect=kind,
        currency=store.shop.currency,
        rate_now=rate,
        smallest_difference=step,
        cost_per_defective=found.cost,
        rests_on=found.pieces,
        rests_on_words=found.work,
        pairs_wanted=pairs,
        pieces_wanted=taken,
        pieces_affordable=affordable,
        weeks=taken / weekly if weekly and taken else None,
        learnable=None if decides else _learnable(rate, pieces, counted, wish, lots, affordable),
        lots_wanted=lots_wanted,
        lots_each=lots,
        restlessness_known=found.known,
        pieces_per_arm=pieces,
        power=wish.power,
        alpha=wish.alpha,
        **_powers(rate, step, pieces, counted, wish, once.pairs, pairs),
    )


def _powers(
    rate: float, step: float, pieces: int, shop: ShopRecord, wish: TrialWish,
    once: int | None, pairs: int | None,
) -> dict[str, float]:  # fmt: skip
    steady = float(pieces_per_arm(rate_a=rate, rate_b=rate - step, alpha=wish.alpha,
                                  power=wish.power))  # fmt: skip
    if once is None or pairs is None:
        nothing = dict.fromkeys(
            ("power_if_steady", "power_if_more_restless", "share_if_there"), math.nan
        )
        return {"pieces_if_steady": steady, **nothing}
    cost = cost_of_looks(looks=planned_looks(pairs), alpha=wish.alpha, power=wish.power)
    return {
        "pieces_if_steady": steady,
        "power_if_steady": float(
            power_of(rate_a=rate, rate_b=rate - step, pieces_per_arm=pairs * pieces,
                     alpha=wish.alpha)
        ),
        "power_if_more_restless": power_at(
            rate_now=rate,
            rate_changed=rate - step,
            pieces_per_arm_and_pair=pieces,
            pairs=max(2, round(pairs / cost.inflation)),
            overdispersion=2 * shop.overdispersion,
            alpha=wish.alpha,
        ),
        "share_if_there": cost.share_if_there,
    }  # fmt: skip


def _smallest(wish: TrialWish, asked: Understood, rate: float, cost: float) -> float:
    if wish.smallest_difference is not None:
        step = wish.smallest_difference
    elif wish.worth is not None:
        step = wish.worth / (100 * cost) if cost > 0 else math.inf
    else:
        step = max(asked.saved or 0.0, USUAL_STEP * rate)
        step = min(step, rate)
    if not 0 < step <= rate:
        says = (
            f"the smallest difference must lie above 0 and no higher than the rate now, "
            f"{100 * rate:.2g} points"
        )
        name = "worth" if wish.smallest_difference is None else "smallest_difference"
        raise ParameterError(f"No trial was planned: {says}.", reasons={name: says})
    return step


def _planned(
    rate: float, step: float, pieces: int, shop: ShopRecord, wish: TrialWish, lots: int = 1
) -> Plan:
    return plan(
        rate_now=rate,
        smallest_difference=step,
        pieces_per_arm_and_pair=pieces,
        overdispersion=shop.overdispersion,
        alpha=wish.alpha,
        power=wish.power,
        lot_sd=shop.lot_sd,
        lots_each=(lots, lots),
    )


def _with_looks(pairs: int, wish: TrialWish) -> int:
    return pairs_with_looks(pairs, alpha=wish.alpha, power=wish.power)[0]


def _learnable(
    rate: float, pieces: int, shop: ShopRecord, wish: TrialWish, lots: int, affordable: int
) -> float | None:
    """Smallest fall that an affordable trial finds, by halving."""

    def fits(step: float) -> bool:
        found = _planned(rate, step, pieces, shop, wish, lots).pieces
        # Looks take about a twentieth more.
        return found is not None and found * 1.05 <= affordable

    if not fits(rate):
        return None
    low, high = 0.0, rate
    for _ in range(12):
        middle = (low + high) / 2
        low, high = (low, middle) if fits(middle) else (middle, high)
    return high


def _trial(
    store: Store, wish: TrialWish, asked: Understood, kind: DefectKind, shop: ShopRecord,
    rate: float, step: float, pieces: int, pairs: int, lots: int,
) -> Trial:  # fmt: skip
    seed = secrets.randbelow(LARGEST_SEED) if wish.seed is None else wish.seed
    return Trial(
        changes=asked.changes,
        scope=asked.scope,
        defect=kind.name,
        pieces_per_arm=pieces,
        pairs=pairs,
        first=drawn_order(pairs, seed),
        seed=seed,
        looks=planned_looks(pairs),
        rate_now=rate,
        smallest_difference=step,
        overdispersion=shop.overdispersion,
        planned_on=now_at(store).date(),
        lot_sd=shop.lot_sd if any(each.column in BRINGS_LOTS for each in asked.changes) else 0.0,
        lots_each=lots,
        cost_per_defective=shop.cost,
        extra_material=shop.extra if math.isfinite(shop.extra) else None,
        alpha=wish.alpha,
        power=wish.power,
        came_from=asked.came_from,
    )
