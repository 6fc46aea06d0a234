"""Findings side by side."""

from __future__ import annotations

from logbook.calendar_weeks import iso_week
from logbook.questions.table import Cell, Heading, Table, Tone, table
from logbook.questions.watch.result import Finding, WatchResult
from logbook.questions.watch.words import grade
from logbook.questions.watch.words.findings import where
from logbook.short_figures import money_or_not_known
from logbook.wording import number, times


def tables(result: WatchResult) -> tuple[Table, ...]:
    """One row a finding; none where nothing was found."""
    if not result.findings:
        return ()
    headings = (
        Heading("where"),
        Heading("what"),
        Heading("since"),
        Heading("observed", figures=True, wide_only=True),
        Heading("expected", figures=True, wide_only=True),
        Heading("ratio", figures=True),
        Heading("luck shows it once in", figures=True, wide_only=True),
        Heading(f"cost, {result.currency}", figures=True),
        Heading("", wide_only=True),
    )
    rows = [_row(each) for each in result.findings]
    return (table("What is different", headings, rows),)


def _row(each: Finding) -> list[str | Cell]:
    weeks = each.recurrence_weeks
    return [
        where(each.level),
        Cell(each.kind.label.lower(), _tone(each)),
        iso_week(each.since),
        number(each.observed),
        number(round(each.expected, 1)),
        times(each.ratio),
        f"{number(round(weeks))} weeks" if weeks == weeks else "not sought",
        money_or_not_known(round(each.money)),
        grade(each),
    ]


def _tone(each: Finding) -> Tone:
    if each.known is not None:
        return "quiet"
    if each.direction == "below":
        return "relief"
    return "alarm" if each.grade == "found" else "watch"
