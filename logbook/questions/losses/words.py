"""What is said of losses: where most money went, and what is not in it."""

from __future__ import annotations

import math

from logbook.questions.losses.result import Level, LossesResult
from logbook.runs.factors import level_label
from logbook.wording import money, number, percent, rate_words


def title(result: LossesResult) -> str:
    """Say by what they are added up."""
    return f"losses by {result.by_label.lower()}"


def headline(result: LossesResult) -> str:
    """Name the dearest level with its money, its share and its rate."""
    first = result.levels[0]
    if math.isnan(first.cost):
        return (
            "What defects cost cannot be said: nobody wrote down what was spoiled or reworked. "
            f"Most defects are on {named(result, first)}: {rated(first)}."
        )
    if first.cost <= 0:
        return f"Nothing was lost to defects at any of {number(len(result.levels))} levels."
    return (
        f"Most was lost on {named(result, first)}: {money(first.cost, result.currency)} of "
        f"{money(result.total_cost, result.currency)} ({percent(first.share_of_cost, 0)}); any "
        f"defect {rated(first)}."
    )


def pressing(result: LossesResult) -> tuple[str, ...]:
    """Raw money is no comparison: hard work costs more wherever it is sewn."""
    if len(result.levels) < 2:
        return ()
    return (
        "This is the money as it was lost, not like for like: who sews most, or the hardest "
        "work, loses most.",
    )


def sentences(result: LossesResult) -> tuple[str, ...]:
    """The table says the rest."""
    del result
    return ()


def notes(result: LossesResult) -> tuple[str, ...]:
    """What is counted, and what is not."""
    said = [
        "Counted are spoilage and rework allotted to the kinds of defect that a run shows, and "
        "the standstill by breaks; faults that came in with the goods are not."
    ]
    if result.uncosted:
        said.append(
            f"{number(result.uncosted)} defective pieces are at levels where nobody wrote down "
            "what was spoiled or reworked; their cost is not known and in no sum."
        )
    return tuple(said)


def named(result: LossesResult, level: Level) -> str:
    """Say a level as pages do."""
    return level_label(result.by, level.level)


def rated(level: Level) -> str:
    """Say the rate of any defect with what it rests on."""
    return rate_words("pieces", level.count, level.pieces_inspected, level.rate, level.interval)
