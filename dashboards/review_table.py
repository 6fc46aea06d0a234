"""The week's kinds of defect as a table: what stands out in sight, the rest folded."""

from __future__ import annotations

import math
from collections.abc import Sequence

import streamlit as st

from dashboards import review_titles
from dashboards.tables import Cell, Heading, table
from logbook.questions.review.analyse import Defect, ReviewResult
from logbook.short_figures import (
    ABSENT,
    NOT_KNOWN,
    count_short,
    interval_short,
    money_or_not_known,
    rate_short,
)

TONES = {"more_than_usual": "alarm", "less_than_usual": "relief"}
HEADINGS = (
    Heading("Defect"),
    Heading("This week", figures=True, wide_only=True),
    Heading("Rate", figures=True),
    Heading("95 % interval", figures=True, wide_only=True),
    Heading("12 weeks before", figures=True, wide_only=True),
    Heading("Verdict"),
)
IN_SIGHT = 5
"""Kinds that are read without unfolding; more where more stand out."""
WORTH_FOLDING = 3


def how_much(result: ReviewResult) -> None:
    """Write the kinds in the order of their cost, each with its verdict."""
    if not result.rows:
        return
    st.subheader("How much went wrong", anchor="how-much")
    seen, rest = in_sight(result)
    with st.container(key="review-table"):
        _table(result, seen, f"Defects of week {result.week}, dearest first")
        if rest:
            with st.expander(review_titles.kinds_left(rest)):
                _table(result, rest, f"Further defects of week {result.week}")


def in_sight(result: ReviewResult) -> tuple[list[Defect], list[Defect]]:
    """Part the rows: any defect, what stands out and the dearest, and those that may be folded.

    Parameters
    ----------
    result
        The review.

    Returns
    -------
    tuple
        Both in the order of the review; the second is empty where folding saves nothing.
    """
    rows = list(result.rows)
    if len(rows) < IN_SIGHT + WORTH_FOLDING:
        return rows, []
    first = {id(each) for each in result.standing_out}
    if result.any_defect is not None:
        first.add(id(result.any_defect))
    for each in rows:
        if len(first) >= IN_SIGHT:
            break
        first.add(id(each))
    rest = [each for each in rows if id(each) not in first]
    if len(rest) < WORTH_FOLDING:
        return rows, []
    return [each for each in rows if id(each) in first], rest


def _table(result: ReviewResult, rows: Sequence[Defect], caption: str) -> None:
    by_cost = result.ordered_by == "cost"
    cost = (Heading(f"Cost, {result.currency}", figures=True, wide_only=True),) if by_cost else ()
    table(
        (*HEADINGS, *cost),
        [_row(each, currency=result.currency if by_cost else None) for each in rows],
        caption=caption,
    )


def _row(each: Defect, *, currency: str | None) -> list[str | Cell]:
    """Write a row; a phone reads below the words what has no column there."""
    judged = each.judged
    measure = judged.kind.measure
    tone = "watch" if judged.watch else TONES.get(judged.verdict, "")
    before, amount = rate_short(measure, judged.rate_before), money_or_not_known(each.amount)
    interval = interval_short(measure, judged.interval)
    counted = count_short(measure, judged.count, judged.exposure, millions="million")
    known = f"cost {amount}" if amount == NOT_KNOWN else f"{currency} {amount}"
    cost = (known,) if currency and amount != ABSENT else ()
    before_narrow = _together(_without_unit(before, of=judged.rate))
    row: list[str | Cell] = [
        Cell(judged.kind.label, narrow=(counted, *cost)),
        count_short(measure, judged.count, judged.exposure),
        Cell(
            rate_short(measure, judged.rate),
            narrow=(
                _together(interval),
                f"before: {before_narrow}",
            ),
        ),
        interval,
        before,
        Cell(each.verdict_words.capitalize(), tone),
    ]
    return [*row, amount] if currency else row


def _without_unit(before: str, *, of: float) -> str:
    """Leave ``in 100,000`` to the week's rate, which stands above it, where there is one."""
    return before.partition(" in ")[0] if math.isfinite(of) else before


def _together(words: str) -> str:
    """Keep the unit on the line of its figure."""
    return words.replace(" %", "\N{NO-BREAK SPACE}%")
