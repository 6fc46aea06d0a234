"""The embedded store: one DuckDB file in the book's folder."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import polars as pl
from typing_extensions import override

from logbook.errors import StoreError
from logbook.runs.columns import columns_with, run_schema
from logbook.shop import Shop
from logbook.store.counting import (
    cells_query,
    conditions,
    long_cells,
    made_query,
    needs_needle_age,
    source,
    totals_query,
)
from logbook.store.dialect import DUCKDB
from logbook.store.documents import DocumentCache, document_versions, standing_documents
from logbook.store.group_commit import Outcome
from logbook.store.history import changes_of
from logbook.store.interface import Change, Document, Store, Stored, Window
from logbook.store.opening import bring_up_to_date, read_frame, told_plainly
from logbook.store.replies import KeyedReply, Reply, keep_replies, kept_replies
from logbook.store.requests import AmendRequest, DocumentRequest, PutRequest, WithdrawRequest
from logbook.store.run_changes import digests_of, put_frame
from logbook.store.snapshot import write_snapshot
from logbook.store.spellings import Spellings
from logbook.store.writer import SMALL_ROWS, Told, Writer


class DuckStore(Store):
    """One open DuckDB book; safe to share between threads of one process.

    Reads take a cursor each. Writes go through one writer, which commits in groups those that
    wait at the same time; a large frame is written beside them, and lands as a whole.
    """

    def __init__(self, connection: duckdb.DuckDBPyConnection, *, folder: Path, shop: Shop) -> None:
        self._connection = connection
        self.place, self.shop = str(folder), shop
        self.folder: Path = folder
        self._run_schema = pl.Schema(run_schema(shop.own))
        self._run_columns, self._run_types = self._run_schema.names(), self._run_schema.dtypes()
        self._spellings = Spellings()
        self._documents = DocumentCache()
        self._writer = Writer(connection, place=str(folder), spellings=self._spellings)
        with told_plainly(self.place):
            self.migrations_run = bring_up_to_date(connection, shop.own)

    @property
    def changes(self) -> int:
        """A number that grows with every change made through this store."""
        return self._spellings.changes + self._documents.changes

    @override
    def close(self) -> None:
        self._writer.close()
        with told_plainly(self.place):
            self._connection.close()

    @contextmanager
    def _reading(self) -> Iterator[duckdb.DuckDBPyConnection]:
        with told_plainly(self.place):
            cursor = self._connection.cursor()
            try:
                yield cursor
            finally:
                cursor.close()

    @override
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
        reply: KeyedReply | None = None,
    ) -> Stored:
        """Store a run frame as a whole or not at all.

        ``reply`` is kept in the same transaction; see :meth:`reply_to`.
        """
        whole = self._whole(runs)
        plain = not (amend or dry_run or settle or progress)
        with told_plainly(self.place):
            if plain and whole.height <= SMALL_ROWS:
                stored = self._writer.carry_out(PutRequest(whole, source, reply, as_sent))
                assert isinstance(stored, Stored)
                return stored
            with self._writer.one_large(), self._reading() as cursor:

                def settled(stored: Stored) -> None:
                    if reply is not None:
                        keep_replies(cursor, [(reply, stored)])
                    if settle is not None:
                        settle(stored)

                digests = digests_of(whole)
                try:
                    with self._writer.claimed(whole["run_ref"]):
                        return put_frame(
                            cursor,
                            whole,
                            digests,
                            source=source,
                            amend=amend,
                            dry_run=dry_run,
                            settle=settled,
                            progress=progress,
                            sent=None if as_sent is None else whole.with_columns(as_sent),
                        )
                finally:
                    self._spellings.forget()

    def put_soon(
        self,
        puts: Sequence[PutRequest],
        settled: Callable[[Sequence[tuple[int, Stored | Exception]]], None],
    ) -> None:
        """Leave frames of up to ``SMALL_ROWS`` runs to be stored, each whole or not at all.

        ``settled`` is told the place of each and what became of it once that is in the book, on
        another thread and in as many calls as it takes; it must be quick.
        """

        def tell(told: Sequence[Told]) -> None:
            settled([(place, self._plainly(outcome)) for place, outcome in told])

        whole = [replace(put, runs=self._whole(put.runs)) for put in puts]
        self._writer.hand_in(whole, tell)

    def _plainly(self, outcome: Outcome) -> Stored | Exception:
        assert isinstance(outcome, Stored | Exception)
        if isinstance(outcome, Stored):
            return outcome
        try:
            with told_plainly(self.place):
                raise outcome
        except Exception as problem:
            return problem

    @override
    def amend(
        self,
        run_ref: str,
        run: pl.DataFrame,
        *,
        why: str | None,
        source: str,
        seen: int | None = None,
    ) -> None:
        if run.height != 1:
            raise StoreError(f"A run is amended by one row, not by {run.height}.")
        whole = self._whole(run.with_columns(run_ref=pl.lit(run_ref)))
        with told_plainly(self.place):
            self._writer.carry_out(AmendRequest(whole, why, source, seen))

    def _whole(self, runs: pl.DataFrame) -> pl.DataFrame:
        """The frame with every column of the run sheet, since digests cover whole runs."""
        schema = self._run_schema
        try:
            # A frame that is whole already is told by its columns, in a tenth of the time.
            alike = runs.columns == self._run_columns and runs.dtypes == self._run_types
            whole = (
                runs
                if alike
                else runs.match_to_schema(
                    schema,
                    missing_columns="insert",
                    integer_cast="upcast",
                )
            )
        except pl.exceptions.PolarsError as cause:
            raise StoreError(
                f"These are not runs of this book: {str(cause).splitlines()[0]}.",
                "the frame must have the columns and types of the run sheet",
            ) from cause
        if whole["run_ref"].null_count():
            raise StoreError("A run without a reference cannot be stored.")
        return whole

    @override
    def withdraw(self, run_ref: str, *, why: str, source: str, seen: int | None = None) -> None:
        with told_plainly(self.place):
            self._writer.carry_out(WithdrawRequest(run_ref, why, source, seen))

    @override
    def put_document(
        self,
        collection: str,
        key: str,
        content: Mapping[str, Any],
        *,
        source: str,
        about: str | None = None,
        why: str | None = None,
        seen: int | None = None,
    ) -> int:
        return self._write_document(
            DocumentRequest(collection, key, content, about, why, source, seen)
        )

    @override
    def withdraw_document(
        self, collection: str, key: str, *, why: str, source: str, seen: int | None = None
    ) -> None:
        self._write_document(DocumentRequest(collection, key, None, None, why, source, seen))

    def _write_document(self, request: DocumentRequest) -> int:
        try:
            with told_plainly(self.place):
                version = self._writer.carry_out(request)
        finally:
            self._documents.changed(request.collection)
        assert isinstance(version, int)
        return version

    @override
    def documents(
        self, collection: str, *, keys: Sequence[str] | None = None, about: str | None = None
    ) -> tuple[Document, ...]:
        if keys is not None:
            with self._reading() as cursor:
                found = standing_documents(cursor, collection, keys=keys)
        else:
            found = self._documents.of(collection, lambda: self._standing(collection))
        return tuple(document for document in found if about is None or document.about == about)

    def _standing(self, collection: str) -> tuple[Document, ...]:
        with self._reading() as cursor:
            return standing_documents(cursor, collection)

    @override
    def document_history(self, collection: str, key: str) -> tuple[Document, ...]:
        with self._reading() as cursor:
            return document_versions(cursor, collection, key)

    def reply_to(self, key: str) -> Reply | None:
        """The reply to a put under this key; None where there was none of late."""
        return self.replies_to([key]).get(key)

    def replies_to(self, keys: Sequence[str]) -> dict[str, Reply]:
        """The replies to puts under these keys, of late."""
        with self._reading() as cursor:
            return kept_replies(cursor, keys)

    @override
    def runs(
        self,
        window: Window | None = None,
        *,
        refs: Sequence[str] | None = None,
        newest_first: bool = False,
        limit: int | None = None,
        offset: int = 0,
    ) -> pl.DataFrame:
        window = window or Window()
        where, values = conditions(window, DUCKDB, self.shop, refs=refs)
        names = ", ".join(f'"{column.name}"' for column in columns_with(self.shop.own))
        order = "DESC" if newest_first else "ASC"
        aged = needs_needle_age((), window)
        runs = source(aged=aged, changed=aged and self._needle_changed())
        sql = f"SELECT {names} FROM {runs}{where} ORDER BY finished_at {order}, run_ref {order}"
        if limit is not None:
            sql += f" LIMIT {int(limit)}"
        if offset:
            sql += f" OFFSET {int(offset)}"
        with self._reading() as cursor:
            frame = read_frame(cursor, sql, values)
        return frame.cast(pl.Schema(run_schema(self.shop.own)))

    @override
    def made(
        self, window: Window | None = None, *, refs: Sequence[str] | None = None
    ) -> pl.DataFrame:
        sql, values = made_query(
            self.shop, window or Window(), DUCKDB, refs=refs, changed=self._needle_changed()
        )
        with self._reading() as cursor:
            return read_frame(cursor, sql, values)

    def _needle_changed(self) -> bool:
        """Whether any change of a needle is on record: else there are no ages to be made."""
        with self._reading() as cursor:
            found = cursor.execute("SELECT 1 FROM runs WHERE needle_changed LIMIT 1").fetchall()
        return bool(found)

    @override
    def history(self, run_ref: str) -> tuple[Change, ...]:
        with self._reading() as cursor:
            return changes_of(cursor, run_ref)

    @override
    def known(self, column: str) -> tuple[str, ...]:
        names = {item.name for item in columns_with(self.shop.own) if item.open_list}
        if column not in names:
            raise StoreError(f"{column!r} is not an open list of the run sheet.")
        return self._spellings.of(column, lambda: self._counted(column))

    def _counted(self, column: str) -> dict[str, int]:
        with self._reading() as cursor:
            rows = cursor.execute(
                f'SELECT "{column}", count(*) FROM runs WHERE "{column}" IS NOT NULL '
                f'GROUP BY "{column}"'
            ).fetchall()
        return dict(rows)

    @override
    def in_use(self) -> tuple[str, ...]:
        names = self._run_columns
        counted = ", ".join(f'count("{name}")' for name in names)
        with self._reading() as cursor:
            [counts] = cursor.execute(f"SELECT {counted} FROM runs").fetchall()
        return tuple(name for name, count in zip(names, counts, strict=True) if count)

    @override
    def span(self) -> tuple[date, date] | None:
        with self._reading() as cursor:
            [(first, last)] = cursor.execute(
                "SELECT CAST(min(finished_at) AS DATE), CAST(max(finished_at) AS DATE) FROM runs"
            ).fetchall()
        return None if first is None else (first, last)

    @override
    def count(self) -> int:
        with self._reading() as cursor:
            [(runs,)] = cursor.execute("SELECT count(*) FROM runs").fetchall()
        return int(runs)

    @override
    def cells(
        self, kinds: Sequence[str], *, by: Sequence[str] = (), window: Window | None = None
    ) -> pl.DataFrame:
        asked, keys = tuple(dict.fromkeys(kinds)), tuple(dict.fromkeys(by))
        window = window or Window()
        changed = needs_needle_age(keys, window) and self._needle_changed()
        sql, values = cells_query(asked, self.shop, keys, window, DUCKDB, changed=changed)
        with self._reading() as cursor:
            wide = read_frame(cursor, sql, values)
        return long_cells(wide, asked, keys)

    @override
    def totals(self, *, by: Sequence[str] = (), window: Window | None = None) -> pl.DataFrame:
        keys = tuple(dict.fromkeys(by))
        window = window or Window()
        changed = needs_needle_age(keys, window) and self._needle_changed()
        sql, values = totals_query(self.shop, keys, window, DUCKDB, changed=changed)
        with self._reading() as cursor:
            return read_frame(cursor, sql, values)

    @override
    def snapshot(self, folder: Path) -> dict[str, int]:
        with self._reading() as cursor:
            return write_snapshot(cursor, folder)
