"""What one caller asks of the book's writer: runs to put, one to amend, one to withdraw."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from logbook.store.answered import Once


@dataclass(frozen=True, slots=True)
class PutRequest:
    """Store a few runs, as a whole or not at all."""

    runs: pl.DataFrame
    source: str
    once: Once | None = None

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

    @property
    def refs(self) -> tuple[str, ...]:
        """References of the runs that are asked about."""
        return (self.run_ref,)


Request = PutRequest | AmendRequest | WithdrawRequest
