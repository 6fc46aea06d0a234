"""Requests of several callers in one transaction: each succeeds or fails for itself."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence, Set
from typing import Literal

import duckdb
import polars as pl

from logbook.errors import LogbookError
from logbook.runs.content import content_digests
from logbook.store.documents import write_document
from logbook.store.interface import Stored
from logbook.store.opening import now_utc, transaction
from logbook.store.replies import drop_old_replies, keep_replies
from logbook.store.requests import AmendRequest, DocumentRequest, PutRequest, Request
from logbook.store.run_changes import amend_run, withdraw_run

Outcome = Stored | int | None | Exception
"""What became of one: counts of a put, version of a document, None of a change, or why not."""

Fate = Literal["new", "skip", "conflict"]


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
    """The same rules as for a large frame, worked out row by row: faster for a few rows."""
    # In one piece: expressions over fifty pieces of one row take ten times as long.
    together = pl.concat([put.runs for put in puts], rechunk=True)
    if together.is_empty():
        return [Stored(0, 0, 0) for _ in puts]
    marks = content_digests(together).to_list()
    refs = together["run_ref"].to_list()
    present, past = _marks(cursor, refs)
    # Columns that nobody fills in are null without being told.
    used = [name for name in together.columns if together[name].null_count() < together.height]
    rows = together.select(used).rows()
    moment = now_utc()
    new: list[tuple[object, ...]] = []
    stored = []
    start = 0
    for put in puts:
        end = start + put.runs.height
        fates = fates_of(refs[start:end], marks[start:end], present, past)
        if put.as_sent is not None and "conflict" in fates:
            fates = _known_as_sent(put, fates, present, past)
        for place, fate in enumerate(fates, start):
            if fate == "new":
                row = (*rows[place], marks[place], 1, "logged", None, put.source, moment)
                new.append(row)
        stored.append(_counted(fates))
        start = end
    if new:
        columns = [*used, "content_mark", "version"]
        columns += ["change_what", "change_why", "source", "recorded_at"]
        with cursor.appender("runs", columns=columns) as appender:
            appender.append_rows(new)
    return stored


def fates_of(
    refs: Sequence[str],
    marks: Sequence[str],
    present: Mapping[str, str],
    past: Mapping[str, Set[str]],
) -> list[Fate]:
    """What becomes of each row of one frame that is put without amending.

    Parameters
    ----------
    refs, marks
        Reference and content mark of each row.
    present
        Content marks of runs in the book.
    past
        Content marks of earlier versions, by reference; a withdrawn run has these alone.
    """
    first: dict[str, str] = {}
    fates: list[Fate] = []
    for run_ref, mark in zip(refs, marks, strict=True):
        said_now = present.get(run_ref) == mark
        if run_ref in first:
            # Within one frame the first row of a reference counts.
            fates.append("skip" if mark == first[run_ref] or said_now else "conflict")
            continue
        first[run_ref] = mark
        if said_now or mark in past.get(run_ref, ()):
            fates.append("skip")
        elif run_ref in present or past.get(run_ref):
            fates.append("conflict")
        else:
            fates.append("new")
    return fates


def _known_as_sent(
    put: PutRequest,
    fates: Sequence[Fate],
    present: Mapping[str, str],
    past: Mapping[str, Set[str]],
) -> list[Fate]:
    """The fates, without conflicts about runs that the book has just as they were sent."""
    told = list(fates)
    places = [place for place, fate in enumerate(fates) if fate == "conflict"]
    sent = put.runs.with_columns(put.as_sent)[places]
    for place, run_ref, mark in zip(places, sent["run_ref"], content_digests(sent), strict=True):
        if present.get(run_ref) == mark or mark in past.get(run_ref, ()):
            told[place] = "skip"
    return told


def _marks(
    cursor: duckdb.DuckDBPyConnection, refs: Sequence[str]
) -> tuple[dict[str, str], dict[str, set[str]]]:
    """Content marks of runs in the book, and those of their earlier versions."""
    # A list of values is looked up in the index; a join would read the whole column.
    places = ", ".join(f"${number}" for number in range(1, len(refs) + 1))
    rows = cursor.execute(
        f"SELECT true, run_ref, content_mark FROM runs WHERE run_ref IN ({places}) UNION ALL "
        f"SELECT false, run_ref, content_mark FROM run_history WHERE run_ref IN ({places})",
        list(refs),
    ).fetchall()
    present = {run_ref: mark for is_present, run_ref, mark in rows if is_present}
    past: dict[str, set[str]] = defaultdict(set)
    for is_present, run_ref, mark in rows:
        if not is_present:
            past[run_ref].add(mark)
    return present, past


def _counted(fates: Sequence[Fate]) -> Stored:
    conflicts = tuple(place for place, fate in enumerate(fates) if fate == "conflict")
    return Stored(fates.count("new"), fates.count("skip"), 0, conflicts)
