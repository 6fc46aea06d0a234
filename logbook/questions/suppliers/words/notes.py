"""What would mislead in a comparison of suppliers, and what to keep in mind."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import TYPE_CHECKING

from logbook.good_piece import same_backing, same_word
from logbook.kernels.count_series import Measure
from logbook.questions.suppliers.jobs import total
from logbook.questions.suppliers.stratified import JobDifference, StratifiedCheck
from logbook.questions.suppliers.words.phrases import compared, groups, listed
from logbook.shop import SameMill
from logbook.vocabulary.backings import BACKINGS
from logbook.wording import count_words, exposure_words, number, percent, rate_of, rate_only

if TYPE_CHECKING:
    from logbook.questions.suppliers.result import SupplierRow, SuppliersResult

LITTLE_SHARED = 0.5
"""Below this share of like-for-like pieces, the comparison is said to speak for few of them."""


def misleading(result: SuppliersResult) -> tuple[str, ...]:
    """Say of whom the crude rate points another way than the like-for-like comparison."""
    return tuple(
        _misleads(result, row, check) for row, check in _checked(result) if row.confounding
    )


def heterogeneous(result: SuppliersResult) -> tuple[str, ...]:
    """Say of whom one difference does not fit all jobs."""
    return tuple(
        _heterogeneous(result, row, check) for row, check in _checked(result) if check.heterogeneous
    )


def remarks(result: SuppliersResult) -> tuple[str, ...]:
    """Say what was left out, what cannot be compared, and what the figures carry."""
    return (
        *_method(result),
        *_left_out(result),
        *_comparable(result),
        *_unrecorded(result),
        *_same_mill(result),
        *_cost(result),
    )


def _checked(result: SuppliersResult) -> Iterator[tuple[SupplierRow, StratifiedCheck]]:
    return ((row, row.check) for row in result.suppliers if row.check is not None)


def _misleads(result: SuppliersResult, row: SupplierRow, check: StratifiedCheck) -> str:
    reference, measure, level = str(result.reference), result.kind.measure, result.level
    crude = check.crude
    above = crude.estimate > 0
    rates = [
        rate_only(measure, each.count / each.exposure) for each in (crude.supplier, crude.reference)
    ]
    base = exposure_words(measure, crude.supplier.exposure)
    looked = (
        f"All jobs thrown together, {row.supplier}'s {rate_of(result.kind.label)} is "
        f"{'higher' if above else 'lower'} than {reference}'s ({rates[0]} against {rates[1]}, over "
        f"{base} against {number(crude.reference.exposure)})"
    )
    found = compared(row.like_for_like or check.like_for_like, reference, measure, level)
    jobs = "harder" if above else "easier"
    same = "jobs" if row.adjusted.known else "fabric, backing and weight"
    clear = "" if row.confounding == "reversed" else "there is no clear difference: "
    same = f"but like for like, on the same {same}, {clear}it is {found}"
    return f"{looked}, {same}. {row.supplier} got the {jobs} jobs: trust the like-for-like figure."


def _heterogeneous(result: SuppliersResult, row: SupplierRow, check: StratifiedCheck) -> str:
    p_value = check.fit.homogeneity_p
    chance = "under 0.001" if p_value < 0.001 else f"{p_value:.3f}"
    said = (
        f"The difference between {row.supplier} and {result.reference} is not the same on every "
        f"fabric and backing (chance of such a spread by luck: {chance}), so one figure does not "
        "fit all; lots that differ may be behind it."
    )
    if not check.extremes:
        return said
    high, low = (
        _on_job(each, str(result.reference), result.kind.measure, result.level)
        for each in check.extremes
    )
    return f"{said} Furthest up: {high}. Furthest down: {low}."


def _on_job(each: JobDifference, other: str, measure: Measure, level: float) -> str:
    """Say the difference on one job with what it rests on."""
    found = each.difference
    return (
        f"{each.job.words()}, {compared(found, other, measure, level)}: "
        f"{count_words(measure, found.supplier.count, found.supplier.exposure)} against "
        f"{number(found.reference.count)} {'of' if measure == 'pieces' else 'in'} "
        f"{number(found.reference.exposure)}"
    )


def _method(result: SuppliersResult) -> list[str]:
    notes = []
    if result.why_not_adjusted is not None:
        notes.append(
            f"No verdict: {result.why_not_adjusted} The plain check beside it counts every piece "
            "as if lots were all the same, so its intervals are too narrow."
        )
    notes += [remark for row in result.suppliers for remark in row.adjusted.notes]
    if result.adjusted_given:
        notes += _disagreeing(result)
    if result.kind.measure == "events":
        notes.append(
            f"{result.kind.label} are counted per stitch: there are stitches sewn instead of "
            "pieces inspected, and a margin in points does not apply."
        )
    without = [row.supplier for row in result.suppliers if row.lots == 0]
    if without:
        notes.append(f"No lot of backing was recorded for {listed(without)}.")
    return notes


def _disagreeing(result: SuppliersResult) -> list[str]:
    """Say where the plain check and the adjusted comparison claim different things."""
    notes = []
    for row in result.suppliers:
        check, adjusted = row.check, row.adjusted
        if check is None or not check.jobs or not math.isfinite(adjusted.difference):
            continue
        plain = check.like_for_like
        lower, upper = adjusted.difference_interval
        sure = lower > 0 or upper < 0
        if plain.excludes_zero and not sure:
            notes.append(
                f"The plain check calls {row.supplier} clearly "
                f"{'worse' if plain.estimate > 0 else 'better'} than {result.reference}; the fair "
                "comparison does not, as lots, designs or machines may be behind it. Go by the "
                "fair comparison."
            )
        elif sure and plain.excludes_zero and plain.estimate * adjusted.difference < 0:
            notes.append(
                f"The plain check and the fair comparison point opposite ways on "
                f"{row.supplier}: look at the runs before acting on either."
            )
        elif sure and not plain.excludes_zero:
            notes.append(
                f"The fair comparison tells {row.supplier} from {result.reference}; the plain "
                "check, which knows only fabric, backing and weight, does not."
            )
    return notes


def _left_out(result: SuppliersResult) -> list[str]:
    notes = []
    for counted, why in (
        (result.unnamed, "their backing supplier is not recorded"),
        (result.without_backing, "they were sewn without backing"),
    ):
        if counted.runs:
            base = exposure_words(result.kind.measure, counted.exposure)
            runs = f"{number(counted.runs)} run{'' if counted.runs == 1 else 's'}"
            notes.append(f"Left out: {base} in {runs}, as {why}.")
    return notes


def _comparable(result: SuppliersResult) -> list[str]:
    notes = []
    for row in result.suppliers:
        if row.check is None:
            continue
        if row.check.jobs == 0:
            notes.append(
                f"{row.supplier} and {result.reference} are not comparable: no fabric was sewn on "
                "the same backing and weight from both."
            )
            continue
        base = exposure_words(result.kind.measure, row.counted.exposure)
        if row.like_for_like_share < LITTLE_SHARED:
            notes.append(
                f"The like-for-like comparison of {row.supplier} with {result.reference} speaks "
                f"for {percent(row.like_for_like_share, 0)} of {row.supplier}'s "
                f"{base}, in {groups(row.check.jobs)}: the rest"
                f" lie on jobs that {result.reference} has none of."
            )
        if any(math.isnan(bound) for bound in row.check.like_for_like.interval):
            notes.append(
                f"{row.supplier} and {result.reference}: the {rate_of(result.kind.label)} on "
                "shared jobs gives no interval, as there is too little of it."
            )
    return notes


def _unrecorded(result: SuppliersResult) -> list[str]:
    vague = total(row.counted for row in result.strata if not row.job.recorded)
    if not vague.runs:
        return []
    base = exposure_words(result.kind.measure, vague.exposure)
    return [
        f"{base} lack the fabric, backing or weight. What is not recorded"
        " is taken as alike, which it may not be."
    ]


def _same_mill(result: SuppliersResult) -> list[str]:
    notes = []
    for mill in result.same_mill:
        for one, other in combinations([row.supplier for row in result.suppliers], 2):
            named = [any(same_word(name, said) for said in mill.suppliers) for name in (one, other)]
            if all(named) and _delivered(result, mill, one) and _delivered(result, mill, other):
                on = f" {_label(mill.backing)}" if mill.backing else ""
                notes.append(
                    f"{one} and {other} are marked as selling the same mill's{on or ' backing'}: "
                    "a difference between them there would be one of lots or jobs, not of make."
                )
    return notes


def _delivered(result: SuppliersResult, mill: SameMill, supplier: str) -> bool:
    backing = mill.backing
    return backing is None or any(
        row.supplier == supplier
        and row.job.backing is not None
        and same_backing(row.job.backing, backing)
        for row in result.strata
    )


def _label(backing: str) -> str:
    return BACKINGS.label_of(BACKINGS.understand(backing) or backing).lower()


def _cost(result: SuppliersResult) -> list[str]:
    if not result.suppliers:
        return []
    if not result.costs:
        return ["What a good piece costs was not asked for."]
    costs = [(row.supplier, result.cost(row.supplier)) for row in result.suppliers]
    notes = [
        f"What a good piece costs on {name}'s backing cannot be said: {cost.why_not}."
        for name, cost in costs
        if cost.why_not
    ]
    notes += [f"{remark}." for _, cost in costs for remark in cost.remarks]
    if any(math.isfinite(cost.per_good_piece) for _, cost in costs):
        notes.append(
            "What a good piece costs is on the same jobs: backing at today's prices, and the "
            "shop's own spoilage and rework for each defective piece. Its interval carries the "
            "doubt of the defect rate, lots included, not that of prices."
            if any(math.isfinite(each.per_good_piece) for each in result.adjusted_costs.values())
            else "The cost of a good piece is as recorded, not like for like: harder jobs cost "
            "more. Its interval carries the doubt of the spoilage alone, not that of prices or "
            "lots."
        )
        notes += _as_recorded(result, [name for name, _ in costs])
        if result.costs_assumed:
            notes.append(
                "Costs are usual ones of the trade, not this shop's: put its own into shop.toml."
            )
    return notes


def _as_recorded(result: SuppliersResult, names: Sequence[str]) -> list[str]:
    """Name those whose cost stands beside like-for-like ones but is that of their own jobs."""
    adjusted = [name for name in names if math.isfinite(result.adjusted_cost(name).per_good_piece)]
    said = [name for name in names if math.isfinite(result.good_piece(name)[0])]
    apart = [name for name in said if name not in adjusted]
    if not adjusted or not apart:
        return []
    return [
        f"What a good piece costs on {listed(apart)}'s backing is as recorded, on other jobs: do "
        "not set it against the others."
    ]
