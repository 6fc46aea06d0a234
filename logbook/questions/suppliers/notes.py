"""What would mislead in a comparison of suppliers, and what to keep in mind."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

from logbook.good_piece import same_backing, same_word
from logbook.questions.suppliers.counting import Gathered, total
from logbook.questions.suppliers.like_for_like import Check
from logbook.questions.suppliers.phrases import listed, rate_of
from logbook.questions.suppliers.result import SupplierRow, SuppliersResult
from logbook.questions.suppliers.sentences import groups, misleads, on_job, rests_on
from logbook.shop import SameMill, Shop
from logbook.vocabulary.backings import BACKINGS
from logbook.wording import number, percent

LITTLE_SHARED = 0.5
"""Below this share of like-for-like pieces, the comparison is said to speak for few of them."""


def warnings_of(result: SuppliersResult) -> tuple[str, ...]:
    """Say where the crude figures mislead, then where one figure does not fit all jobs."""
    checked = [(row, row.check) for row in result.suppliers if row.check is not None]
    return (
        *(misleads(result, row, check) for row, check in checked if check.misled),
        *(_uneven(result, row, check) for row, check in checked if check.uneven),
    )


def _uneven(result: SuppliersResult, row: SupplierRow, check: Check) -> str:
    p_value = check.fit.homogeneity_p
    chance = "under 0.001" if p_value < 0.001 else f"{p_value:.3f}"
    said = (
        f"The difference between {row.supplier} and {result.reference} is not the same on every "
        f"fabric and backing (chance of such a spread by luck: {chance}), so one figure does not "
        "fit all; lots that differ may be behind it."
    )
    if not check.furthest:
        return said
    high, low = (
        on_job(each, str(result.reference), result.kind.measure, result.level)
        for each in check.furthest
    )
    return f"{said} Furthest up: {high}. Furthest down: {low}."


def notes_of(result: SuppliersResult, gathered: Gathered, shop: Shop) -> tuple[str, ...]:
    """Say what was left out, what cannot be compared, and what the figures carry."""
    return (
        *_method(result),
        *_left_out(result, gathered),
        *_comparable(result),
        *_unrecorded(result, gathered),
        *_same_mill(result, shop),
        *_cost(result, shop),
    )


def _method(result: SuppliersResult) -> list[str]:
    notes = []
    if result.why_not_fair is not None:
        notes.append(
            f"No verdict: {result.why_not_fair} The plain check beside it counts every piece as if "
            "lots were all the same, so its intervals are too narrow."
        )
    notes += [f"{remark}" for row in result.suppliers for remark in row.fair.notes]
    if result.fair_given:
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
    """Say where the plain check claims a difference that the fair comparison does not, or other."""
    notes = []
    for row in result.suppliers:
        check, fair = row.check, row.fair
        if check is None or not check.jobs or not math.isfinite(fair.difference):
            continue
        plain = check.like_for_like
        lower, upper = fair.difference_interval
        clear = lower > 0 or upper < 0
        if plain.clear and not clear:
            notes.append(
                f"The plain check calls {row.supplier} clearly "
                f"{'worse' if plain.estimate > 0 else 'better'} than {result.reference}; the fair "
                "comparison does not, as lots, designs or machines may be behind it. Go by the "
                "fair comparison."
            )
        elif clear and plain.clear and plain.estimate * fair.difference < 0:
            notes.append(
                f"The plain check and the fair comparison point opposite ways on "
                f"{row.supplier}: look at the runs before acting on either."
            )
        elif clear and not plain.clear:
            notes.append(
                f"The fair comparison tells {row.supplier} from {result.reference}; the plain "
                "check, which knows only fabric, backing and weight, does not."
            )
    return notes


def _left_out(result: SuppliersResult, gathered: Gathered) -> list[str]:
    notes = []
    for counted, why in (
        (gathered.unnamed, "their backing supplier is not recorded"),
        (gathered.without_backing, "they were sewn without backing"),
    ):
        if counted.runs:
            runs = f"{number(counted.runs)} run{'' if counted.runs == 1 else 's'}"
            notes.append(f"Left out: {rests_on(counted, result.kind.measure)} in {runs}, as {why}.")
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
        if row.like_for_like_share < LITTLE_SHARED:
            notes.append(
                f"The like-for-like comparison of {row.supplier} with {result.reference} speaks "
                f"for {percent(row.like_for_like_share, 0)} of {row.supplier}'s "
                f"{rests_on(row.counted, result.kind.measure)}, in {groups(row.check.jobs)}: the "
                f"rest lie on jobs that {result.reference} has none of."
            )
        if any(math.isnan(bound) for bound in row.check.like_for_like.interval):
            notes.append(
                f"{row.supplier} and {result.reference}: the {rate_of(result.kind)} on shared "
                "jobs gives no interval, as there is too little of it."
            )
    return notes


def _unrecorded(result: SuppliersResult, gathered: Gathered) -> list[str]:
    vague = total(
        cell for jobs in gathered.jobs.values() for job, cell in jobs.items() if not job.recorded
    )
    if not vague.runs:
        return []
    return [
        f"{rests_on(vague, result.kind.measure)} lack the fabric, backing or weight. What is not "
        "recorded is taken as alike, which it may not be."
    ]


def _same_mill(result: SuppliersResult, shop: Shop) -> list[str]:
    notes = []
    for mill in shop.same_mill:
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


def _cost(result: SuppliersResult, shop: Shop) -> list[str]:
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
            if any(math.isfinite(each.per_good_piece) for each in result.fair_costs.values())
            else "The cost of a good piece is as recorded, not like for like: harder jobs cost "
            "more. Its interval carries the doubt of the spoilage alone, not that of prices or "
            "lots."
        )
        notes += _as_recorded(result, [name for name, _ in costs])
        if shop.costs_assumed:
            notes.append(
                "Costs are usual ones of the trade, not this shop's: put its own into shop.toml."
            )
    return notes


def _as_recorded(result: SuppliersResult, names: Sequence[str]) -> list[str]:
    """Name those whose cost stands beside like-for-like ones but is that of their own jobs."""
    fair = [name for name in names if math.isfinite(result.fair_cost(name).per_good_piece)]
    said = [name for name in names if math.isfinite(result.good_piece(name)[0])]
    apart = [name for name in said if name not in fair]
    if not fair or not apart:
        return []
    return [
        f"What a good piece costs on {listed(apart)}'s backing is as recorded, on other jobs: do "
        "not set it against the others."
    ]
