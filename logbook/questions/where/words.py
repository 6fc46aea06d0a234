"""What is said of levels: what stands out, by how much, what it rests on and what it cost."""

from __future__ import annotations

import math

from logbook.questions.where.result import Level, SetupUse, WhereResult
from logbook.runs.factors import factor_label, level_label
from logbook.wording import in_hundred, money, number, percent, times, times_interval

SAID, BETTER_SAID = 4, 2
"""Levels above and below that are said in full; the table has them all."""


def title(result: WhereResult) -> str:
    """Say what is asked about and by what."""
    return f"{about(result)} by {result.by_label}"


def headline(result: WhereResult) -> str:
    """Name the level with most money above expectation, with what it rests on."""
    if not result.levels:
        return (
            f"Nothing stands out: {about(result)} {_is(result)} as was to be expected, whichever "
            "column one looks at."
        )
    first = result.levels[0]
    if first.above:
        return f"{first.name} {_said(result, first)}"
    if not result.by:
        return f"Nothing lies above expectation. {_below(result, result.levels[-1])}"
    return (
        f"No {result.by_label} stands out: {about(result)} {_is(result)} as was to be expected. "
        f"Most above lies {first.name}: {figures(result, first)}."
    )


def pressing(result: WhereResult) -> tuple[str, ...]:
    """What would mislead if it were not said."""
    said = []
    if not result.priced:
        said.append(
            "What it cost is not known: nobody wrote down what was spoiled or reworked. Levels "
            "stand by pieces above expectation."
        )
    return tuple(said)


def sentences(result: WhereResult) -> tuple[str, ...]:
    """Each level that surely lies above, then those that surely lie below."""
    above = [each for each in result.levels if each.above][:SAID]
    below = [each for each in reversed(result.levels) if each.below][:BETTER_SAID]
    lines = [f"{each.name}: {_in_full(result, each)}" for each in above]
    lines += [f"Better than expected: {each.name}: {_in_full(result, each)}" for each in below]
    return (*lines, *(setup_line(each) for each in result.setups))


def notes(result: WhereResult) -> tuple[str, ...]:
    """How the figures come about, and what they leave out."""
    said = [
        "Expected is what such runs showed all over the record up to the last day asked about, for "
        "their fabric, backing, lot, design, machine, operator and all else that is written down; "
        "what is asked by is itself no excuse.",
        "Like for like says where to look: the ratio is drawn towards 1 as far as luck may explain "
        "it (Clayton & Kaldor 1987), and times what was expected it gives the money above. As it "
        "was paid says what it cost, hard work and easy work alike.",
        "Where one thing is only ever seen with another (a lot sewn on one design), both may show; "
        "a trial, or crossing the two columns, tells them apart.",
    ]
    if result.within:
        said.append(
            f"Within {result.by_label} lie {', '.join(result.within)}; they are no excuse either."
        )
    if result.unpriced:
        said.append(
            f"{number(result.unpriced)} defective pieces are of runs that did not write down what "
            "was spoiled or reworked; their money is in no sum."
        )
    if result.costs_assumed:
        said.append("The shop has not given its own costs; usual ones are taken.")
    return tuple(said)


def about(result: WhereResult) -> str:
    """What is asked about, within a sentence."""
    if result.kind is None:
        return "money lost"
    label = result.kind.label
    return f"{label[0].lower()}{label[1:]}"


def figures(result: WhereResult, level: Level) -> str:
    """What was seen where what was to be expected, and how sure the ratio is."""
    doubt = f"95 % interval {times_interval(level.interval)} times"
    if result.of_money:
        spent, due = (money(each, result.currency) for each in (level.observed, level.expected))
        return f"{spent} where {due} was to be expected, {doubt}"
    seen = f"{number(level.observed)} {rests_on(result, level)}"
    return f"{seen} where {_few(level.expected)} were to be expected, {doubt}"


def rests_on(result: WhereResult, level: Level) -> str:
    """What it was counted in: ``in 815 pieces``."""
    if result.measure == "events":
        return f"in {number(level.exposure)} stitches"
    return f"in {number(level.pieces_inspected)} pieces"


def setup_line(each: SetupUse) -> str:
    """Say one difference of the setup."""
    ((column, value),) = each.level.items()
    much = "more" if each.share > each.share_of_others else "less"
    return (
        f"{factor_label(column)} {level_label(column, value)} is set up otherwise: "
        f"{factor_label(each.column).lower()} {level_label(each.column, each.value).lower()} is "
        f"used {much} often, on {percent(each.share, 0)} of {number(each.runs)} runs, where the "
        f"others use it on {percent(each.share_of_others, 0)} for the same fabrics."
    )


def _said(result: WhereResult, level: Level) -> str:
    if result.of_money:
        spent, due = (money(each, result.currency) for each in (level.observed, level.expected))
        return (
            f"lost {times(level.ratio)} the money to be expected: {spent} in "
            f"{number(level.pieces_inspected)} pieces where {due} was."
        )
    lost = f"; {money(level.money, result.currency)} lost" if level.money > 0 else ""
    seen = f"{number(level.observed)} {rests_on(result, level)}"
    return (
        f"shows {times(level.ratio)} the {about(result)} to be expected: {seen} where "
        f"{_few(level.expected)} were{lost}."
    )


def _below(result: WhereResult, level: Level) -> str:
    return f"Best is {level.name}: {figures(result, level)}."


def _in_full(result: WhereResult, level: Level) -> str:
    chance = level.chance_above if level.above else 1.0 - level.chance_above
    side = "above" if level.above else "below"
    stake = ""
    if not math.isnan(level.money_above):
        amount = money(abs(level.money_above), result.currency)
        stake = f"; like for like {amount} {'lost above' if level.above else 'saved below'} it"
        if not result.of_money and level.money > 0:
            stake += f" of {money(level.money, result.currency)} paid in all"
    return (
        f"{figures(result, level)}; truly {side} expectation with a chance of "
        f"{in_hundred(chance)}{stake}."
    )


def _few(expected: float) -> str:
    return number(round(expected)) if expected >= 10 else f"{expected:.1f}"


def _is(result: WhereResult) -> str:
    plural = not result.of_money and result.kind is not None and result.kind.label.endswith("s")
    return "are" if plural else "is"
