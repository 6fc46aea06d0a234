"""A comparison of suppliers in plain words: for the buyer first, then supplier by supplier."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from logbook.questions.suppliers.stratified import Difference
from logbook.questions.suppliers.words.doubts import changed, strengths, withheld
from logbook.questions.suppliers.words.notes import heterogeneous, misleading, remarks
from logbook.questions.suppliers.words.phrases import (
    backing_of,
    compared,
    groups,
    listed,
)
from logbook.questions.suppliers.words.verdicts import needed, verdict_of, verdicts
from logbook.vocabulary.backings import BACKINGS
from logbook.wording import exposure_words, money, number, percent, rate_of, rate_words

if TYPE_CHECKING:
    from logbook.questions.suppliers.result import SupplierRow, SuppliersResult

ONLY_A_LEAD = "This plain check does not allow for lots: treat it as a lead, not a verdict."


def title(result: SuppliersResult) -> str:
    """Say by what suppliers are compared, and on which backing."""
    where = BACKINGS.label_of(result.backing) if result.backing else "all backings"
    return f"suppliers by {result.kind.label.lower()} ({where})"


def headline(result: SuppliersResult) -> str:
    """Say for the buyer what stands out, with its doubt and how far to trust it."""
    return " ".join(headlines(result))


def headlines(result: SuppliersResult) -> tuple[str, ...]:
    """The headline, one verdict each."""
    where = f" on {backing_of(result)}" if result.backing else ""
    said = (
        verdicts(result, where)
        if result.adjusted_given and len(result.suppliers) > 1
        else (_plain_finding(result, where),)
    )
    if result.kind.charged_to_setup:
        return said
    blameless = f"{result.kind.label} came in with the goods: no backing can be blamed for them."
    return (blameless, *said)


def pressing(result: SuppliersResult) -> tuple[str, ...]:
    """Say what has changed, whose verdict is held back, and where the crude figures mislead."""
    return (*changed(result), *withheld(result), *misleading(result))


def warnings(result: SuppliersResult) -> tuple[str, ...]:
    """Say where the crude figures mislead, then where one figure does not fit all jobs."""
    return (*pressing(result), *heterogeneous(result))


def sentences(result: SuppliersResult) -> tuple[str, ...]:
    """One sentence or two for each supplier, the reference first."""
    return tuple(_line(result, row) for row in result.suppliers)


def notes(result: SuppliersResult) -> tuple[str, ...]:
    """Say where one figure does not fit all jobs, what was left out and what figures carry."""
    return (*heterogeneous(result), *strengths(result), *remarks(result))


def _plain_finding(result: SuppliersResult, where: str) -> str:
    if result.reference is None:
        return "No run names its backing supplier, so there is nothing to compare."
    if len(result.suppliers) == 1:
        only = result.suppliers[0]
        return (
            f"Only {only.supplier} is on record{where}: {_crude(result, only)}. There is no other "
            "supplier to compare with."
        )
    told = [
        (row, row.check.like_for_like)
        for row in result.suppliers
        if row.check is not None and not math.isnan(row.check.like_for_like.estimate)
    ]
    if not told:
        return (
            f"No supplier can be compared with {result.reference} like for like{where}: they "
            "share no fabric, backing and weight."
        )
    sure = [(row, found) for row, found in told if found.excludes_zero]
    row, found = max(sure or told, key=lambda each: _standing_out(each[1]))
    said = (
        f"On the same jobs{where}, {row.supplier}'s {rate_of(result.kind.label)} is "
        f"{compared(found, result.reference, result.kind.measure, result.level)}, over "
        f"{exposure_words(result.kind.measure, found.supplier.exposure)}"
    )
    misled = [each.supplier for each in result.suppliers if each.crude_misleads]
    beware = (
        f" The plain rate of {listed(misled)} over all jobs misleads: see the warnings."
        if misled
        else ""
    )
    return f"{said}; {_others(len(told), len(sure))}. {ONLY_A_LEAD}{beware}"


def _others(told: int, sure: int) -> str:
    if sure == 0:
        return "that is within luck" if told == 1 else "no supplier differs by more than luck"
    others = sure - 1
    if told == 1:
        return "that is more than the luck of counting"
    if others == 0:
        return "that is more than the luck of counting, and no other supplier differs clearly"
    return f"that stands out most, and {others} other{'s differ' if others > 1 else ' differs'} too"


def _standing_out(found: Difference) -> float:
    width = found.interval[1] - found.interval[0]
    return abs(found.estimate) / width if width > 0 else -math.inf


def _line(result: SuppliersResult, row: SupplierRow) -> str:
    """Say one supplier: against the reference, what it rests on, what a good piece costs."""
    if row.supplier == result.reference:
        alone = len(result.suppliers) == 1
        role = "" if alone else ", what the others are compared with"
        said = f"{row.supplier}{role}: {_crude(result, row)}."
    else:
        said = _against(result, row)
    per_good_piece, interval = result.good_piece(row.supplier)
    if math.isnan(per_good_piece):
        return said
    amount, lower, upper = (
        money(100 * each, result.currency) for each in (per_good_piece, *interval)
    )
    return (
        f"{said} Backing, spoilage and rework come to {amount} for 100 good pieces "
        f"({percent(result.level, 0)} interval {lower} to {upper})."
    )


def _against(result: SuppliersResult, row: SupplierRow) -> str:
    check, reference, measure = row.check, result.reference, result.kind.measure
    if check is None or reference is None or check.jobs == 0:
        return (
            f"{row.supplier} cannot be compared with {reference} like for like: they share no "
            f"fabric, backing and weight. Over all its jobs: {_crude(result, row)}."
        )
    found = check.like_for_like
    base = f"resting on {exposure_words(measure, found.supplier.exposure)} in {groups(check.jobs)}"
    if row.adjusted.verdict is not None:
        return f"{verdict_of(result, row)}, {base}.{needed(result, row)}"
    said = (
        f"{row.supplier}'s {rate_of(result.kind.label)} is "
        f"{compared(found, reference, measure, result.level)}, {base}."
    )
    if found.excludes_zero:
        return f"On the same jobs, {said} {ONLY_A_LEAD}"
    return f"On the same jobs there is no clear difference: {said}"


def _crude(result: SuppliersResult, row: SupplierRow) -> str:
    words = rate_words(
        result.kind.measure,
        row.counted.count,
        row.counted.exposure,
        row.crude_rate,
        row.crude_interval,
        level=result.level,
    )
    lots = f" from {number(row.lots)} lot{'' if row.lots == 1 else 's'}" if row.lots else ""
    return f"{words}{lots}"
