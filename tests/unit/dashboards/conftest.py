"""The pages without a browser, over a real book."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from logged_runs import book_of_one, empty_book
from streamlit.testing.v1 import AppTest

from logbook import service
from logbook.store.duckdb_store import DuckStore

APP = Path(__file__).parents[3] / "dashboards" / "app.py"
FORM = "views/log.py"
SECONDS = 120


@pytest.fixture
def held() -> Iterator[Callable[[DuckStore], DuckStore]]:
    """Hold a book as the service does, and close it afterwards."""

    def hold(store: DuckStore) -> DuckStore:
        service.set_book(store)
        return store

    yield hold
    service.close_book()


@pytest.fixture
def without_runs(held: Callable[[DuckStore], DuckStore], tmp_path: Path) -> DuckStore:
    """An empty book, held."""
    return held(empty_book(tmp_path / "book"))


@pytest.fixture
def with_one_run(held: Callable[[DuckStore], DuckStore], tmp_path: Path) -> DuckStore:
    """A book with one earlier run, held."""
    return held(book_of_one(tmp_path / "book"))


@pytest.fixture
def app() -> AppTest:
    """The pages, not yet drawn, at the form."""
    return AppTest.from_file(str(APP), default_timeout=SECONDS).switch_page(FORM)
