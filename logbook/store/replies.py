"""Replies to requests that may come again: kept in the book beside the runs they are about."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import timedelta

import duckdb

from logbook.store.interface import Stored
from logbook.store.opening import now_utc

KEPT_FOR = timedelta(days=7)
"""How long a request may be repeated and get the reply that it got the first time."""


@dataclass(frozen=True, slots=True)
class Reply:
    """The reply to a request.

    ``request_digest`` is a fingerprint of the request, so that another one under the same key is
    told apart.
    """

    request_digest: str
    status: int
    content: str


@dataclass(frozen=True, slots=True, eq=False)
class KeyedReply:
    """A reply to keep under the sender's key, in the same transaction as the runs put.

    ``make`` makes it once it is known what became of the runs; it must be quick and must not touch
    the book.
    """

    key: str
    make: Callable[[Stored], Reply]


def keep_replies(
    cursor: duckdb.DuckDBPyConnection, replies: Sequence[tuple[KeyedReply, Stored]]
) -> None:
    """Keep replies; within the transaction that stores the runs."""
    moment = now_utc()
    values: list[object] = []
    for keyed, stored in replies:
        reply = keyed.make(stored)
        values.extend((keyed.key, reply.request_digest, reply.status, reply.content, moment))
    # One statement: of fifty the engine would make fifty plans.
    rows = ", ".join("(?, ?, ?, ?, ?)" for _ in replies)
    cursor.execute(f"INSERT INTO request_answers VALUES {rows}", values)


def drop_old_replies(cursor: duckdb.DuckDBPyConnection) -> None:
    """Let go of replies that nobody waits for any more."""
    cursor.execute("DELETE FROM request_answers WHERE answered_at < ?", [now_utc() - KEPT_FOR])


def kept_replies(cursor: duckdb.DuckDBPyConnection, keys: Sequence[str]) -> dict[str, Reply]:
    """The replies to requests under these keys, by key; without those of long ago."""
    if not keys:
        return {}
    places = ", ".join("?" for _ in keys)
    rows = cursor.execute(
        "SELECT request_key, request_mark, status, content FROM request_answers "
        f"WHERE request_key IN ({places}) AND answered_at >= ? ORDER BY answered_at",
        [*keys, now_utc() - KEPT_FOR],
    ).fetchall()
    return {key: Reply(*rest) for key, *rest in rows}
