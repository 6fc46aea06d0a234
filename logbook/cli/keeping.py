"""Commands that keep the record: new, demo, import, add, amend, withdraw, export."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.options import AsJson, Since, Site, Until, open_named, pairs, window
from logbook.cli.terminal import (
    SOME_REJECTED,
    console,
    plainly,
    print_json,
    print_notes,
    progress_bar,
)

if TYPE_CHECKING:
    from logbook.book.runs import Logged

# Everything heavier than typer is imported inside the commands, so that --help answers at once.

SOURCE = "command line"


def called() -> str:
    """The program's name as the user types it: under ``uv run`` it is on no path of its own."""
    return "uv run logbook" if os.environ.get("UV_RUN_RECURSION_DEPTH") else "logbook"


@plainly
def new(
    folder: Annotated[str, typer.Argument(metavar="DIR", help="Folder to make the book in.")],
    as_json: AsJson = False,
) -> None:
    """Start an empty book."""
    from logbook.store import new_book

    with new_book(folder) as store:
        place = store.place
    if as_json:
        print_json({"book": place, "notes": []})
        return
    screen = console()
    for line in (
        f"An empty book is ready at {place}",
        f"Its settings (costs, prices, own lists) are in {Path(place) / 'shop.toml'}",
        f"Next: {called()} --book {place} import SHEET.csv   or   {called()} --book {place} serve",
    ):
        screen.print(line, markup=False, soft_wrap=True)


@plainly
def demo(
    context: typer.Context,
    folder: Annotated[
        str, typer.Option("--folder", metavar="DIR", help="Where to make the demo book.")
    ] = "demo-book",
    serve: Annotated[
        bool, typer.Option("--serve", help="Open the pages in this terminal afterwards.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Make a book of an invented shop's year and print its last weekly review."""
    from logbook.book.demo import make_demo
    from logbook.cli.render import show_answer
    from logbook.questions import QUESTIONS
    from logbook.store.served import reach_book

    with progress_bar(quiet=as_json) as progress:
        store, taken = make_demo(context.obj or folder, progress=progress, reach=reach_book)
    with store:
        place = store.place
        review = QUESTIONS["review"].asked(store)
        if as_json:
            print_json(review.as_json() | {"book": place, "import": taken.as_json()})
        else:
            screen = console()
            screen.print(
                f"The demo book at {place} holds {store.count():,} runs of an invented shop. "
                "This is the review of its last week.\n",
                markup=False,
                soft_wrap=True,
            )
            show_answer(screen, review)
            for line in (
                f"\nSuppliers:  {called()} --book {place} suppliers --defect puckering",
                f"Pages:      {called()} --book {place} serve",
            ):
                screen.print(line, markup=False, soft_wrap=True)
    if serve:
        from logbook.service import run as run_service

        run_service(place)


@plainly
def import_(
    context: typer.Context,
    files: Annotated[list[Path], typer.Argument(metavar="FILE…", help="CSV, XLSX or Parquet.")],
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Say what would happen and write nothing.")
    ] = False,
    amend: Annotated[
        bool, typer.Option("--amend", help="Let a changed run replace the one in the book.")
    ] = False,
    sheet: Annotated[
        str | None, typer.Option("--sheet", metavar="NAME", help="Worksheet of an XLSX file.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Take run sheets into the book; bad rows go to a rejects file beside the sheet.

    Leaves with status 0 where every row was taken or there already, 3 where some rows were
    rejected, 1 where a file was refused.
    """
    from logbook.book.answerable import said_of
    from logbook.book.sheets import import_sheets
    from logbook.cli.importing import show_import

    with open_named(context) as store, progress_bar(quiet=as_json) as progress:
        result = import_sheets(
            store, files, sheet=sheet, amend=amend, dry_run=dry_run, progress=progress
        )
        told = said_of(store) if result.added and not (dry_run or as_json) else ()
    if as_json:
        print_json(result.as_json())
    else:
        show_import(console(), result)
        for line in told:
            console().print(line, markup=False, soft_wrap=True)
    if result.rejected:
        raise typer.Exit(SOME_REJECTED)


@plainly
def add(
    context: typer.Context,
    values: Annotated[
        list[str], typer.Argument(metavar="KEY=VALUE…", help="Same names as the run sheet.")
    ],
    as_json: AsJson = False,
) -> None:
    """Log one run, for example: add machine=M1 pieces_inspected=24 puckering=0."""
    from logbook.book.runs import log_run

    with open_named(context) as store:
        logged = log_run(store, pairs(values), source=SOURCE)
    _show_logged(logged, "Logged" if logged.added else "Already in the book:", as_json=as_json)


@plainly
def amend(
    context: typer.Context,
    run_ref: Annotated[str, typer.Argument(metavar="RUN_REF", help="The run's reference.")],
    values: Annotated[
        list[str],
        typer.Argument(metavar="KEY=VALUE…", help="New values; KEY= takes one back."),
    ],
    why: Annotated[
        str | None, typer.Option("--why", metavar="TEXT", help="Kept with the change.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Correct a run; the version before stays in its history."""
    from logbook.book.runs import amend_run

    with open_named(context) as store:
        amended = amend_run(store, run_ref, pairs(values), why=why, source=SOURCE)
    word = "Amended" if amended.added else "Nothing to change in"
    _show_logged(amended, word, as_json=as_json)


@plainly
def withdraw(
    context: typer.Context,
    run_ref: Annotated[str, typer.Argument(metavar="RUN_REF", help="The run's reference.")],
    why: Annotated[str, typer.Option("--why", metavar="TEXT", help="The reason, kept.")],
    as_json: AsJson = False,
) -> None:
    """Take a run out of every count; it stays in the history."""
    from logbook.book.runs import withdraw_run

    with open_named(context) as store:
        withdraw_run(store, run_ref, why=why, source=SOURCE)
    if as_json:
        print_json({"run_ref": run_ref, "withdrawn": True, "notes": []})
    else:
        console().print(f"Withdrawn {run_ref}: {why.strip()}", markup=False)


@plainly
def export(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Ending .csv, .xlsx or .parquet.")],
    since: Since = None,
    until: Until = None,
    site: Site = None,
    as_json: AsJson = False,
) -> None:
    """Write runs to a file; importing it again adds nothing."""
    from logbook.book.export import export_runs

    stood_there = file.exists()
    with open_named(context) as store:
        rows = export_runs(store, file, window=window(since, until, site))
    notes = [f"An earlier file stood in {file} and was replaced."] if stood_there else []
    print_notes(notes)
    if as_json:
        print_json({"file": str(file), "rows": rows, "notes": notes})
    else:
        console().print(f"Wrote {rows:,} runs to {file}", markup=False, soft_wrap=True)


def _show_logged(logged: Logged, word: str, *, as_json: bool) -> None:
    if as_json:
        print_json(logged.as_json())
        return
    screen = console()
    screen.print(f"{word} {logged.run_ref}", markup=False)
    for note in logged.notes:
        screen.print(f"note: {note}", markup=False)
    if logged.held:
        from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD

        screen.print(f"[bold red]HELD[/] {BROKEN_NEEDLE_HELD}")
