"""A comparison of suppliers in plain words: for the buyer first, then supplier by supplier."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from logbook.kernels.points import Measure
from logbook.questions.suppliers.counting import Counted
from logbook.questions.suppliers.like_for_like import Check, Difference, JobDifference
from logbook.questions.suppliers.phrases import doubt, gap, listed, rate_of
from logbook.questions.suppliers.verdicts import judged, needed, verdict_of
from logbook.vocabulary.backings import BACKINGS
from logbook.wording import (
    count_words,
    money,
    number,
    percent,
    rate_only,
    rate_words,
)

if TYPE_CHECKING:
    from logbook.questions.suppliers.result import SupplierRow, SuppliersResult

ONLY_A_LEAD = "This plain check does not allow for lots: treat it as a lead, not a verdict."


def compared(difference: Difference, other: str, measure: Measure, level: float) -> str:
    """Say ``2.1 points above Alder's (95 % interval 1.4 to 2.8 points above)``."""
    return (
        f"{gap(difference.estimate, measure)} {other}'s "
        f"({doubt(difference.interval, measure, level)})"
    )


def rests_on(counted: Counted, measure: Measure) -> str:
    """Say ``8,120 pieces inspected`` or ``541,000 stitches sewn``."""
    unit = "pieces inspected" if measure == "pieces" else "stitches sewn"
    return f"{number(counted.exposure)} {unit}"


def groups(count: int) -> str:
    """Say how many jobs are shared."""
    return f"{number(count)} like-for-like group{'' if count == 1 else 's'}"


def on_job(each: JobDifference, other: str, measure: Measure, level: float) -> str:
    """Say the difference on one job with what it rests on."""
    found = each.difference
    return (
        f"{each.job.words()}, {compared(found, other, measure, level)}: "
        f"{count_words(measure, found.supplier.count, found.supplier.exposure)} against "
        f"{number(found.reference.count)} {'of' if measure == 'pieces' else 'in'} "
        f"{number(found.reference.exposure)}"
    )


def misleads(result: SuppliersResult, row: SupplierRow, check: Check) -> str:
    """Warn that the crude rate points another way than the like-for-like comparison."""
    reference, measure, level = str(result.reference), result.kind.measure, result.level
    crude = check.crude
    above = crude.estimate > 0
    rates = [
        rate_only(measure, each.count / each.exposure) for each in (crude.supplier, crude.reference)
    ]
    looked = (
        f"All jobs thrown together, {row.supplier}'s {rate_of(result.kind)} is "
        f"{'higher' if above else 'lower'} than {reference}'s ({rates[0]} against {rates[1]}, over "
        f"{rests_on(crude.supplier, measure)} against {number(crude.reference.exposure)})"
    )
    fair = compared(check.like_for_like, reference, measure, level)
    jobs = "harder" if above else "easier"
    if check.misled == "reversed":
        same = f"but like for like, on the same fabric, backing and weight, it is {fair}"
    else:
        same = (
            "but like for like, on the same fabric, backing and weight, there is no clear "
            f"difference: it is {fair}"
        )
    return f"{looked}, {same}. {row.supplier} got the {jobs} jobs: trust the like-for-like figure."


def headlines(result: SuppliersResult) -> tuple[str, ...]:
    """Say what stands out, with its doubt and how far to trust it: one verdict each."""
    said = (
        judged(result, _where(result))
        if result.fair_given and len(result.suppliers) > 1
        else (_plain_finding(result),)
    )
    if result.kind.charged_to_setup:
        return said
    blameless = f"{result.kind.label} came in with the goods: no backing can be blamed for them."
    return (blameless, *said)


def _where(result: SuppliersResult) -> str:
    return f" on {BACKINGS.label_of(result.backing).lower()}" if result.backing else ""


def _plain_finding(result: SuppliersResult) -> str:
    if result.reference is None:
        return "No run names its backing supplier, so there is nothing to compare."
    where = _where(result)
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
    clear = [(row, found) for row, found in told if found.clear]
    row, found = max(clear or told, key=lambda each: _standing_out(each[1]))
    said = (
        f"On the same jobs{where}, {row.supplier}'s {rate_of(result.kind)} is "
        f"{compared(found, result.reference, result.kind.measure, result.level)}, over "
        f"{rests_on(found.supplier, result.kind.measure)}"
    )
    misled = [each.supplier for each in result.suppliers if each.crude_misleads]
    beware = (
        f" The plain rate of {listed(misled)} over all jobs misleads: see the warnings."
        if misled
        else ""
    )
    return f"{said}; {_others(len(told), len(clear))}. {ONLY_A_LEAD}{beware}"


def _others(told: int, clear: int) -> str:
    if clear == 0:
        return "that is within luck" if told == 1 else "no supplier differs by more than luck"
    others = clear - 1
    if told == 1:
        return "that is more than the luck of counting"
    if others == 0:
        return "that is more than the luck of counting, and no other supplier differs clearly"
    return f"that stands out most, and {others} other{'s differ' if others > 1 else ' differs'} too"


def _standing_out(found: Difference) -> float:
    width = found.interval[1] - found.interval[0]
    return abs(found.estimate) / width if width > 0 else -math.inf


def line(result: SuppliersResult, row: SupplierRow) -> str:
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
    base = f"resting on {rests_on(found.supplier, measure)} in {groups(check.jobs)}"
    if row.fair.verdict is not None:
        return f"{verdict_of(result, row)}, {base}.{needed(result, row)}"
    said = (
        f"{row.supplier}'s {rate_of(result.kind)} is "
        f"{compared(found, reference, measure, result.level)}, {base}."
    )
    if found.clear:
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
