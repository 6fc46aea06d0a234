"""The command that finds runs again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from logbook.cli.options import AsJson, Since, Site, Until, open_named, pairs, window
from logbook.cli.terminal import console, plainly, print_json

if TYPE_CHECKING:
    from logbook.store import Store

# Everything heavier than typer is imported inside the command, so that --help answers at once.

MOST = 100
HEADINGS = ("Finished", "Run", "What was sewn", "With", "Pieces", "What was counted")


@plainly
def runs(
    context: typer.Context,
    columns: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[COLUMN=VALUE]…",
            help="Any column of the run sheet, its band, or a week: backing_lot=A2431.",
        ),
    ] = None,
    find: Annotated[
        str | None, typer.Option("--find", metavar="WORDS", help="Words of its names and notes.")
    ] = None,
    showing: Annotated[
        str | None,
        typer.Option("--showing", metavar="KIND|any", help="A defect that was counted."),
    ] = None,
    held: Annotated[
        bool, typer.Option("--held", help="Only runs whose needle parts are missing.")
    ] = False,
    limit: Annotated[int, typer.Option("--limit", min=1, help="At most so many.")] = MOST,
    since: Since = None,
    until: Until = None,
    site: Site = None,
    as_json: AsJson = False,
) -> None:
    """Find runs by any column, the last finished first.

    "not recorded" is a value too: backing_lot="not recorded".
    """
    from dataclasses import replace

    from logbook.book.run_search import filters_from, listed_runs, words_of
    from logbook.questions.parameters import kind_understood

    wanted = window(since, until, site)
    with open_named(context) as store:
        wanted = replace(
            wanted,
            where=filters_from(store, pairs(columns or [])),
            words=words_of(find or ""),
            showing=None if showing is None else kind_understood(store, showing),
            held=held,
        )
        found = listed_runs(store, wanted, limit=limit)
        if as_json:
            print_json(found)
            return
        _show(store, found)


def _show(store: Store, found: dict[str, Any]) -> None:
    from rich.table import Table
    from rich.text import Text

    from logbook.book.run_words import outcome

    screen = console()
    if not found["runs"]:
        screen.print("No run matches.")
        return
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for heading in HEADINGS:
        table.add_column(heading, justify="right" if heading == "Pieces" else "left")
    for run in found["runs"]:
        pieces = run["pieces_sewn"] if run["pieces_sewn"] is not None else run["pieces_inspected"]
        cells = (
            run["finished_at"].replace("T", " ")[:16],
            run["run_ref"],
            _joined(run, "job", "design", "fabric"),
            _joined(run, "machine", "operator", "backing_lot"),
            "" if pieces is None else f"{pieces:,}",
            outcome(run, store.shop.kinds),
        )
        held = run["needle_parts_found"] is False
        table.add_row(*(Text(cell, style="red" if held else "") for cell in cells))
    screen.print(table)
    for note in found["notes"]:
        screen.print(Text(f"note: {note}", style="dim"))


def _joined(run: dict[str, Any], *names: str) -> str:
    return " · ".join(str(run[name]) for name in names if run[name])
