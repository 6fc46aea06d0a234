"""What is told ahead of an order, as a table."""

from __future__ import annotations

from logbook.questions.forecast.result import ForecastResult
from logbook.questions.table import Heading, Table, table
from logbook.short_figures import ABSENT
from logbook.wording import number

FEW = 10
"""Fewer pieces are told with a decimal."""


def tables(result: ForecastResult) -> tuple[Table, ...]:
    """Pieces lost and reworked, then the kinds of defect that will be seen most."""
    headings = (
        Heading("Of the order"),
        Heading("expected", figures=True),
        Heading("likely range", figures=True),
    )
    counts = [("Lost", result.lost), *((each.kind.label, each.count) for each in result.kinds)]
    rows = [
        (
            label,
            _some(count.expected),
            f"{number(count.lower)} to {number(count.upper)}",
        )
        for label, count in counts
    ]
    if result.rework is not None:
        rows.insert(1, ("Reworked", _some(result.rework), ABSENT))
    return (table("Pieces told ahead", headings, rows),)


def _some(pieces: float) -> str:
    return number(round(pieces, 1)) if pieces < FEW else number(round(pieces))
