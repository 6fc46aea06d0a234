"""What the costs of defects say: the kind to work on first, and the few that matter."""

from __future__ import annotations

import math

from logbook.costing import KindCost
from logbook.questions.costs.result import CostsResult, rate_of
from logbook.wording import money, number, percent, rate_words

MOST_OF_IT = 0.8
"""The share that the "vital few" make up (Juran's reading of Pareto): words, not a test."""


def title(result: CostsResult) -> str:
    """Say what is ranked."""
    return "what defects cost" if result.by_cost else "how often defects came up"


def headline(result: CostsResult) -> str:
    """Name the kind that comes first, with what it rests on, and the few that matter."""
    if result.costed.total_count == 0:
        return "No defect was counted."
    if result.only is not None:
        return _only_one(result, result.only)
    first = result.costed.kinds[0]
    rests_on = _rests_on(result, first)
    few = _few(result)
    if not result.by_cost:
        return (
            f"{first.kind.label} came up most: {rests_on}; {percent(first.share_of_count, 0)} "
            f"of the {number(result.costed.total_count)} defects counted. {few}"
        ).rstrip()
    cost = money(first.cost, result.currency)
    whole = money(result.costed.total_cost, result.currency)
    share = percent(first.share_of_cost, 0)
    if math.isnan(first.share_of_cost):
        return f"No cost was recorded for any defect; {first.kind.label} came up in {rests_on}."
    return (
        f"{first.kind.label} cost most: {cost} of {whole} ({share}), from {rests_on}. {few}"
    ).rstrip()


def pressing(result: CostsResult) -> tuple[str, ...]:  # noqa: ARG001 - nothing misleads here
    """Nothing of the order misleads beside its headline."""
    return ()


def sentences(result: CostsResult) -> tuple[str, ...]:  # noqa: ARG001 - the table says the rest
    """Nothing beside the table."""
    return ()


def notes(result: CostsResult) -> tuple[str, ...]:
    """What to keep in mind of the order and the money."""
    said = []
    if result.order == "cost" and not result.by_cost:
        said.append(
            "Nobody recorded what was spoiled or reworked, so the order is by count and costs of "
            "pieces cannot be said: fill in pieces_spoiled, pieces_reworked or rework_minutes."
        )
    unknown = [each.kind.label for each in result.costed.kinds if math.isnan(each.cost)]
    if result.by_cost and unknown:
        said.append(
            f"Without record of spoilage or rework, and so in no share: {', '.join(unknown)}."
        )
    if not result.by_cost and len({each.kind.measure for each in result.costed.kinds}) == 2:
        said.append("Counts of pieces and counts of events are ranked together: read with care.")
    if result.by_cost and result.costs_assumed:
        said.append(
            "Costs are usual ones of the trade, not this shop's: put its own into shop.toml."
        )
    if result.by_cost:
        said.append(
            "Spoilage and rework are recorded for a run and divided among its defects by their "
            "counts; the rates carry intervals, the money is as recorded."
        )
    said += [
        f"{each.kind.label}: {_rests_on(result, each)}. They came in with the goods, so they are "
        "kept apart and charged to no setup."
        for each in result.costed.apart
        if each.count > 0
    ]
    return tuple(said)


def not_drawn(result: CostsResult) -> str:
    """Name the kinds that no drawing can show; empty where there are none."""
    unknown = [
        each.kind.label.lower()
        for each in result.costed.kinds
        if each.count > 0 and math.isnan(result.size(each))
    ]
    return f"Not drawn, since the cost is not known: {', '.join(unknown)}." if unknown else ""


def amount_and_share(result: CostsResult, each: KindCost) -> str:
    """Say what a kind cost (or how often it came up), and its part of the whole."""
    if not result.by_cost:
        return f"{number(each.count)} ({percent(each.share_of_count, 0)})"
    return f"{money(each.cost, result.currency)} ({percent(each.share_of_cost, 0)})"


def _only_one(result: CostsResult, only: KindCost) -> str:
    name, rests_on = only.kind.label.lower(), _rests_on(result, only)
    if not result.by_cost:
        return f"Only {name} came up: {rests_on}."
    cost = money(only.cost, result.currency)
    if any(math.isnan(each.cost) and each.count > 0 for each in result.costed.kinds):
        return f"The only cost known is that of {name}: {cost}, from {rests_on}."
    return f"Only {name} cost anything: {cost}, from {rests_on}."


def _few(result: CostsResult) -> str:
    counted = [each for each in result.costed.kinds if each.count > 0]
    needed = 1 + sum(each.cumulative_share < MOST_OF_IT for each in counted[:-1])
    if needed == len(counted):
        return ""
    what = "cost" if result.by_cost else "count"
    share = percent(counted[needed - 1].cumulative_share, 0)
    first = "The first kind makes" if needed == 1 else f"The first {needed} kinds make"
    return f"{first} up {share} of the {what}."


def _rests_on(result: CostsResult, each: KindCost) -> str:
    interval = result.intervals[each.kind.name]
    return rate_words(each.kind.measure, each.count, each.exposure, rate_of(each), interval)
