"""Commands that keep the book safe: backup, restore, verify."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from logbook.cli.options import AsJson, open_named
from logbook.cli.terminal import REFUSED, console, plainly, print_json, print_notes

# Everything heavier than typer is imported inside the commands, so that --help answers at once.


@plainly
def backup(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="File to write, such as book.zip.")],
    as_json: AsJson = False,
) -> None:
    """Write the whole book to one file: runs, history, settings, photos and designs.

    A backup that stands there is replaced; any other file is left alone.
    """
    from logbook.safekeeping.backups import back_up

    with open_named(context) as store:
        made = back_up(store, file)
    print_notes(made.notes)
    if as_json:
        print_json(made.as_json())
        return
    pictures = made.files_in("photos") + made.files_in("designs")
    console().print(
        f"Wrote {made.runs:,} runs with their history, the settings and {pictures:,} photos and "
        f"designs to {file} ({made.bytes / 1e6:,.1f} MB)",
        markup=False,
        soft_wrap=True,
    )


@plainly
def restore(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A file that backup wrote.")],
    as_json: AsJson = False,
) -> None:
    """Make a book of a backup, in the folder that --book names; it must be new or empty."""
    from logbook.safekeeping.backups import restore as restore_backup
    from logbook.store import book_place

    restored = restore_backup(file, book_place(context.obj))
    if as_json:
        print_json(restored.as_json())
        return
    screen = console()
    screen.print(
        f"Restored {restored.runs:,} runs with their history to {restored.book}, as of "
        f"{restored.manifest.made_at:%Y-%m-%d %H:%M} UTC",
        markup=False,
        soft_wrap=True,
    )
    for note in restored.notes:
        screen.print(f"note: {note}", markup=False, soft_wrap=True)


@plainly
def verify(
    context: typer.Context,
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="A backup; left out: the book.")
    ] = None,
    against: Annotated[
        Path | None,
        typer.Option("--against", metavar="BACKUP", help="What it holds must still be there."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Check that everything still is as it was written down, in the book or in a backup.

    Leaves with status 0 where all is whole, 1 where something is wrong.
    """
    from logbook.safekeeping.verifying import verify_backup, verify_book

    if file is not None and against is not None:
        raise typer.BadParameter("--against is about the book; leave FILE out")
    if file is None:
        with open_named(context) as store:
            found = verify_book(store, against=against)
    else:
        found = verify_backup(file)
    if as_json:
        print_json(found.as_json())
    else:
        screen = console()
        told = [f"  {problem.where}: {problem.says}" for problem in found.problems]
        for line in (found.finding(), *told, *(f"note: {note}" for note in found.notes)):
            screen.print(line, markup=False, soft_wrap=True)
        if found.advice:
            screen.print(f"[bold]What to do:[/] {found.advice}", soft_wrap=True)
    if not found.whole:
        raise typer.Exit(REFUSED)
