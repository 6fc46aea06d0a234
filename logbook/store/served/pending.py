"""Frames that lie ready in the book and wait for their sender's word before they are kept."""

from __future__ import annotations

import secrets
import threading
from collections.abc import Callable
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass, field

import polars as pl

from logbook.errors import LogbookError, StoreError
from logbook.store.interface import Store, Stored

SETTLE_SECONDS = 20.0
"""How long a sender may take, to write its rejects file; then the frame is dropped."""


class _NotKept(LogbookError):
    """The sender wants nothing kept."""


@dataclass(frozen=True, slots=True)
class _Pending:
    shown: Future[Stored] = field(default_factory=Future)
    word: Future[bool] = field(default_factory=Future)
    done: Future[Stored] = field(default_factory=Future)


class PendingPuts:
    """The frames that wait, by a name that only their sender knows.

    Parameters
    ----------
    book
        Gives the open book.
    seconds
        How long a frame waits.
    """

    def __init__(self, book: Callable[[], Store], *, seconds: float = SETTLE_SECONDS) -> None:
        self._book = book
        self._seconds = seconds
        self._lock = threading.Lock()
        self._waiting: dict[str, _Pending] = {}

    def put_pending(
        self, runs: pl.DataFrame, *, source: str, amend: bool, as_sent: pl.DataFrame | None
    ) -> tuple[str, Stored]:
        """Lay a frame ready, as :meth:`Store.put`; its name, and what would become of it."""
        one = _Pending()
        name = secrets.token_hex(16)
        with self._lock:
            self._waiting[name] = one

        def work() -> None:
            try:
                stored = self._book().put(
                    runs,
                    source=source,
                    amend=amend,
                    as_sent=as_sent,
                    settle=lambda would: self._await_word(one, would),
                )
                one.done.set_result(stored)
            except BaseException as problem:
                one.done.set_exception(problem)
            finally:
                with self._lock:
                    self._waiting.pop(name, None)

        threading.Thread(target=work, name="pending-put", daemon=True).start()
        wait((one.shown, one.done), return_when=FIRST_COMPLETED)
        return name, (one.shown if one.shown.done() else one.done).result()

    def settle(self, name: str, *, keep: bool) -> Stored | None:
        """Give the word for a frame; what became of it, None where it was dropped.

        Raises
        ------
        StoreError
            No such frame waits, or it could not be kept.
        """
        with self._lock:
            one = self._waiting.pop(name, None)
        if one is None:
            raise self._too_late()
        one.word.set_result(keep)
        try:
            return one.done.result()
        except _NotKept:
            return None

    def _await_word(self, one: _Pending, stored: Stored) -> None:
        one.shown.set_result(stored)
        try:
            keep = one.word.result(self._seconds)
        except TimeoutError as cause:
            raise self._too_late() from cause
        if not keep:
            raise _NotKept("The sender wants nothing kept.")

    def _too_late(self) -> StoreError:
        return StoreError(
            f"The service waited {self._seconds:.0f} seconds for the word to keep these runs, "
            "and dropped them; nothing was kept.",
            "repeat the import",
        )
