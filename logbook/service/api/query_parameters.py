"""Query parameters that are read by hand: those of listed runs, and each given once."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

from fastapi import Depends, Request
from pydantic import ConfigDict, Field

from logbook.book.run_search import filters, filters_from, words_of
from logbook.cells import PERIODS
from logbook.errors import RecordError
from logbook.questions.parameters import InWindow, kind_understood
from logbook.store import Window
from logbook.store.duckdb_store import DuckStore

MOST_LISTED = 10_000


class RunsParameters(InWindow):
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
        known = {*filters(book.shop), *PERIODS}
        for name in told:
            if name not in known:
                raise wrong(name, f"there is no parameter {name!r} here")
        return replace(
            self.window(),
            where=filters_from(book, told),
            words=words_of(self.find or ""),
            showing=None if self.showing is None else kind_understood(book, self.showing),
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
