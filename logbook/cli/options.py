"""Options that several commands share."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

import typer

from logbook.errors import VocabularyError

if TYPE_CHECKING:
    from logbook.store import Store, Window
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


def amount(text: str) -> float:
    """Read a number from nought up, decimal comma or point; a slip is wrong usage."""
    try:
        value = float(text.replace(",", "."))
    except ValueError as cause:
        raise typer.BadParameter(f"{text!r} is not a number, such as 1 or 0.5") from cause
    if not 0 <= value < float("inf"):
        raise typer.BadParameter(f"{text} is not a number from nought up, such as 1 or 0.5")
    return value


def kind_named(store: Store, name: str | None, *, any_allowed: bool) -> str:
    """Check the name of a defect kind; labels of the trade are understood too.

    Where none is named, the kinds of the book are listed.
    """
    from logbook.vocabulary import ANY, kind  # late: not needed for --help

    if name is None:
        kinds = [*([ANY.name] if any_allowed else []), *(each.name for each in store.shop.kinds)]
        raise typer.BadParameter(f"name a kind with --defect: {', '.join(kinds)}")
    if name.casefold() in (ANY.name, ANY.label.casefold()):
        if any_allowed:
            return ANY.name
        raise typer.BadParameter("'any' has no chart of its own here; name one defect kind")
    try:
        return kind(name, own=store.shop.own_kinds).name
    except VocabularyError as problem:
        raise typer.BadParameter(str(problem)) from problem


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
