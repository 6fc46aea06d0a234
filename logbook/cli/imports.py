"""The command `imports`: what came in by file, where a run came from, and taking a file back."""

from __future__ import annotations

from typing import Annotated

import typer

from logbook.cli.options import AsJson, open_named
from logbook.cli.terminal import console, plainly, print_json

# Everything heavier than typer is imported inside the commands, so that --help answers at once.

SOURCE = "command line"


@plainly
def imports(
    context: typer.Context,
    back: Annotated[
        str | None,
        typer.Option("--take-back", metavar="KEY", help="Withdraw every run that a file added."),
    ] = None,
    why: Annotated[
        str, typer.Option("--why", metavar="TEXT", help="Kept with the runs taken back.")
    ] = "the import was taken back",
    again: Annotated[
        str | None,
        typer.Option(
            "--read-again", metavar="KEY", help="Apply the reading as it is now to a kept file."
        ),
    ] = None,
    run_ref: Annotated[
        str | None,
        typer.Option("--run", metavar="RUN_REF", help="Say which row of which file a run is."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """List the files that came in; take one back whole, or read it again."""
    from logbook.book.imports import imports as all_imports
    from logbook.book.imports import kept_file, origin_of, take_back
    from logbook.book.sheets import import_sheets

    lines: list[str] = []
    told: dict[str, object] = {}
    with open_named(context) as store:
        if back is not None:
            said, withdrawn = take_back(store, back, why=why, source=SOURCE)
            told["withdrawn"] = withdrawn
            lines.append(f"Took back {said.file}: {withdrawn:,} runs withdrawn.")
        if again is not None:
            result = import_sheets(store, [kept_file(store, again)], amend=True)
            told["read_again"] = result.as_json()
            lines.append(
                f"Read again: {result.added:,} new, {result.amended:,} changed, "
                f"{result.skipped:,} as before, {result.rejected:,} rejected."
            )
        if run_ref is not None:
            origin = origin_of(store, run_ref)
            if origin is None:
                lines.append(f"{run_ref} did not come by file.")
                told["origin"] = None
            else:
                sheet = f", worksheet {origin.worksheet}" if origin.worksheet else ""
                lines.append(f"{run_ref}: {origin.file}{sheet}, row {origin.row} ({origin.key})")
                told["origin"] = {
                    "import": origin.key,
                    "file": origin.file,
                    "sheet": origin.worksheet,
                    "row": origin.row,
                }
        found = all_imports(store)
    if as_json:
        print_json({"imports": [each.as_json() for each in found], **told, "notes": []})
        return
    if not (back or again or run_ref):
        lines = [
            f"{each.key}  {each.at}  {each.file}: {each.added:,} new, {each.amended:,} changed"
            f"{', taken back' if each.taken_back else ''}"
            for each in found
        ] or ["No file has come in yet."]
    for line in lines:
        console().print(line, markup=False, soft_wrap=True)
