"""The book's one writer: takes the requests of many threads and commits them in groups.

A commit waits for the disk, so that one commit for all who wait serves fifty as fast as one. Two
changes of one run in two transactions at a time fail in DuckDB: small requests all go through
one thread, and a large frame, which has a transaction of its own beside it, first claims the
references that it is about.
"""

from __future__ import annotations

import logging
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future
from contextlib import contextmanager
from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl

from logbook.errors import StoreError
from logbook.store.group_commit import Outcome, kept_together
from logbook.store.interface import Stored
from logbook.store.requests import Request
from logbook.store.spellings import Spellings

Answer = Stored | int | None
Told = tuple[int, Outcome]
"""Which of the requests that were handed in together, and what became of it."""
Settled = Callable[[Sequence[Told]], None]
"""Told what became of requests, once for those that were committed together; must be quick."""
SMALL_ROWS = 500
"""Frames up to this size are committed in groups with others."""
GROUP_ROWS = 2_000
SAFE_TO_REPEAT = (
    "repeat the last step: what has a reference, or came in a sheet, is not added twice"
)

_LOG = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, eq=False)
class _Waiting:
    """A request handed in: which of those handed in together, and who is to be told."""

    request: Request
    place: int
    settled: Settled


class Claim:
    """References that a large frame is about, as hashes: eight bytes each."""

    def __init__(self, refs: pl.Series) -> None:
        self._hashes = np.sort(refs.hash().to_numpy())

    def covers(self, refs: Sequence[str]) -> bool:
        """Whether any is claimed; once in a great while one that is not (a hash shared)."""
        asked = pl.Series(refs, dtype=pl.String).hash().to_numpy()
        places = np.searchsorted(self._hashes, asked)
        inside = places < len(self._hashes)
        return bool((self._hashes[places[inside]] == asked[inside]).any())


class Writer:
    """One thread that writes for all the others.

    Parameters
    ----------
    connection
        The open book; every thread takes a cursor of its own.
    place
        What messages call the book.
    spellings
        Told of every group that is committed.
    """

    def __init__(
        self, connection: duckdb.DuckDBPyConnection, *, place: str, spellings: Spellings
    ) -> None:
        self._connection = connection
        self._spellings = spellings
        self._place = place
        self._news = threading.Condition()
        self._waiting: deque[_Waiting] = deque()
        self._one_large = threading.Lock()
        self._claim: Claim | None = None
        self._busy = False
        self._closed = False
        self._thread: threading.Thread | None = None

    def carry_out(self, request: Request) -> Answer:
        """Wait until a request is committed, and return what became of it.

        Raises
        ------
        LogbookError
            The book refuses it.
        duckdb.Error
            The database failed; nothing of this request was kept.
        """
        answer: Future[Answer] = Future()

        def settled(told: Sequence[Told]) -> None:
            [(_, outcome)] = told
            if isinstance(outcome, Exception):
                answer.set_exception(outcome)
            else:
                answer.set_result(outcome)

        self.hand_in([request], settled)
        return answer.result()

    def hand_in(self, requests: Sequence[Request], settled: Settled) -> None:
        """Leave requests to be committed, in this order where they are about the same runs.

        ``settled`` is called on the writer's thread, as often as it takes until each was told of.

        Raises
        ------
        StoreError
            The book is closed; nothing was taken.
        """
        with self._news:
            self._refuse_if_closed()
            if self._thread is None:
                # At the first request: commands that only read need no thread. Before anything is
                # taken: without a thread it would lie there, refused and yet kept later.
                thread = threading.Thread(target=self._work, name="book-writer", daemon=True)
                thread.start()
                self._thread = thread
            self._waiting.extend(
                [_Waiting(request, place, settled) for place, request in enumerate(requests)]
            )
            self._news.notify_all()

    @contextmanager
    def one_large(self) -> Iterator[None]:
        """One large frame at a time: two would need twice the memory and gain nothing."""
        with self._one_large:
            with self._news:
                self._refuse_if_closed()
            yield

    @contextmanager
    def claimed(self, refs: pl.Series) -> Iterator[None]:
        """Hold back requests about these runs, and no others, until the block ends."""
        claim = Claim(refs)
        with self._news:
            self._claim = claim
            # The group under way may be about the same runs: first let it be committed.
            self._news.wait_for(lambda: not self._busy)
        try:
            yield
        finally:
            with self._news:
                self._claim = None
                self._news.notify_all()

    def close(self) -> None:
        """Finish what was asked before, and take nothing more."""
        with self._news:
            self._closed = True
            self._news.notify_all()
        with self._one_large:
            pass
        if self._thread is not None:
            self._thread.join()

    def _refuse_if_closed(self) -> None:
        if self._closed:
            raise StoreError(
                f"The book at {self._place} was closed; nothing was kept.",
                "open it again, then repeat the last step",
            )

    def _work(self) -> None:
        while group := self._next_group():
            try:
                outcomes = self._outcomes([waiting.request for waiting in group])
            finally:
                with self._news:
                    self._busy = False
                    self._news.notify_all()
            told: dict[Settled, list[Told]] = {}
            for waiting, outcome in zip(group, outcomes, strict=True):
                told.setdefault(waiting.settled, []).append((waiting.place, outcome))
            for settled, outcomes_of in told.items():
                try:
                    settled(outcomes_of)
                except Exception:
                    # One who cannot be told must not keep all others from writing.
                    _LOG.exception("What became of requests could not be told.")

    def _outcomes(self, requests: Sequence[Request]) -> tuple[Outcome, ...]:
        """What became of each; once that is known, nothing that fails afterwards changes it."""
        outcomes: tuple[Outcome, ...] | None = None
        try:
            with self._connection.cursor() as cursor, self._spellings.told(requests) as tell:
                outcomes = kept_together(cursor, requests)
                tell(outcomes)
        except BaseException as cause:
            # Whatever fails here must reach those who wait, and not leave them waiting.
            if outcomes is None:
                return tuple(
                    StoreError(
                        f"The book at {self._place} could not be written: {cause}.", SAFE_TO_REPEAT
                    )
                    for _ in requests
                )
            self._spellings.forget()
            _LOG.exception("Something failed after requests were carried out.")
        return outcomes

    def _next_group(self) -> list[_Waiting]:
        """Wait for requests and take those that can go together; empty when all is done."""
        with self._news:
            while not (group := self._take()):
                if self._closed and not self._waiting:
                    return []
                self._news.wait()
            self._busy = True
            return group

    def _take(self) -> list[_Waiting]:
        group, left = [], []
        taken: set[str] = set()
        rows = 0
        for waiting in self._waiting:
            refs = waiting.request.refs
            free = rows < GROUP_ROWS and taken.isdisjoint(refs)
            if free and (self._claim is None or not self._claim.covers(refs)):
                group.append(waiting)
                rows += len(refs)
            else:
                left.append(waiting)
            # Nobody overtakes a request about the same run.
            taken.update(refs)
        self._waiting = deque(left)
        return group
