"""The week's kinds of defect as a table: counted, against the weeks before, judged, costed."""

from __future__ import annotations

import math
from collections.abc import Sequence

from logbook.questions.review.reviewed import Defect, ReviewedWeek
from logbook.questions.review.words.kinds import verdict_words
from logbook.questions.table import Cell, Heading, Table, Tone, table
from logbook.short_figures import (
    ABSENT,
    NOT_KNOWN,
    count_short,
    interval_short,
    money_or_not_known,
    rate_short,
)

TONES: dict[str, Tone] = {"more_than_usual": "alarm", "less_than_usual": "relief"}
HEADINGS = (
    Heading("Defect"),
    Heading("This week", figures=True, wide_only=True),
    Heading("Rate", figures=True),
    Heading("95 % interval", figures=True, wide_only=True),
    Heading("12 weeks before", figures=True, wide_only=True),
    Heading("Verdict"),
)


def tables(result: ReviewedWeek) -> tuple[Table, ...]:
    """One row a kind, any defect first, then dearest first."""
    return (of_rows(result, result.rows, f"Defects of week {result.week}, dearest first"),)


def of_rows(result: ReviewedWeek, rows: Sequence[Defect], caption: str) -> Table:
    """Some of the review's rows as a table."""
    by_cost = result.ordered_by == "cost"
    cost = (Heading(f"Cost, {result.currency}", figures=True, wide_only=True),) if by_cost else ()
    currency = result.currency if by_cost else None
    return table(caption, (*HEADINGS, *cost), [_row(each, currency=currency) for each in rows])


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
            narrow=(_together(interval), f"before: {before_narrow}"),
        ),
        interval,
        before,
        Cell(verdict_words(each).capitalize(), tone),
    ]
    return [*row, amount] if currency else row


def _without_unit(before: str, *, of: float) -> str:
    """Leave ``in 100,000`` to the week's rate, which stands above it, where there is one."""
    return before.partition(" in ")[0] if math.isfinite(of) else before


def _together(words: str) -> str:
    """Keep the unit on the line of its figure."""
    return words.replace(" %", "\N{NO-BREAK SPACE}%")
