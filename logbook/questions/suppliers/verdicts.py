"""The verdicts of the fair comparison in plain words, money beside them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from logbook.kernels.setup_model.needed import MOST_REPEATS
from logbook.questions.suppliers.phrases import doubt, gap, listed, rate_of
from logbook.vocabulary.backings import BACKINGS
from logbook.wording import money, number

if TYPE_CHECKING:
    from logbook.questions.suppliers.result import SupplierRow, SuppliersResult

MANY_TIMES = 10
"""Nobody waits for so many times what a supplier has on record."""
_FIRST = ("worse", "better", "no_worse")
"""What a buyer wants to hear of first: what to leave, what to take, what is a matter of price."""


def judged(result: SuppliersResult, where: str) -> tuple[str, ...]:
    """Say all verdicts, the most pressing first."""
    reference = str(result.reference)
    rows = [row for row in result.suppliers if row.fair.verdict is not None]
    if not rows:
        return (
            f"No supplier can be compared with {reference} like for like{where}: they share no "
            "fabric and backing with three runs of each.",
        )
    said = [
        f"{_briefly(result, row)}{_money(result, row)}."
        for verdict in _FIRST
        for row in rows
        if row.fair.verdict == verdict
    ]
    open_ones = [row for row in rows if row.fair.verdict == "not_enough_data"]
    if open_ones:
        names = listed([row.supplier for row in open_ones])
        said.append(
            f"Not enough is on record to judge {names} against {reference} by "
            f"{rate_of(result.kind)}{where}."
        )
    return tuple(said)


def _briefly(result: SuppliersResult, row: SupplierRow) -> str:
    fair, measure, reference = row.fair, result.kind.measure, result.reference
    backing = "" if result.backing is None else f" {_backing(result)}"
    if fair.verdict == "no_worse":
        slightly = ", though slightly worse," if fair.difference_interval[0] > 0 else ""
        return (
            f"{row.supplier}{backing} is no worse than {reference}{slightly} within "
            f"{_margin(result)} by {rate_of(result.kind)}"
        )
    return (
        f"{row.supplier}{backing} is {fair.verdict} than {reference} on the same jobs: "
        f"{rate_of(result.kind)} {gap(fair.difference, measure)} "
        f"({doubt(fair.difference_interval, measure, result.level)}; {_shared(row, measure)})"
    )


def verdict_of(result: SuppliersResult, row: SupplierRow) -> str:
    """Say one verdict with its figures, without a full stop."""
    fair, measure, reference = row.fair, result.kind.measure, result.reference
    backing = "" if result.backing is None else f" on the same jobs with {_backing(result)}"
    figures = (
        f"{rate_of(result.kind)} {gap(fair.difference, measure)} "
        f"({doubt(fair.difference_interval, measure, result.level)}), over "
        f"{_shared(row, measure)}"
    )
    name = row.supplier
    if fair.verdict == "no_worse":
        slightly = ", though slightly worse," if fair.difference_interval[0] > 0 else ""
        head = f"{name} is no worse than {reference}{slightly} within {_margin(result)}{backing}"
        return f"{head}, so buy on price: {figures}"
    if fair.verdict == "not_enough_data":
        return f"{name} cannot yet be judged against {reference}{backing}: {figures}"
    return f"{name} is {fair.verdict} than {reference}{backing}: {figures}"


def needed(result: SuppliersResult, row: SupplierRow) -> str:
    """Say what it would take to judge; empty where it is judged."""
    if row.fair.verdict != "not_enough_data":
        return ""
    pieces, lots = row.fair.pieces_needed, row.fair.lots_needed
    if pieces is None:
        return (
            f" Even {MOST_REPEATS} times this record would not tell: the two may be alike, or as "
            "far apart as the interval says."
        )
    if pieces > MANY_TIMES * row.counted.exposure:
        return (
            f" More than {MANY_TIMES} times what {row.supplier} has on record would be needed to "
            "tell: too long to wait for."
        )
    unit = "pieces inspected" if result.kind.measure == "pieces" else "stitches sewn"
    fresh = f", from about {number(lots)} new lots," if lots else ""
    return (
        f" About {number(_roundly(pieces))} more {unit}{fresh} would tell, if the difference is as "
        "it looks now."
    )


def _roundly(count: int) -> int:
    """Two figures are enough for a forecast."""
    step = int(10 ** max(len(str(count)) - 2, 0))
    return math.ceil(count / step) * step


def _margin(result: SuppliersResult) -> str:
    size = f"{100 * (result.margin or 0.0):g}"
    return f"{size} point{'' if size == '1' else 's'}"


def _shared(row: SupplierRow, measure: str) -> str:
    unit = "pieces inspected" if measure == "pieces" else "stitches sewn"
    return f"{number(row.fair.shared_pieces)} {unit} on shared jobs"


def _backing(result: SuppliersResult) -> str:
    return BACKINGS.label_of(str(result.backing)).lower()


def _money(result: SuppliersResult, row: SupplierRow) -> str:
    """Say what today's prices come to; for a difference in defects, what it comes to altogether."""
    cost = result.fair_cost(row.supplier)
    if row.fair.verdict == "no_worse" and math.isfinite(cost.price_saving):
        amount = _amount(result, cost.price_saving)
        return f"; at today's prices it {amount} per 100 pieces in backing alone"
    if math.isfinite(cost.saving):
        return (
            f"; with spoilage and rework it {_amount(result, cost.saving)} per 100 good pieces "
            f"({_between(result, cost.saving_interval)})"
        )
    return ""


def _amount(result: SuppliersResult, saving: float) -> str:
    if abs(saving) < 0.005:
        return "costs the same"
    return f"{'saves' if saving > 0 else 'costs'} {money(abs(saving), result.currency)}" + (
        "" if saving > 0 else " more"
    )


def _between(result: SuppliersResult, saving: tuple[float, float]) -> str:
    near, far = sorted(saving, key=abs)
    if near * far < 0:
        # From low to high by cost: what is saved is less.
        low, high = -max(saving), -min(saving)
        return (
            f"between {money(-low, result.currency)} less and {money(high, result.currency)} more"
        )
    word = "less" if far > 0 else "more"
    return (
        f"between {money(abs(near), result.currency)} and {money(abs(far), result.currency)} {word}"
    )
