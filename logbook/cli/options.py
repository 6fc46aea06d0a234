"""Options that several commands share."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from logbook.store import Window
    from logbook.store.duckdb_store import DuckStore
    from logbook.store.served import ServedStore

AsJson = Annotated[
    bool, typer.Option("--json", help="Answer with one JSON object on standard output.")
]
Since = Annotated[
    str | None, typer.Option("--since", metavar="DATE", help="First day, such as 2026-09-01.")
]
Until = Annotated[str | None, typer.Option("--until", metavar="DATE", help="Last day, included.")]
Site = Annotated[str | None, typer.Option("--site", metavar="NAME", help="One site only.")]


def open_named(context: typer.Context) -> DuckStore | ServedStore:
    """Open the book that the command line names, or reach it through the service that holds it."""
    from logbook.store import book_place
    from logbook.store.served import reach_book  # late: heavy, not needed for --help

    return reach_book(book_place(context.obj))


def window(since: str | None, until: str | None, site: str | None) -> Window:
    """Read the days of a window; a slip is wrong usage."""
    from logbook.store import Window  # late: heavy, not needed for --help

    first, last = _day(since, "--since"), _day(until, "--until")
    if first and last and first > last:
        raise typer.BadParameter(f"--since {first} lies after --until {last}")
    return Window(since=first, until=last, site=site)


def _day(text: str | None, option: str) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError as cause:
        raise typer.BadParameter(f"{option} {text!r} is not a date such as 2026-09-01") from cause


def pairs_as_written(words: list[str]) -> dict[str, str]:
    """Read ID=CHOICE words, the ids as they are written; a word without = is wrong usage."""
    values: dict[str, str] = {}
    for word in words:
        # A text may hold the sign; a choice does not.
        key, sign, value = word.rpartition("=")
        if not sign or not key.strip():
            raise typer.BadParameter(f"{word!r} is not ID=CHOICE, such as dates=day_first")
        values[key.strip()] = value.strip()
    return values


def pairs(words: list[str]) -> dict[str, Any]:
    """Read KEY=VALUE words; a word without = is wrong usage."""
    values: dict[str, Any] = {}
    for word in words:
        key, sign, value = word.partition("=")
        name = key.strip().lower().replace("-", "_")
        if not sign or not name:
            raise typer.BadParameter(f"{word!r} is not KEY=VALUE, such as puckering=2")
        if name in values:
            raise typer.BadParameter(f"{name} is given twice")
        values[name] = value
    return values
