"""The command that lists what a lot, needle, machine or file touched."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from logbook.cli.options import AsJson, Since, Site, Until, open_named, pairs, window
from logbook.cli.questions import Html
from logbook.cli.terminal import console, plainly, print_json
from logbook.errors import ParameterError
from logbook.questions.trace import QUESTION

# Everything heavier than typer is imported inside the command, so that --help answers at once.


@plainly
def trace(
    context: typer.Context,
    columns: Annotated[
        list[str],
        typer.Argument(
            metavar="COLUMN=VALUE…",
            help="What to follow: backing_lot=A2431, machine=M3, design_version=…",
        ),
    ],
    since: Since = None,
    until: Until = None,
    site: Site = None,
    html: Html = None,
    export: Annotated[
        Path | None,
        typer.Option("--export", metavar="FILE", help="Also write the runs as a run sheet."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """List every run, job, customer and piece that a lot, needle, machine or file touched."""
    from logbook.book.export import export_runs

    days = window(since, until, site)
    of = pairs(columns)
    given = {"since": days.since, "until": days.until, "site": site}
    told = of | {name: value for name, value in given.items() if value is not None}
    with open_named(context) as store:
        try:
            answer = QUESTION.asked(store, **told)
        except ParameterError as problem:
            said = "; ".join(each.rstrip(".") for each in problem.reasons.values())
            raise typer.BadParameter(said) from problem
        if export is not None:
            export_runs(store, export, window=replace(days, where=answer.result.of))
    if html is not None:
        from logbook.report import write_answer

        write_answer(html, answer)
    if as_json:
        print_json(answer.as_json())
        return
    from logbook.cli.render import show_answer

    screen = console()
    show_answer(screen, answer)
    for told_file, path in (("page is", html), ("runs are", export)):
        if path is not None:
            screen.print(f"\nThe {told_file} in {path}", markup=False, soft_wrap=True)
