"""Spellings in use of the open lists, remembered between questions.

Every run that is logged is held against them, and counting them anew reads the whole record: in
a book of a million runs that alone would take longer than everything else about logging one.
"""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager

import polars as pl

from logbook.errors import LogbookError
from logbook.store.interface import Stored
from logbook.store.requests import DocumentRequest, PutRequest, Request


class Spellings:
    """How often each spelling is used, by column; right as long as all changes are told here."""

    def __init__(self) -> None:
        self._still = threading.Lock()
        self._lock = threading.Lock()
        self._counts: dict[str, Counter[str]] = {}
        self._ordered: dict[str, tuple[str, ...]] = {}
        self.changes = 0
        """Grows with every change of the runs."""

    def of(self, column: str, count: Callable[[], Mapping[str, int]]) -> tuple[str, ...]:
        """Spellings of a column, most used first.

        Parameters
        ----------
        column
            The open list.
        count
            Counts them in the book; called where they are not known yet.
        """
        ordered = self._remembered(column)
        if ordered is None:
            # Between counting and remembering nothing may be committed, or it would be missed.
            with self._still:
                ordered = self._remembered(column)
                if ordered is None:
                    counted = Counter(count())
                    ordered = _most_used_first(counted)
                    with self._lock:
                        self._counts[column], self._ordered[column] = counted, ordered
        return ordered

    @contextmanager
    def told(self, requests: Sequence[Request]) -> Iterator[Callable[[Sequence[object]], None]]:
        """Commit a group within; call what is given with the outcomes once it is committed."""
        with self._still:
            yield lambda outcomes: self._note(requests, outcomes)
            self.changes += 1

    def forget(self) -> None:
        """Count anew when next asked: more was changed than could be told."""
        with self._still, self._lock:
            self._counts.clear()
            self._ordered.clear()
            self.changes += 1

    def _remembered(self, column: str) -> tuple[str, ...] | None:
        with self._lock:
            if column in self._ordered:
                return self._ordered[column]
            if column not in self._counts:
                return None
            self._ordered[column] = _most_used_first(self._counts[column])
            return self._ordered[column]

    def _note(self, requests: Sequence[Request], outcomes: Sequence[object]) -> None:
        added: list[pl.DataFrame] = []
        for request, outcome in zip(requests, outcomes, strict=True):
            if isinstance(outcome, LogbookError) or isinstance(request, DocumentRequest):
                continue
            if isinstance(request, PutRequest) and isinstance(outcome, Stored):
                if not outcome.added:
                    continue
                if outcome.added == request.runs.height:
                    added.append(request.runs)
                    continue
            # A correction, or a part of a frame: seldom, and not worth telling apart.
            with self._lock:
                self._counts.clear()
                self._ordered.clear()
            return
        if added:
            self._add(pl.concat(added))

    def _add(self, runs: pl.DataFrame) -> None:
        with self._lock:
            for column, counts in self._counts.items():
                used = runs[column].drop_nulls().to_list()
                if used:
                    counts.update(used)
                    self._ordered.pop(column, None)


def _most_used_first(counts: Mapping[str, int]) -> tuple[str, ...]:
    return tuple(sorted(counts, key=lambda spelling: (-counts[spelling], spelling)))
