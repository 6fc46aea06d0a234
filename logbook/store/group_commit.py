"""Requests of several callers in one transaction: each succeeds or fails for itself."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate

import duckdb
import polars as pl

from logbook.errors import LogbookError
from logbook.runs.content import content_digests
from logbook.store.documents import write_document
from logbook.store.interface import Stored
from logbook.store.opening import now_utc, transaction
from logbook.store.put_rules import counted, outcomes_of
from logbook.store.replies import drop_old_replies, keep_replies
from logbook.store.requests import AmendRequest, DocumentRequest, PutRequest, Request
from logbook.store.run_changes import amend_run, withdraw_run

Outcome = Stored | int | None | Exception
"""What became of one: counts of a put, version of a document, None of a change, or why not."""


def kept_together(
    cursor: duckdb.DuckDBPyConnection, requests: Sequence[Request]
) -> tuple[Outcome, ...]:
    """Carry out requests about different runs in one transaction.

    One that the book refuses leaves the others untouched. Where the database itself fails, each
    is tried again in a transaction of its own, so that only those at fault fail.
    """
    try:
        with transaction(cursor):
            return _carried_out(cursor, requests)
    except Exception as cause:
        if len(requests) == 1:
            return (cause,)
    return tuple(outcome for request in requests for outcome in kept_together(cursor, [request]))


def _carried_out(
    cursor: duckdb.DuckDBPyConnection, requests: Sequence[Request]
) -> tuple[Outcome, ...]:
    puts = [request for request in requests if isinstance(request, PutRequest)]
    all_stored = _put(cursor, puts) if puts else []
    _keep_replies(cursor, puts, all_stored)
    stored = iter(all_stored)
    return tuple(
        next(stored) if isinstance(request, PutRequest) else _changed(cursor, request)
        for request in requests
    )


def _keep_replies(
    cursor: duckdb.DuckDBPyConnection, puts: Sequence[PutRequest], stored: Sequence[Stored]
) -> None:
    keyed = [(put.reply, each) for put, each in zip(puts, stored, strict=True) if put.reply]
    if keyed:
        keep_replies(cursor, keyed)
        drop_old_replies(cursor)


def _changed(cursor: duckdb.DuckDBPyConnection, request: Request) -> LogbookError | int | None:
    # All refuse before they write anything, so that the transaction stays clean.
    try:
        if isinstance(request, AmendRequest):
            why, source, seen = request.why, request.source, request.seen
            amend_run(cursor, request.run, why=why, source=source, seen=seen)
        elif isinstance(request, DocumentRequest):
            return write_document(cursor, request)
        elif not isinstance(request, PutRequest):
            reason, source, seen = request.why, request.source, request.seen
            withdraw_run(cursor, request.run_ref, why=reason, source=source, seen=seen)
    except LogbookError as problem:
        return problem
    return None


def _put(cursor: duckdb.DuckDBPyConnection, puts: Sequence[PutRequest]) -> list[Stored]:
    # In one piece: expressions over fifty pieces of one row take ten times as long.
    together = pl.concat([put.runs for put in puts], rechunk=True)
    if together.is_empty():
        return [Stored(0, 0, 0) for _ in puts]
    digests = content_digests(together)
    sent = None
    if any(put.as_sent is not None for put in puts):
        # Without a reference none is found: what was not filled in is no better known as sent.
        none = pl.lit(None, pl.String).alias("run_ref")
        each = (put.runs.with_columns(none if put.as_sent is None else put.as_sent) for put in puts)
        sent = pl.concat(each, rechunk=True)
    # No two requests of a group are about one run: what holds within a frame holds within all.
    outcomes = outcomes_of(cursor, together, digests, sent=sent).to_list()
    _add(cursor, together.with_columns(digests), outcomes, puts)
    ends = list(accumulate(put.runs.height for put in puts))
    return [counted(outcomes[start:end]) for start, end in zip([0, *ends], ends, strict=False)]


def _add(
    cursor: duckdb.DuckDBPyConnection,
    runs: pl.DataFrame,
    outcomes: Sequence[str],
    puts: Sequence[PutRequest],
) -> None:
    """Append the new ones row by row: for a few rows that is faster than a frame."""
    sources = [put.source for put in puts for _ in range(put.runs.height)]
    # Columns that nobody fills in are null without being told.
    used = [name for name in runs.columns if runs[name].null_count() < runs.height]
    moment = now_utc()
    new = [
        (*row, 1, "logged", None, source, moment)
        for row, outcome, source in zip(runs.select(used).rows(), outcomes, sources, strict=True)
        if outcome == "new"
    ]
    if new:
        columns = [*used, "version", "change_what", "change_why", "source", "recorded_at"]
        with cursor.appender("runs", columns=columns) as appender:
            appender.append_rows(new)
