"""The commands, as a list that can be read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

import typer

from logbook.cli import (
    access,
    action,
    imports,
    keeping,
    matching,
    measuring,
    runs,
    safekeeping,
    serving,
    trace,
    trials,
)
from logbook.cli.questions import command_of
from logbook.questions import QUESTIONS


@dataclass(frozen=True, slots=True)
class Command:
    """One command: its name and the function behind it, or the commands below it."""

    name: str
    function: Callable[..., None] | typer.Typer


COMMANDS: tuple[Command, ...] = (
    Command("demo", keeping.demo),
    Command("new", keeping.new),
    Command("import", keeping.import_),
    Command("match", matching.match),
    Command("imports", imports.imports),
    Command("add", keeping.add),
    *(Command(each.name, command_of(each)) for each in QUESTIONS.values() if each.as_command),
    Command("trial", trials.application),
    Command("action", action.action),
    Command("measure", measuring.measure),
    Command("trace", trace.trace),
    Command("runs", runs.runs),
    Command("amend", keeping.amend),
    Command("withdraw", keeping.withdraw),
    Command("export", keeping.export),
    Command("backup", safekeeping.backup),
    Command("restore", safekeeping.restore),
    Command("verify", safekeeping.verify),
    Command("serve", serving.serve),
    Command("passcode", access.passcode),
    Command("token", access.token),
)

application = typer.Typer(
    name="logbook",
    help="A production log and defect analytics service for machine embroidery.",
    no_args_is_help=True,
    add_completion=False,
    # Plain help: drawing it with Rich takes longer than everything else together.
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
for command in COMMANDS:
    if isinstance(command.function, typer.Typer):
        application.add_typer(command.function, name=command.name)
    else:
        application.command(command.name)(command.function)


def _version(asked: bool) -> None:
    if asked:
        from importlib.metadata import version  # late: seldom asked for

        typer.echo(f"logbook {version('embroidery-logbook')}")
        raise typer.Exit


@application.callback()
def options(
    context: typer.Context,
    book: Annotated[
        str | None,
        typer.Option(
            "--book",
            metavar="BOOK",
            help="Folder of the book. Otherwise LOGBOOK_BOOK, else ./book.",
        ),
    ] = None,
    version: Annotated[  # noqa: ARG001 - acts by its callback
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Say which version."),
    ] = False,
) -> None:
    """Log embroidery runs, review the week's defects, compare backing suppliers."""
    context.obj = book


def main() -> None:
    """Run the command line."""
    application()
