"""Levels side by side, dearest first."""

from __future__ import annotations

from logbook.questions.losses.result import LossesResult
from logbook.questions.losses.words import named
from logbook.questions.table import Cell, Heading, Table, table
from logbook.short_figures import count_short, interval_short, money_or_not_known, rate_short
from logbook.wording import number, percent

SHOWN = 30
"""Levels past these are told in the downloaded figures and with --json."""


def tables(result: LossesResult) -> tuple[Table, ...]:
    """One row a level."""
    headings = (
        Heading(result.by_label),
        Heading("runs", figures=True, wide_only=True),
        Heading("any defect", figures=True, wide_only=True),
        Heading("rate", figures=True),
        Heading("95 % interval", figures=True, wide_only=True),
        Heading(f"lost, {result.currency}", figures=True),
        Heading("share", figures=True),
        Heading("per 100 pieces", figures=True, wide_only=True),
    )
    rows: list[list[str | Cell]] = [
        [
            named(result, each),
            number(each.runs),
            count_short("pieces", each.count, each.pieces_inspected),
            rate_short("pieces", each.rate),
            interval_short("pieces", each.interval),
            money_or_not_known(each.cost),
            percent(each.share_of_cost, 0),
            money_or_not_known(each.cost_per_100_pieces),
        ]
        for each in result.levels[:SHOWN]
    ]
    more = len(result.levels) - len(rows)
    legend = f"and {number(more)} more, each less dear" if more > 0 else ""
    return (table(f"Losses by {result.by_label.lower()}", headings, rows, legend=legend),)
