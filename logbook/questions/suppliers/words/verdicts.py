"""The verdicts of the adjusted comparison in plain words, money beside them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from logbook.kernels.count_series import Measure
from logbook.kernels.setup_model.needed import MOST_REPEATS
from logbook.questions.suppliers.words.phrases import (
    backing_of,
    gap,
    interval_of,
    listed,
)
from logbook.wording import exposure_words, money, number, rate_of

if TYPE_CHECKING:
    from logbook.questions.suppliers.result import SupplierRow, SuppliersResult

MANY_TIMES = 10
"""Nobody waits for so many times what a supplier has on record."""
_FIRST = ("worse", "better", "no_worse")
"""What a buyer wants to hear of first: what to leave, what to take, what is a matter of price."""


def verdicts(result: SuppliersResult, where: str) -> tuple[str, ...]:
    """Say all verdicts, the most pressing first."""
    reference = str(result.reference)
    rows = [row for row in result.suppliers if row.adjusted.verdict is not None]
    if not rows:
        return (
            f"No supplier can be compared with {reference} like for like{where}: they share no "
            "fabric and backing with three runs of each.",
        )
    said = [
        f"{_briefly(result, row)}{_money(result, row)}."
        for verdict in _FIRST
        for row in rows
        if row.adjusted.verdict == verdict
    ]
    open_ones = [row for row in rows if row.adjusted.verdict == "not_enough_data"]
    if open_ones:
        names = listed([row.supplier for row in open_ones])
        said.append(
            f"Not enough is on record to judge {names} against {reference} by "
            f"{rate_of(result.kind.label)}{where}."
        )
    return tuple(said)


def _briefly(result: SuppliersResult, row: SupplierRow) -> str:
    adjusted, measure, reference = row.adjusted, result.kind.measure, result.reference
    backing = f" {backing_of(result)}" if result.backing else ""
    if adjusted.verdict == "no_worse":
        slightly = ", though slightly worse," if adjusted.difference_interval[0] > 0 else ""
        return (
            f"{row.supplier}{backing} is no worse than {reference}{slightly} within "
            f"{_margin(result)} by {rate_of(result.kind.label)}"
        )
    doubt = interval_of(adjusted.difference_interval, measure, result.level)
    return (
        f"{row.supplier}{backing} is {adjusted.verdict} than {reference} on the same jobs: "
        f"{rate_of(result.kind.label)} {gap(adjusted.difference, measure)} "
        f"({doubt}; {_shared(row, measure)})"
    )


def verdict_of(result: SuppliersResult, row: SupplierRow) -> str:
    """Say one verdict with its figures, without a full stop."""
    adjusted, measure, reference = row.adjusted, result.kind.measure, result.reference
    backing = f" on the same jobs with {backing_of(result)}" if result.backing else ""
    figures = (
        f"{rate_of(result.kind.label)} {gap(adjusted.difference, measure)} "
        f"({interval_of(adjusted.difference_interval, measure, result.level)}), over "
        f"{_shared(row, measure)}"
    )
    name = row.supplier
    if adjusted.verdict == "no_worse":
        slightly = ", though slightly worse," if adjusted.difference_interval[0] > 0 else ""
        head = f"{name} is no worse than {reference}{slightly} within {_margin(result)}{backing}"
        return f"{head}, so buy on price: {figures}"
    if adjusted.verdict == "not_enough_data":
        return f"{name} cannot yet be judged against {reference}{backing}: {figures}"
    return f"{name} is {adjusted.verdict} than {reference}{backing}: {figures}"


def needed(result: SuppliersResult, row: SupplierRow) -> str:
    """Say what it would take to judge; empty where it is judged."""
    if row.adjusted.verdict != "not_enough_data":
        return ""
    pieces, lots = row.adjusted.pieces_needed, row.adjusted.lots_needed
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
    more = exposure_words(result.kind.measure, _roundly(pieces)).replace(" ", " more ", 1)
    fresh = f", from about {number(lots)} new lots," if lots else ""
    return f" About {more}{fresh} would tell, if the difference is as it looks now."


def _roundly(count: int) -> int:
    """Two figures are enough for a forecast."""
    step = int(10 ** max(len(str(count)) - 2, 0))
    return math.ceil(count / step) * step


def _margin(result: SuppliersResult) -> str:
    size = f"{100 * (result.margin or 0.0):g}"
    return f"{size} point{'' if size == '1' else 's'}"


def _shared(row: SupplierRow, measure: Measure) -> str:
    return f"{exposure_words(measure, row.adjusted.shared_pieces)} on shared jobs"


def _money(result: SuppliersResult, row: SupplierRow) -> str:
    """Say what today's prices come to; for a difference in defects, what it comes to altogether."""
    cost = result.adjusted_cost(row.supplier)
    if row.adjusted.verdict == "no_worse" and math.isfinite(cost.price_saving):
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
