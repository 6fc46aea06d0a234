"""What the terminal shows of an import."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.markup import escape
from rich.table import Table

from logbook.book.sheets import FileOutcome, ImportResult, RejectedRow
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD

SHOWN_REJECTS = 10
"""Reasons, each with the rows that have it."""
SHOWN_ROWS = 3


def show_import(screen: Console, result: ImportResult) -> None:
    """Print what became of each file, then the rows that want mending."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column("Run sheet")
    for heading in ("rows", "new", "there already", "amended", "rejected"):
        table.add_column(heading, justify="right")
    for outcome in result.files:
        counts = (
            outcome.rows,
            outcome.added,
            outcome.skipped,
            outcome.amended,
            outcome.rejected,
        )
        table.add_row(escape(outcome.file), *(f"{count:,}" for count in counts))
    screen.print(table)
    for outcome in result.files:
        _show_file(screen, outcome)
    if result.dry_run:
        screen.print("\nThis was a dry run: nothing was written.")


def grouped(
    rejects: Sequence[RejectedRow],
) -> list[tuple[tuple[str, str], list[int]]]:
    """Rejected rows by column and reason, the commonest first: a reason repeats the cell."""
    groups: dict[tuple[str, str], list[int]] = {}
    for reject in rejects:
        groups.setdefault((reject.column, reject.reason), []).append(reject.row)
    return sorted(groups.items(), key=lambda group: -len(group[1]))


def _rows(rows: Sequence[int]) -> str:
    shown = ", ".join(map(str, rows[:SHOWN_ROWS]))
    return f"{shown} and {len(rows) - SHOWN_ROWS:,} more" if len(rows) > SHOWN_ROWS else shown


def _show_file(screen: Console, outcome: FileOutcome) -> None:
    for note in outcome.notes:
        screen.print(f"note: {escape(outcome.file)}: {escape(note)}")
    if outcome.held:
        screen.print(f"[bold red]HELD[/] {', '.join(map(escape, outcome.held))}")
        screen.print(BROKEN_NEEDLE_HELD)
    if not outcome.rejects:
        return
    screen.print(f"\nRows of {escape(outcome.file)} that were not taken:")
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column("rows", justify="right")
    table.add_column("column")
    table.add_column("reason")
    groups = grouped(outcome.rejects)
    for (column, reason), rows in groups[:SHOWN_REJECTS]:
        table.add_row(_rows(rows), escape(column), escape(reason))
    screen.print(table)
    if len(groups) > SHOWN_REJECTS:
        left = sum(len(rows) for _, rows in groups[SHOWN_REJECTS:])
        screen.print(f"… and {left:,} more rows, of {len(groups) - SHOWN_REJECTS:,} other reasons")
    if outcome.rejects_file:
        screen.print(
            f"They are in [bold]{escape(outcome.rejects_file)}[/]: mend them there and import "
            "that file.",
            soft_wrap=True,
        )
