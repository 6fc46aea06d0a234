"""A store whose book a running service holds: every operation is asked of that service."""

from __future__ import annotations

from abc import update_abstractmethods
from collections.abc import Callable
from contextlib import suppress
from functools import wraps
from pathlib import Path
from typing import Any

import polars as pl

from logbook.errors import LogbookError, StoreError
from logbook.shop import Shop
from logbook.store.interface import Store, Stored
from logbook.store.served.calling import NoAnswer, call
from logbook.store.served.notice import Notice
from logbook.store.served.operations import PENDING_OPERATIONS, STORE_OPERATIONS, Operation


def _asks(operation: Operation) -> Callable[..., Any]:
    @wraps(operation.method, updated=())
    def method(self: ServedStore, *positional: object, **named: object) -> Any:
        return self._answer(operation, operation.asked(*positional, **named))

    return method


def _asking_the_rest(store: type) -> type:
    """Give a store the operations that it does not define, each asked of the service."""
    for name in STORE_OPERATIONS.keys() - vars(store).keys():
        setattr(store, name, _asks(STORE_OPERATIONS[name]))
    return update_abstractmethods(store)


@_asking_the_rest
class ServedStore(Store):
    """One book, open in the service; safe to share between threads.

    What is not written out here asks the service as the interface's own signatures say.

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
        self.place, self.shop = str(folder), shop
        self.folder: Path = folder

    @property
    def address(self) -> str:
        """Where the service answers."""
        return self._notice.address

    def close(self) -> None:
        """Nothing to let go of: the service keeps the book open."""

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
        more: dict[str, Any] = {"source": source, "amend": amend, "as_sent": as_sent}
        sent = _rows_of(progress, runs.height)
        if settle is None or dry_run:
            asked = STORE_OPERATIONS["put"].asked(runs, dry_run=dry_run, **more)
            stored: Stored = self._answer(STORE_OPERATIONS["put"], asked, sent=sent)
            if settle is not None:
                settle(stored)
            return stored
        pending = PENDING_OPERATIONS["put_pending"]
        name, would = self._answer(pending, pending.asked(runs, **more), sent=sent)
        word = PENDING_OPERATIONS["settle"]
        try:
            settle(would)
        except BaseException:
            # The first error counts; a service that hears nothing drops the frame by itself.
            with suppress(LogbookError):
                self._answer(word, word.asked(name, keep=False))
            raise
        kept: Stored = self._answer(word, word.asked(name, keep=True))
        return kept

    def _answer(
        self, operation: Operation, asked: bytes, *, sent: Callable[[float], object] | None = None
    ) -> Any:
        try:
            answer = call(self._notice, operation.method.__name__, body=asked, sent=sent)
        except NoAnswer as cause:
            raise StoreError(
                f"The service that holds the book at {self.place} went away before it answered "
                f"({cause}).",
                "repeat the last step: what has a reference, or came in a sheet, is not added "
                "twice",
            ) from cause
        return operation.read(answer)


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
