"""Answers to requests that may come again: kept in the book beside the runs they are about."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta

import duckdb

from logbook.store.interface import Stored
from logbook.store.opening import now_utc

KEPT_FOR = timedelta(days=7)
"""How long a request may be repeated and get the answer that it got the first time."""


@dataclass(frozen=True, slots=True)
class Answered:
    """What a request was answered.

    ``request_mark`` is the fingerprint of what was asked, so that another request under the same
    key is told apart.
    """

    request_mark: str
    status: int
    content: str


@dataclass(frozen=True, slots=True, eq=False)
class Once:
    """Keeps the answer to a put under the sender's key, in the same transaction as the runs.

    ``answer`` makes the answer once it is known what became of the runs; it must be quick and
    must not touch the book.
    """

    key: str
    answer: Callable[[Stored], Answered]


def keep_answer(cursor: duckdb.DuckDBPyConnection, once: Once, stored: Stored) -> None:
    """Keep an answer; within the transaction that stores the runs."""
    answered = once.answer(stored)
    cursor.execute(
        "INSERT INTO request_answers VALUES (?, ?, ?, ?, ?)",
        [once.key, answered.request_mark, answered.status, answered.content, now_utc()],
    )


def drop_old_answers(cursor: duckdb.DuckDBPyConnection) -> None:
    """Let go of answers that nobody waits for any more."""
    cursor.execute("DELETE FROM request_answers WHERE answered_at < ?", [now_utc() - KEPT_FOR])


def answer_kept(cursor: duckdb.DuckDBPyConnection, key: str) -> Answered | None:
    """What a request under this key was answered; None where none was, or long ago."""
    rows = cursor.execute(
        "SELECT request_mark, status, content FROM request_answers "
        "WHERE request_key = ? AND answered_at >= ? ORDER BY answered_at DESC LIMIT 1",
        [key, now_utc() - KEPT_FOR],
    ).fetchall()
    return Answered(*rows[0]) if rows else None
