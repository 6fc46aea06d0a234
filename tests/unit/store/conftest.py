"""An empty book for each test."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore


@pytest.fixture
def place(tmp_path: Path) -> str:
    return str(tmp_path / "book")


@pytest.fixture
def book(place: str) -> Iterator[DuckStore]:
    with new_book(place) as store:
        yield store
