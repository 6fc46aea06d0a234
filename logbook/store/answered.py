"""Answers to requests that may come again: kept in the book beside the runs they are about."""

from __future__ import annotations

from collections.abc import Callable, Sequence
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


def keep_answers(cursor: duckdb.DuckDBPyConnection, answers: Sequence[tuple[Once, Stored]]) -> None:
    """Keep answers; within the transaction that stores the runs."""
    moment = now_utc()
    values: list[object] = []
    for once, stored in answers:
        answered = once.answer(stored)
        kept = (once.key, answered.request_mark, answered.status, answered.content, moment)
        values.extend(kept)
    # One statement: of fifty the engine would make fifty plans.
    rows = ", ".join("(?, ?, ?, ?, ?)" for _ in answers)
    cursor.execute(f"INSERT INTO request_answers VALUES {rows}", values)


def drop_old_answers(cursor: duckdb.DuckDBPyConnection) -> None:
    """Let go of answers that nobody waits for any more."""
    cursor.execute("DELETE FROM request_answers WHERE answered_at < ?", [now_utc() - KEPT_FOR])


def answers_kept(cursor: duckdb.DuckDBPyConnection, keys: Sequence[str]) -> dict[str, Answered]:
    """What requests under these keys were answered, by key; without those of long ago."""
    if not keys:
        return {}
    places = ", ".join("?" for _ in keys)
    rows = cursor.execute(
        "SELECT request_key, request_mark, status, content FROM request_answers "
        f"WHERE request_key IN ({places}) AND answered_at >= ? ORDER BY answered_at",
        [*keys, now_utc() - KEPT_FOR],
    ).fetchall()
    return {key: Answered(*rest) for key, *rest in rows}
