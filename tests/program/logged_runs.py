"""One earlier run, for books that pages start from."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

from logbook.book.runs import log_run
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

EARLIER_RUN: dict[str, Any] = {
    "run_ref": "R-1",
    "finished_at": datetime(2026, 10, 5, 14, 30),
    "machine": "M1",
    "operator": "Noor A.",
    "job": "J4628",
    "design": "Hare monogram",
    "head_count": 8,
    "fabric": "pique polo",
    "fabric_shade": "light",
    "backing": "cut_away",
    "backing_gsm": 60.0,
    "backing_layers": 1,
    "backing_supplier": "Alder",
    "backing_lot": "A123",
    "topping": "none",
    "needle_nm": 75,
    "needle_point": "light_ball",
    "speed_spm": 750.0,
    "stitches_per_piece": 6200,
    "pieces_sewn": 24,
    "pieces_inspected": 24,
    "pieces_defective": 1,
    "hoop_marks": 1,
    "thread_breaks": 2,
    "seen_at": "off_hoop",
}


def empty_book(place: Path) -> DuckStore:
    """Make a book without a run."""
    return new_book(str(place))


def book_of_one(place: Path, **changes: Any) -> DuckStore:
    """Make a book with the earlier run in it."""
    store = empty_book(place)
    log_run(store, {**EARLIER_RUN, **changes}, source="test")
    return store
