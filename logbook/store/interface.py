"""What every store answers, whichever database lies beneath."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any, Self

import polars as pl

from logbook.shop import Shop


@dataclass(frozen=True, slots=True)
class Window:
    """Which runs a question is about.

    ``since`` and ``until`` are whole days of the shop's calendar, both included. ``where``
    holds equal-to filters on run-sheet columns, bands or what the book makes of runs; None stands
    for what is not recorded. Every one of ``words`` stands somewhere
    in a run's reference, names or notes, in capitals or not. ``showing`` names a kind of defect
    (or ``any``) that was counted at least once; ``held`` keeps the runs whose needle parts are
    not all found.
    """

    since: date | None = None
    until: date | None = None
    site: str | None = None
    where: Mapping[str, str | float | bool | None] = field(default_factory=dict)
    words: tuple[str, ...] = ()
    showing: str | None = None
    held: bool = False


@dataclass(frozen=True, slots=True)
class Stored:
    """What became of the runs handed to :meth:`Store.put`.

    ``conflicts`` holds the positions (0-based rows of the frame handed in) whose reference is
    taken by a run with other content; they were not stored.
    """

    added: int
    skipped: int
    amended: int
    conflicts: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Change:
    """One entry of a run's history, newest last."""

    version: int
    happened_at: datetime
    what: str
    """``logged``, ``amended`` or ``withdrawn``."""
    why: str | None
    source: str
    content: Mapping[str, Any]
    """The run as it stood from then on."""


@dataclass(frozen=True, slots=True)
class Document:
    """One version of something that a shop keeps beside its runs: a price, a decision, a design.

    Documents stand in collections, one for each sort of thing; what a collection's documents hold
    is the business of the module that fills it. Versions are kept for good.
    """

    collection: str
    key: str
    version: int
    about: str | None
    """What it concerns, to find it by: the name of a design, the reference of a run."""
    what: str
    """``kept`` or ``withdrawn``."""
    why: str | None
    source: str
    recorded_at: datetime
    content: Mapping[str, Any]
    """Plain values, as JSON can hold them."""


