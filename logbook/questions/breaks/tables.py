"""Breaks by place, a table for each tally."""

from __future__ import annotations

from logbook.questions.breaks.result import BreaksResult, Gathered
from logbook.questions.table import Cell, Heading, Table, table
from logbook.wording import number, percent, percent_interval


def tables(result: BreaksResult) -> tuple[Table, ...]:
    """One row a place; what stands out is in the open, the rest is evidence."""
    return tuple(_of(each) for each in result.judged)


def _of(each: Gathered) -> Table:
    label = each.kind.label
    headings = (
        Heading(label.capitalize()),
        Heading("Breaks", figures=True),
        Heading("Share of the breaks", figures=True),
        Heading("Share of the stitches", figures=True),
    )
    rows: list[list[str | Cell]] = []
    for at, place in enumerate(each.tally.labels):
        stands_out = each.stands_out and at == each.fit.largest
        doubt = percent_interval((float(each.fit.lower[at]), float(each.fit.upper[at])))
        rows.append(
            [
                place,
                Cell(number(each.tally.counts[at]), "alarm" if stands_out else ""),
                f"{percent(float(each.fit.share[at]), 0)} ({doubt})",
                percent(float(each.fit.expected_share[at]), 0),
            ]
        )
    caption = f"Breaks of {each.tally.subject} by {label}"
    return table(caption, headings, rows, folded=not each.stands_out)
