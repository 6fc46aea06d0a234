"""What the terminal shows: errors, JSON, progress, and the width of things."""

from __future__ import annotations

import functools
import json
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from threading import Timer
from typing import TYPE_CHECKING, Any, ParamSpec

import typer

from logbook.errors import LogbookError

# Rich is imported where something is drawn, so that --help answers at once.
if TYPE_CHECKING:
    from rich.console import Console

P = ParamSpec("P")

PLAIN_WIDTH = 110
"""Width of tables where the output is not a terminal."""

SLOW_SECONDS = 2.0
"""From so long on a question is told to be under way."""

REFUSED = 1
SOME_REJECTED = 3


def console(*, stderr: bool = False) -> Console:
    """Return the console on which people read."""
    from rich.console import Console  # late: see above

    screen = Console(stderr=stderr, highlight=False)
    if not screen.is_terminal:
        screen = Console(stderr=stderr, highlight=False, width=PLAIN_WIDTH)
    return screen


def print_json(answer: Mapping[str, Any]) -> None:
    """Write one JSON object to standard output, and nothing else."""
    sys.stdout.write(json.dumps(answer, ensure_ascii=False, allow_nan=False) + "\n")


def print_notes(notes: Iterable[str]) -> None:
    """Say on standard error what to keep in mind, whatever goes to standard output."""
    for note in notes:
        console(stderr=True).print(f"note: {note}", markup=False, soft_wrap=True)


def plainly(command: Callable[P, None]) -> Callable[P, None]:
    """Say our own errors in words and leave with the contract's exit status."""

    @functools.wraps(command)
    def run(*args: P.args, **kwargs: P.kwargs) -> None:
        try:
            command(*args, **kwargs)
        except LogbookError as problem:
            _say(problem, as_json=bool(kwargs.get("as_json")))
            raise typer.Exit(REFUSED) from problem
        except BrokenPipeError:
            # The reader (head, less) went away: nothing is wrong.
            sys.stderr.close()
            raise typer.Exit(0) from None

    return run


def _say(problem: LogbookError, *, as_json: bool) -> None:
    if as_json:
        notes = [problem.message] + ([problem.hint] if problem.hint else [])
        print_json({"error": problem.message, "hint": problem.hint, "notes": notes})
    screen = console(stderr=True)
    screen.print(f"[bold red]error:[/] {_plain(problem.message)}", soft_wrap=True)
    if problem.hint:
        screen.print(f"[bold]hint:[/]  {_plain(problem.hint)}", soft_wrap=True)


def _plain(text: str) -> str:
    from rich.markup import escape  # late: see above

    return escape(text)


@contextmanager
def progress_bar(*, quiet: bool) -> Iterator[Callable[[str, int, int], None] | None]:
    """Show a bar on standard error while long work goes on; nothing where nobody watches."""
    if quiet or not sys.stderr.isatty():
        yield None
        return
    from rich.progress import (  # late: see above
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeRemainingColumn,
    )

    bar = Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("rows"),
        TimeRemainingColumn(),
        console=console(stderr=True),
        transient=True,
    )
    tasks: dict[str, Any] = {}
    with bar:

        def tell(what: str, done: int, total: int) -> None:
            if what not in tasks:
                tasks[what] = bar.add_task(what, total=total)
            bar.update(tasks[what], completed=done)

        yield tell


@contextmanager
def told_while_waiting(words: str) -> Iterator[None]:
    """Say on standard error what is being done, and for how long, where it takes a while."""
    if not sys.stderr.isatty():
        yield
        return
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn  # late: above

    text = TextColumn("{task.description}", markup=False)
    screen = console(stderr=True)
    bar = Progress(SpinnerColumn(), text, TimeElapsedColumn(), console=screen, transient=True)
    bar.add_task(words)
    soon = Timer(SLOW_SECONDS, bar.start)
    soon.daemon = True
    soon.start()
    try:
        yield
    finally:
        soon.cancel()
        soon.join()
        if bar.live.is_started:
            bar.stop()
