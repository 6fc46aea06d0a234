"""The command `match`: how a strange sheet would be read, asked and kept."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.options import AsJson, open_named, pairs_as_written
from logbook.cli.terminal import REFUSED, console, plainly, print_json, print_notes

if TYPE_CHECKING:
    from rich.console import Console

    from logbook.book.sheet_readings import SheetMatch
    from logbook.runs.sheet_matching.asking import Question
    from logbook.store import Store

# Everything heavier than typer is imported inside the commands, so that --help answers at once.

SOURCE = "command line"
SHOWN_ROWS = 3
SHOWN_TEXTS = 12


@plainly
def match(
    context: typer.Context,
    file: Annotated[
        Path,
        typer.Argument(
            metavar="FILE", help="Any workbook or text file; - for what is piped or pasted in."
        ),
    ],
    name: Annotated[
        str | None, typer.Option("--as", metavar="NAME", help="What to call the reading.")
    ] = None,
    yes: Annotated[
        bool, typer.Option("--yes", help="Take the likelier answer to what is open, and keep it.")
    ] = False,
    answer: Annotated[
        list[str] | None,
        typer.Option(
            "--answer",
            metavar="ID=CHOICE",
            help="Answer a question; column.HEADING=NAME or COLUMN.TEXT=VALUE say what is meant.",
        ),
    ] = None,
    sheet: Annotated[
        str | None, typer.Option("--sheet", metavar="NAME", help="One worksheet alone.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Say how a strange sheet would be read, and keep the reading for sheets like it.

    Leaves with status 1 where a question is open that only the shop can answer, such as which
    number of its dates is the day.
    """
    import sys

    from logbook.book.sheet_readings import keep_reading, match_file

    answers = pairs_as_written(answer or [])
    path, data = _given(file)
    with open_named(context) as store:
        found = match_file(store, path, data=data, sheet=sheet, answers=answers, take_best=yes)
        asks = sys.stdin.isatty() and sys.stdout.isatty() and not (as_json or yes)
        if asks:
            found = _asked(store, found, path, data, sheet, answers)
        decided = yes or name is not None or bool(answers)
        wanted = not found.matched.questions and (
            typer.confirm("Keep this reading?", default=True) if asks else decided
        )
        if wanted:
            found = keep_reading(store, found, name=name, source=SOURCE)
    if as_json:
        print_json(found.as_json())
    elif not asks or found.kept_as:
        show_match(console(), found, brief=asks)
    if found.matched.unsettled and (yes or decided):
        screen_errors = [f"{each.id}: {each.asks}" for each in found.matched.unsettled]
        print_notes(screen_errors)
        raise typer.Exit(REFUSED)


def _given(file: Path) -> tuple[Path, bytes | None]:
    import sys

    if str(file) != "-":
        return file, None
    return Path("pasted.txt"), sys.stdin.buffer.read()


def _asked(
    store: Store,
    found: SheetMatch,
    path: Path,
    data: bytes | None,
    sheet: str | None,
    answers: dict[str, str],
) -> SheetMatch:
    """Show the sheet, then ask what is open, one question after another."""
    from logbook.book.sheet_readings import match_file

    show_match(console(), found)
    while found.matched.questions:
        question = found.matched.questions[0]
        answers[question.id] = _answer_to(question)
        found = match_file(store, path, data=data, sheet=sheet, answers=answers)
    return found


def _answer_to(question: Question) -> str:
    from logbook.errors import NotAnAnswer

    screen = console()
    screen.print(f"\n{question.asks}", markup=False)
    for number, choice in enumerate(question.choices, start=1):
        screen.print(f"  {number}  {choice}", markup=False)
    while True:
        said = typer.prompt("Your answer", default=question.best or "", show_default=True).strip()
        if said.isdigit() and 1 <= int(said) <= len(question.choices):
            said = question.choices[int(said) - 1]
        try:
            return question.checked(said)
        except NotAnAnswer as problem:
            screen.print(problem.hint or problem.message, markup=False)


def show_match(screen: Console, found: SheetMatch, *, brief: bool = False) -> None:
    """Print how a sheet would be read: columns, first rows, what is unclear."""
    from rich.markup import escape
    from rich.table import Table

    matched = found.matched
    where = matched.gathered.table
    sheet = f", worksheet {where.grid.name}" if where.grid.name else ""
    screen.print(
        f"{matched.file}{sheet}: heading in row {where.heading_row}, "
        f"{matched.gathered.cells.height:,} rows, {found.parsed.good.height:,} runs",
        markup=False,
        soft_wrap=True,
    )
    if not brief:
        table = Table(box=None, pad_edge=False, header_style="bold")
        for heading in ("Heading", "is", "sure", "because"):
            table.add_column(heading)
        for column in matched.reading.columns:
            table.add_row(
                escape(column.heading),
                column.means or "—",
                f"{column.confidence:.0%}" if column.means else "",
                escape(column.because),
            )
        screen.print(table)
        for line in first_rows(found):
            screen.print(line, markup=False, soft_wrap=True)
    for each in matched.prepared.not_understood[:SHOWN_TEXTS]:
        screen.print(
            f"not understood: {each.column}: “{each.text}” ({each.rows} rows)", markup=False
        )
    print_notes(found.notes)
    for question in matched.questions:
        likely = f" [{question.best}]" if question.best else ""
        choices = ", ".join(question.choices)
        screen.print(f"? {question.id}: {question.asks} {choices}{likely}", markup=False)
    if found.kept_as:
        screen.print(
            f"Kept as {found.kept_as}: sheets like it come in with `logbook import`.", markup=False
        )
    elif not brief:
        screen.print("Not kept yet: --yes takes the answers in brackets.", markup=False)


def first_rows(found: SheetMatch) -> list[str]:
    """The first rows as they stand, and the runs that they become."""
    from logbook.runs.sheet_matching.matching import shown_rows

    lines = []
    stands = shown_rows(found.matched, SHOWN_ROWS).to_dicts()
    becomes = found.raw.named.head(SHOWN_ROWS).to_dicts()
    for number, row, run in zip(found.raw.numbers, stands, becomes, strict=False):
        said = " | ".join(value for value in row.values() if value)
        run_says = ", ".join(
            f"{name}={value}" for name, value in run.items() if value and name != "run_ref"
        )
        lines += [f"row {number}: {said}", f"    → {run_says}"]
    return lines
