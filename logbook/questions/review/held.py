"""Runs that are held until every part of a broken needle is found."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import polars as pl

_SETUP = {
    "machine": "machine",
    "operator": "operator",
    "design": "design",
    "fabric": "fabric",
    "backing": "backing",
    "backing_supplier": "supplier",
    "backing_lot": "lot",
}


@dataclass(frozen=True, slots=True)
class HeldRun:
    """A run of which not every part of a broken needle is recorded as found."""

    run_ref: str
    finished_at: datetime
    setup: dict[str, str | None]

    def day_words(self) -> str:
        """Say its day: ``11 Nov 2026``."""
        return f"{self.finished_at.day} {self.finished_at:%b %Y}"


def held_runs(runs: pl.DataFrame) -> tuple[HeldRun, ...]:
    """Those of the runs that are held, in order of time."""
    held = runs.filter(pl.col("needle_parts_found") == False)  # noqa: E712 - null is neither
    return tuple(
        HeldRun(row["run_ref"], row["finished_at"], setup_of(row))
        for row in held.sort("finished_at", "run_ref").iter_rows(named=True)
    )


def setup_of(row: dict[str, Any]) -> dict[str, str | None]:
    """What a run was sewn with, as the review's JSON names it."""
    return {name: row[column] for column, name in _SETUP.items()}
