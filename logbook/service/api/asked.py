"""The commands' options as query parameters: same names, same meanings."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Annotated, Any

from fastapi import Depends, Request
from pydantic import BaseModel, ConfigDict, Field

from logbook.book.run_search import FILTERS, filters_from, words_of
from logbook.errors import RecordError
from logbook.store import Window
from logbook.store.duckdb_store import DuckStore
from logbook.vocabulary import ANY, kind

MOST_LISTED = 10_000

Day = Annotated[str | None, Field(json_schema_extra={"format": "date"})]
Site = Annotated[str | None, Field(description="One site only.")]
Defect = Annotated[
    str, Field(description="A defect kind, such as puckering or thread_breaks; or any.")
]


class Asked(BaseModel):
    """Parameters of one question; others are refused, so that no slip goes unseen."""

    model_config = ConfigDict(extra="forbid")


class InWindow(Asked):
    """A question about some days and one site."""

    since: Day = Field(None, description="First day, such as 2026-09-01.")
    until: Day = Field(None, description="Last day, included.")
    site: Site = None

    def window(self) -> Window:
        """Read the days.

        Raises
        ------
        RecordError
            One is no date, or they are the wrong way round.
        """
        first, last = _day("since", self.since), _day("until", self.until)
        if first and last and first > last:
            raise wrong("since", f"since {first} lies after until {last}")
        return Window(since=first, until=last, site=self.site)


class RunsAsked(InWindow):
    """Which runs to list; every other parameter is a column that they are filtered by."""

    model_config = ConfigDict(extra="allow")

    find: Annotated[
        str | None, Field(description="Words that must stand in a run's names or notes.")
    ] = None
    showing: Annotated[str | None, Field(description="A defect kind that was counted, or any.")] = (
        None
    )
    held: Annotated[bool, Field(description="Only runs whose needle parts are missing.")] = False
    limit: Annotated[int, Field(ge=1, le=MOST_LISTED, description="At most so many.")] = 100

    def runs_window(self, book: DuckStore) -> Window:
        """Read days, columns and words.

        Raises
        ------
        RecordError
            A parameter is none, or cannot be read.
        """
        told = {str(name): str(value) for name, value in (self.model_extra or {}).items()}
        for name in told:
            if name not in FILTERS:
                raise wrong(name, f"there is no parameter {name!r} here")
        return replace(
            self.window(),
            where=filters_from(book, told),
            words=words_of(self.find or ""),
            showing=None if self.showing is None else kind_named(book, self.showing),
            held=self.held,
        )


async def given_once(request: Request) -> None:
    """Refuse a parameter that is given twice: which one counts would be a guess."""
    seen: set[str] = set()
    for name, _ in request.query_params.multi_items():
        if name in seen:
            raise wrong(name, f"{name} is given twice")
        seen.add(name)


GIVEN_ONCE = Depends(given_once)


def only(*names: str) -> Any:
    """Refuse every parameter but these: a slip must not pass unseen."""

    async def no_others(request: Request) -> None:
        await given_once(request)
        for name in request.query_params:
            if name not in names:
                raise wrong(name, f"there is no parameter {name!r} here")

    return Depends(no_others)


def wrong(name: str, says: str) -> RecordError:
    """A parameter that cannot be taken."""
    return RecordError(
        f"The question was not answered: {says}.",
        "mend what is named and ask again",
        reasons={name: says},
    )


def kind_named(book: DuckStore, name: str) -> str:
    """The defect kind that is meant; labels of the trade are understood too.

    Raises
    ------
    VocabularyError
        There is none of that name.
    """
    if name.casefold() in (ANY.name, ANY.label.casefold()):
        return ANY.name
    return kind(name, own=book.shop.own_kinds).name


def _day(name: str, text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError as cause:
        raise wrong(name, f"{name} {text!r} is not a date such as 2026-09-01") from cause
