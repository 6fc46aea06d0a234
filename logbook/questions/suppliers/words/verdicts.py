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
from logbook.vocabulary.backings import BACKINGS
from logbook.wording import exposure_words, money, number, rate_of

if TYPE_CHECKING:
    from logbook.questions.suppliers.result import SupplierRow, SuppliersResult

MANY_TIMES = 1
"""Nobody waits for more than what a supplier has on record already."""
SMALL_RATE = 2.5
"""A margin of more than one such part of the rate is told as a ratio."""
_FIRST = ("worse", "better", "no_worse", "not_enough_data")
"""What a buyer wants to hear of first: what to leave, what to take, what is a matter of price."""


def verdicts(result: SuppliersResult, where: str) -> tuple[str, ...]:
    """Say all verdicts, the most pressing first: what a good piece costs, then defects."""
    reference = str(result.reference)
    rows = [row for row in result.suppliers if row.adjusted.verdict is not None]
    if not rows:
        return (
            f"No supplier can be compared with {reference} like for like{where}: they share no "
            "fabric and backing with three runs of each.",
        )
    rows.sort(key=lambda row: (not row.adjusted.worse_on, _FIRST.index(str(row.adjusted.verdict))))
    said = [
        f"{_cost(result, row)}{_briefly(result, row)}."
        for row in rows
        if row.adjusted.verdict != "not_enough_data" or _cost(result, row) or row.adjusted.worse_on
    ]
    silent = [
        row.supplier
        for row in rows
        if row.adjusted.verdict == "not_enough_data"
        and not _cost(result, row)
        and not row.adjusted.worse_on
    ]
    if silent:
        said.append(
            f"Not enough is on record to judge {listed(silent)} against {reference} by "
            f"{rate_of(result.kind.label)}{where}."
        )
    return tuple(said)


def _cost(result: SuppliersResult, row: SupplierRow) -> str:
    """Say first what a good piece costs more or less; empty where that is not known."""
    cost = result.adjusted_cost(row.supplier)
    if not math.isfinite(cost.saving):
        return ""
    if abs(cost.saving) < 0.005:
        said, than = "as much", "as"
    else:
        amount, than = money(abs(cost.saving), result.currency), "than"
        said = f"{amount} {'less' if cost.saving > 0 else 'more'}"
    return (
        f"100 good pieces cost {said} on {_delivered(result, row)} {than} on {result.reference}'s "
        f"({_between(result, cost.saving_interval)}). "
    )


def _delivered(result: SuppliersResult, row: SupplierRow) -> str:
    return f"{row.supplier}'s{f' {backing_of(result)}' if result.backing else ''}"


def _briefly(result: SuppliersResult, row: SupplierRow) -> str:
    adjusted, measure, reference = row.adjusted, result.kind.measure, result.reference
    backing = f" {backing_of(result)}" if result.backing else ""
    by = rate_of(result.kind.label)
    where = worse_on(result, row)
    if adjusted.verdict == "not_enough_data":
        against = f"{row.supplier}{backing} cannot yet be judged against {reference} by {by}"
        return f"{against}, but it is {where}" if where else against
    if adjusted.verdict == "no_worse":
        slightly = ", though slightly worse," if adjusted.difference_interval[0] > 0 else ""
        said = f"{row.supplier}{backing} is no worse than {reference}{slightly} within"
        whole = " over all backings together" if where else ""
        return f"{said} {_margin(result)} by {by}{whole}{f', but {where}' if where else ''}"
    doubt = interval_of(adjusted.difference_interval, measure, result.level)
    return (
        f"{row.supplier}{backing} is {adjusted.verdict} than {reference} on the same jobs: "
        f"{by} {gap(adjusted.difference, measure)} ({doubt}; {_shared(row, measure)})"
        f"{f'; {where}' if where else ''}"
    )


def worse_on(result: SuppliersResult, row: SupplierRow) -> str:
    """Name the backings on which a supplier is worse beyond doubt; empty where none."""
    measure = result.kind.measure
    said = [
        f"{BACKINGS.label_of(each.backing).lower()} ({gap(each.difference, measure)}, "
        f"{interval_of(each.difference_interval, measure, result.level)})"
        for each in row.adjusted.worse_on
    ]
    everywhere = len(said) == len(row.adjusted.on_backings)
    return f"worse on {listed(said)}" if said and not everywhere else ""


def verdict_of(result: SuppliersResult, row: SupplierRow) -> str:
    """Say one verdict with its figures, without a full stop."""
    adjusted, measure, reference = row.adjusted, result.kind.measure, result.reference
    backing = f" on the same jobs with {backing_of(result)}" if result.backing else ""
    figures = (
        f"{rate_of(result.kind.label)} {gap(adjusted.difference, measure)} "
        f"({interval_of(adjusted.difference_interval, measure, result.level)}), over "
        f"{_shared(row, measure)}"
    )
    name, where = row.supplier, worse_on(result, row)
    if adjusted.verdict == "no_worse":
        slightly = ", though slightly worse," if adjusted.difference_interval[0] > 0 else ""
        head = f"{name} is no worse than {reference}{slightly} within {_margin(result)}{backing}"
        so = f"but {where}" if where else f"so buy on price{_price(result, row)}"
        return f"{head}, {so}: {figures}"
    if adjusted.verdict == "not_enough_data":
        head = f"{name} cannot yet be judged against {reference}{backing}"
        return f"{head}{f', but is {where}' if where else ''}: {figures}"
    return f"{name} is {adjusted.verdict} than {reference}{backing}: {figures}"


def needed(result: SuppliersResult, row: SupplierRow) -> str:
    """Say what it would take to judge; empty where it is judged."""
    if row.adjusted.verdict != "not_enough_data" or row.adjusted.withheld:
        return ""
    pieces, lots = row.adjusted.pieces_needed, row.adjusted.lots_needed
    if pieces is None:
        return (
            f" Even {MOST_REPEATS} times this record would not tell: the two may be alike, or as "
            "far apart as the interval says."
        )
    if pieces > MANY_TIMES * row.counted.exposure:
        return (
            f" More than all that {row.supplier} has on record would be needed to tell: too long "
            "to wait for."
        )
    more = exposure_words(result.kind.measure, _roundly(pieces)).replace(" ", " more ", 1)
    fresh = f", from about {number(lots)} new lots," if lots else ""
    return f" About {more}{fresh} would tell, if the difference is as it looks now."


def _roundly(count: int) -> int:
    """Two figures are enough for a forecast."""
    step = int(10 ** max(len(str(count)) - 2, 0))
    return math.ceil(count / step) * step


def _margin(result: SuppliersResult) -> str:
    """Say the margin in points; as a ratio too where the reference's rate is small."""
    margin = result.margin or 0.0
    size = f"{100 * margin:.2g}"
    said = f"{size} point{'' if size == '1' else 's'}"
    own = next(row for row in result.suppliers if row.supplier == result.reference).crude_rate
    if own <= 0 or SMALL_RATE * margin < own:
        return said
    return f"{1 + margin / own:.2g} times {result.reference}'s rate ({said})"


def _shared(row: SupplierRow, measure: Measure) -> str:
    return f"{exposure_words(measure, row.adjusted.shared_pieces)} on shared jobs"


def _price(result: SuppliersResult, row: SupplierRow) -> str:
    """Say what today's prices come to."""
    saving = result.adjusted_cost(row.supplier).price_saving
    if not math.isfinite(saving):
        return ""
    return f" (in backing alone it {_amount(result, saving)} per 100 pieces)"


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
