"""What was sewn last on each machine."""

from __future__ import annotations

from datetime import date

from logbook.questions.table import Cell, Heading, Table, table
from logbook.questions.today.result import LastOfMachine, TodayResult
from logbook.wording import number


def tables(result: TodayResult) -> tuple[Table, ...]:
    """One row a machine; none where no run of the week names one."""
    if not result.machines:
        return ()
    headings = (
        Heading("Machine"),
        Heading("last run"),
        Heading("job"),
        Heading("design", wide_only=True),
        Heading("with a defect", figures=True),
    )
    rows: list[list[str | Cell]] = [
        [
            each.machine,
            _when(each, result.day),
            each.job or "–",
            each.design or "–",
            _defective(each),
        ]
        for each in result.machines
    ]
    return (table("What was sewn last", headings, rows),)


def _when(each: LastOfMachine, today: date) -> str:
    """Say the time of a run of today, the day of an earlier one."""
    moment = each.finished_at
    return f"{moment:%H:%M}" if moment.date() == today else f"{moment:%a} {moment.day} {moment:%b}"


def _defective(each: LastOfMachine) -> str:
    if each.pieces_inspected is None or each.pieces_defective is None:
        return "not counted"
    return f"{number(each.pieces_defective)} of {number(each.pieces_inspected)}"
