"""A store whose book a running service holds: every question goes to that service."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from logbook.errors import LogbookError, StoreError
from logbook.shop import Shop
from logbook.store import Card, Change, Stored, Window
from logbook.store.served.calling import NoAnswer, call, read_json, write_json
from logbook.store.served.notice import Notice
from logbook.store.served.wire import (
    card_in,
    change_in,
    frame_in,
    frame_out,
    stored_in,
    window_out,
    with_as_sent,
)


class RemoteStore:
    """One book, open in the service; safe to share between threads.

    Parameters
    ----------
    notice
        Where the service is.
    folder
        The book's folder on this machine.
    shop
        The settings as they stand in the folder now.
    """

    def __init__(self, notice: Notice, *, folder: Path, shop: Shop) -> None:
        self._notice = notice
        self._folder = folder
        self._shop = shop

    @property
    def place(self) -> str:
        """Where the book is, as the user named it."""
        return str(self._folder)

    @property
    def folder(self) -> Path:
        """The book's folder."""
        return self._folder

    @property
    def shop(self) -> Shop:
        """The shop's settings as read when the service was first asked."""
        return self._shop

    @property
    def address(self) -> str:
        """Where the service answers."""
        return self._notice.address

    def close(self) -> None:
        """Nothing to let go of: the service keeps the book open."""

    def __enter__(self) -> RemoteStore:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def put(
        self,
        runs: pl.DataFrame,
        *,
        source: str,
        amend: bool = False,
        dry_run: bool = False,
        settle: Callable[[Stored], None] | None = None,
        progress: Callable[[int], None] | None = None,
        as_sent: pl.DataFrame | None = None,
    ) -> Stored:
        """Store a run frame as a whole or not at all.

        With ``settle`` the service lays the frame ready, claims its runs, and waits for the word
        before it commits.
        """
        settling = settle is not None and not dry_run
        query = {"source": source, "amend": str(amend), "dry_run": str(dry_run)}
        told = self._json(
            "put",
            frame=with_as_sent(runs, as_sent),
            query=query | {"settling": str(settling)},
            sent=_rows_of(progress, runs.height),
        )
        stored = stored_in(told["stored"])
        if settle is None:
            return stored
        if not settling:
            settle(stored)
            return stored
        word = {"waiting": told["waiting"]}
        try:
            settle(stored)
        except BaseException:
            # The first error counts; a service that hears nothing drops the frame by itself.
            with suppress(LogbookError):
                self._json("settled", word | {"keep": False})
            raise
        return stored_in(self._json("settled", word | {"keep": True}))

    def amend(
        self,
        run_ref: str,
        run: pl.DataFrame,
        *,
        why: str | None,
        source: str,
        seen: int | None = None,
    ) -> None:
        """Replace a run by a one-row frame; the earlier version stays in its history."""
        query = {"run_ref": run_ref, "source": source}
        if why is not None:
            query["why"] = why
        if seen is not None:
            query["seen"] = str(seen)
        self._json("amend", frame=run, query=query)

    def withdraw(self, run_ref: str, *, why: str, source: str, seen: int | None = None) -> None:
        """Take a run out of every count; it stays in the history."""
        self._json("withdraw", {"run_ref": run_ref, "why": why, "source": source, "seen": seen})

    def keep_card(
        self,
        drawer: str,
        card_ref: str,
        content: Mapping[str, Any],
        *,
        source: str,
        about: str | None = None,
        why: str | None = None,
        seen: int | None = None,
    ) -> int:
        """Put a card in its drawer, in place of its earlier version; return its version."""
        asked = {
            "drawer": drawer,
            "card_ref": card_ref,
            "content": dict(content),
            "source": source,
            "about": about,
            "why": why,
            "seen": seen,
        }
        return int(self._json("keep_card", asked))

    def withdraw_card(
        self, drawer: str, card_ref: str, *, why: str, source: str, seen: int | None = None
    ) -> None:
        """Take a card out of its drawer; its versions stay."""
        asked = {"drawer": drawer, "card_ref": card_ref, "why": why, "source": source}
        self._json("withdraw_card", asked | {"seen": seen})

    def cards(
        self, drawer: str, *, refs: Sequence[str] | None = None, about: str | None = None
    ) -> tuple[Card, ...]:
        """The cards of a drawer as they stand, in the order in which they were first kept."""
        asked = {"drawer": drawer, "refs": None if refs is None else list(refs), "about": about}
        return tuple(map(card_in, self._json("ask/cards", asked)))

    def card_history(self, drawer: str, card_ref: str) -> tuple[Card, ...]:
        """Every version of a card, oldest first; empty where there never was one."""
        asked = {"drawer": drawer, "card_ref": card_ref}
        return tuple(map(card_in, self._json("ask/card_history", asked)))

    def runs(
        self,
        window: Window | None = None,
        *,
        refs: Sequence[str] | None = None,
        newest_first: bool = False,
        limit: int | None = None,
        offset: int = 0,
    ) -> pl.DataFrame:
        """The run frame, oldest first unless told."""
        asked = {
            "window": window_out(window),
            "refs": None if refs is None else list(refs),
            "newest_first": newest_first,
            "limit": limit,
            "offset": offset,
        }
        return self._frame("ask/runs", asked)

    def history(self, run_ref: str) -> tuple[Change, ...]:
        """Every version of a run, oldest first."""
        return tuple(map(change_in, self._json("ask/history", {"run_ref": run_ref})))

    def last_run(self, *, machine: str | None = None) -> dict[str, Any] | None:
        """The most recently finished run (of a machine), as a mapping."""
        window = Window(where={} if machine is None else {"machine": machine})
        frame = self.runs(window, newest_first=True, limit=1)
        return None if frame.is_empty() else frame.row(0, named=True)

    def known(self, column: str) -> tuple[str, ...]:
        """Spellings in use of an open list, most used first."""
        return tuple(self._json("ask/known", {"column": column}))

    def span(self) -> tuple[date, date] | None:
        """First and last day with a run; None for an empty book."""
        days = self._json("ask/span", {})
        return None if days is None else (date.fromisoformat(days[0]), date.fromisoformat(days[1]))

    def count(self) -> int:
        """How many runs are in the book (not counting withdrawn ones)."""
        return int(self._json("ask/count", {}))

    def cells(
        self, kinds: Sequence[str], *, by: Sequence[str] = (), window: Window | None = None
    ) -> pl.DataFrame:
        """Cells of the kinds (``any`` allowed), long, with a ``kind`` column; one query."""
        asked = {"kinds": list(kinds), "by": list(by), "window": window_out(window)}
        return self._frame("ask/cells", asked)

    def totals(self, *, by: Sequence[str] = (), window: Window | None = None) -> pl.DataFrame:
        """Whole-run sums by group; see the interface for the columns."""
        return self._frame("ask/totals", {"by": list(by), "window": window_out(window)})

    def snapshot(self, folder: Path) -> dict[str, int]:
        """Write every table, as of one moment, to Parquet files; return the rows by table."""
        return dict(self._json("ask/snapshot", {"folder": str(folder.resolve())}))

    def _frame(self, what: str, asked: dict[str, Any]) -> pl.DataFrame:
        return frame_in(self._answer(what, asked))

    def _json(self, what: str, asked: Any = None, **more: Any) -> Any:
        return read_json(self._answer(what, asked, **more))

    def _answer(
        self,
        what: str,
        asked: Any = None,
        *,
        frame: pl.DataFrame | None = None,
        query: dict[str, str] | None = None,
        sent: Callable[[float], object] | None = None,
    ) -> bytes:
        body = write_json(asked) if frame is None else frame_out(frame)
        try:
            return call(self._notice, what, query=query, body=body, sent=sent)
        except NoAnswer as cause:
            raise StoreError(
                f"The service that holds the book at {self.place} went away before it answered "
                f"({cause}).",
                "repeat the last step: what has a reference, or came in a sheet, is not added "
                "twice",
            ) from cause


def _rows_of(progress: Callable[[int], None] | None, rows: int) -> Callable[[float], object] | None:
    """Turn the share of a body that was sent into rows, one after another."""
    if progress is None:
        return None
    done = 0

    def sent(share: float) -> None:
        nonlocal done
        now = round(share * rows)
        progress(now - done)
        done = now

    return sent
