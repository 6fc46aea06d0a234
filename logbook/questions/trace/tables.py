"""Jobs, kinds of defect and runs that were touched, as tables."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from logbook.book.run_words import outcome
from logbook.questions.table import Cell, Heading, Table, table
from logbook.questions.trace.result import TraceResult
from logbook.questions.trace.words import MANY
from logbook.runs.address import PAGE, runs_address
from logbook.short_figures import ABSENT
from logbook.wording import number


def tables(result: TraceResult) -> tuple[Table, ...]:
    """Jobs first, since customers are to be told; then what was seen, then every run."""
    return (_jobs(result), _kinds(result), _runs(result))


def _jobs(result: TraceResult) -> Table:
    headings = (
        Heading("Job"),
        Heading("Customer", wide_only=True),
        Heading("runs", figures=True),
        Heading("pieces", figures=True),
        Heading("last finished", wide_only=True),
    )
    rows = [
        (
            Cell(each.job, address=runs_address({"job": each.job}), narrow=(each.customer or "",)),
            each.customer or ABSENT,
            number(each.runs),
            number(each.pieces),
            f"{each.last:%Y-%m-%d}",
        )
        for each in result.jobs
    ]
    return table("Jobs touched", headings, rows)


def _kinds(result: TraceResult) -> Table:
    headings = (
        Heading("Defect"),
        Heading("counted", figures=True),
        Heading("expected", figures=True),
    )
    rows = [
        (
            each.kind.label,
            number(each.observed),
            ABSENT if each.expected is None else number(each.expected),
        )
        for each in sorted(result.counts, key=lambda one: -(one.observed - (one.expected or 0.0)))
    ]
    return table("What they showed", headings, rows)


def _runs(result: TraceResult) -> Table:
    headings = (
        Heading("Run"),
        Heading("Finished"),
        Heading("Job and design", wide_only=True),
        Heading("Machine", wide_only=True),
        Heading("pieces", figures=True),
        Heading("What was counted", wide_only=True),
    )
    kinds = [each.kind for each in result.counts]
    rows = [
        (
            Cell(
                run["run_ref"],
                tone="alarm" if run["needle_parts_found"] is False else "",
                address=f"{PAGE}?run={quote(run['run_ref'], safe='')}",
            ),
            f"{run['finished_at']:%Y-%m-%d %H:%M}",
            _joined(run, "job", "design"),
            run["machine"] or ABSENT,
            _pieces(run),
            outcome(run, kinds),
        )
        for run in result.runs.iter_rows(named=True)
    ]
    return table("Every run", headings, rows, folded=len(rows) > MANY)


def _joined(run: dict[str, Any], *names: str) -> str:
    return " · ".join(str(run[name]) for name in names if run[name]) or ABSENT


def _pieces(run: dict[str, Any]) -> str:
    pieces = run["pieces_inspected"] if run["pieces_sewn"] is None else run["pieces_sewn"]
    return ABSENT if pieces is None else number(pieces)