class Store(ABC):
    """One open book: every operation once, with its arguments and its answer.

    A database answers them in its own words; :mod:`logbook.store.served` reads the same signatures
    to ask the service that holds a book, and to answer there.
    """

    place: str
    """Where the book is, as the user named it."""
    folder: Path | None
    """The book's folder; None for a shared database."""
    shop: Shop
    """The shop's settings as read when the book was opened."""

    @abstractmethod
    def close(self) -> None:
        """Let go of the book."""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @abstractmethod
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

        A reference already there with the same content is skipped; with other content it is a
        conflict, or with ``amend`` a new version. What an earlier version said already is
        skipped (but for ``amend``), and a withdrawn run stays withdrawn. Columns that the frame
        lacks count as not recorded. ``as_sent`` holds columns as the sender wrote them, row for
        row, where the frame has them filled in: a run that the book has as it was sent, from a
        time when it could not be filled in, counts as the same content (but for ``amend``).
        ``settle`` runs just before the commit (on a dry run too): if it raises, nothing is stored;
        it may read the book, but not write to it.

        Raises
        ------
        StoreError
            The frame is not one of this book's runs, or the book cannot be written.
        """

    @abstractmethod
    def amend(
        self,
        run_ref: str,
        run: pl.DataFrame,
        *,
        why: str | None,
        source: str,
        seen: int | None = None,
    ) -> None:
        """Replace a run by a one-row frame; the earlier version stays in its history.

        Raises
        ------
        RunChanged
            ``seen``, the version that the writer has read, is not the run's version any more.
        """

    @abstractmethod
    def withdraw(self, run_ref: str, *, why: str, source: str, seen: int | None = None) -> None:
        """Take a run out of every count; it stays in the history.

        Raises
        ------
        RunChanged
            As of :meth:`amend`.
        """

    @abstractmethod
    def runs(
        self,
        window: Window | None = None,
        *,
        refs: Sequence[str] | None = None,
        newest_first: bool = False,
        limit: int | None = None,
        offset: int = 0,
    ) -> pl.DataFrame:
        """The run frame (columns of the run sheet), oldest first unless told.

        ``offset`` passes over so many runs of that order before the first.
        """

    @abstractmethod
    def made(
        self, window: Window | None = None, *, refs: Sequence[str] | None = None
    ) -> pl.DataFrame:
        """What the book makes of runs: nothing of it is written down with them.

        Columns: ``run_ref``, ``shift`` (as recorded, else of the settings), ``weekday`` and
        ``needle_age_stitches``. In no order.
        """

    @abstractmethod
    def history(self, run_ref: str) -> tuple[Change, ...]:
        """Every version of a run, oldest first."""

    def last_run(self, *, machine: str | None = None) -> dict[str, Any] | None:
        """The most recently finished run (of a machine), as a mapping."""
        window = Window(where={} if machine is None else {"machine": machine})
        frame = self.runs(window, newest_first=True, limit=1)
        return None if frame.is_empty() else frame.row(0, named=True)

    @abstractmethod
    def known(self, column: str) -> tuple[str, ...]:
        """Spellings in use of an open list, most used first."""

    @abstractmethod
    def in_use(self) -> tuple[str, ...]:
        """Columns of the run sheet of which any run has a value."""

    @abstractmethod
    def span(self) -> tuple[date, date] | None:
        """First and last day with a run; None for an empty book."""

    @abstractmethod
    def count(self) -> int:
        """How many runs are in the book (not counting withdrawn ones)."""

    @abstractmethod
    def cells(
        self, kinds: Sequence[str], *, by: Sequence[str] = (), window: Window | None = None
    ) -> pl.DataFrame:
        """Cells of the kinds (``any`` allowed), long, with a ``kind`` column; one query."""

    @abstractmethod
    def totals(self, *, by: Sequence[str] = (), window: Window | None = None) -> pl.DataFrame:
        """Whole-run sums by group, whatever was recorded of defects.

        Columns: ``by``, then ``runs``, ``pieces_inspected``, ``pieces_sewn``,
        ``stitches_sewn``, ``pieces_spoiled``, ``pieces_reworked``, ``rework_minutes``,
        ``run_minutes``, ``runs_inspected_assumed`` (runs whose inspected pieces are taken as the
        sewn ones), ``runs_any_assumed`` (runs without ``pieces_defective`` where the largest kind
        stands for it) and ``runs_held`` (needle parts not all found).
        """

    @abstractmethod
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
        """Put a document in its collection, in place of its earlier version; return its version.

        The same content again is no new version. ``seen`` is the version that the writer has
        read (0 for a document that must be new).

        Raises
        ------
        DocumentChanged
            The document's version is not the one seen.
        """

    @abstractmethod
    def withdraw_document(
        self, collection: str, key: str, *, why: str, source: str, seen: int | None = None
    ) -> None:
        """Take a document out of its collection; its versions stay.

        Raises
        ------
        DocumentNotFound
            There is none.
        DocumentChanged
            The document's version is not the one seen.
        """

    @abstractmethod
    def documents(
        self, collection: str, *, keys: Sequence[str] | None = None, about: str | None = None
    ) -> tuple[Document, ...]:
        """The documents of a collection as they stand, the first kept first."""

    @abstractmethod
    def document_history(self, collection: str, key: str) -> tuple[Document, ...]:
        """Every version of a document, oldest first; empty where there never was one."""

    @abstractmethod
    def snapshot(self, folder: Path) -> dict[str, int]:
        """Write every table, as of one moment, to ``folder`` as ``TABLE.parquet``.

        Others may go on writing meanwhile. Every stored value is read, so that the database
        finds what is damaged. Returns the rows by table.

        Raises
        ------
        StoreError
            The tables cannot be read, or the files not be written.
        """
