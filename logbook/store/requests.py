"""What one caller asks of the book's writer: a change of runs, or of a document."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import polars as pl

from logbook.store.replies import KeyedReply


@dataclass(frozen=True, slots=True)
class PutRequest:
    """Store a few runs, as a whole or not at all."""

    runs: pl.DataFrame
    source: str
    reply: KeyedReply | None = None
    as_sent: pl.DataFrame | None = None
    """Columns as they were sent, where ``runs`` has them filled in."""

    @property
    def refs(self) -> tuple[str, ...]:
        """References of the runs that are asked about."""
        return tuple(self.runs["run_ref"])


@dataclass(frozen=True, slots=True)
class AmendRequest:
    """Replace one run by a frame of one row."""

    run: pl.DataFrame
    why: str | None
    source: str
    seen: int | None = None

    @property
    def refs(self) -> tuple[str, ...]:
        """References of the runs that are asked about."""
        return (self.run["run_ref"].item(),)


@dataclass(frozen=True, slots=True)
class WithdrawRequest:
    """Take one run out of every count."""

    run_ref: str
    why: str
    source: str
    seen: int | None = None

    @property
    def refs(self) -> tuple[str, ...]:
        """References of the runs that are asked about."""
        return (self.run_ref,)


@dataclass(frozen=True, slots=True)
class DocumentRequest:
    """Keep a new version of a document, or withdraw it (``content`` is None)."""

    collection: str
    key: str
    content: Mapping[str, Any] | None
    about: str | None
    why: str | None
    source: str
    seen: int | None

    @property
    def refs(self) -> tuple[str, ...]:
        """What no other request may be about in the same transaction."""
        # Apart from every run's: a reference of a run holds no control characters.
        return (f"{self.collection}\x1f{self.key}",)


Request = PutRequest | AmendRequest | WithdrawRequest | DocumentRequest
