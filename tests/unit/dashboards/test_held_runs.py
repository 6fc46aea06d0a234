"""A run held for missing needle parts stands red on every page until somebody releases it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from logged_runs import EARLIER_RUN, book_of_one
from streamlit.testing.v1 import AppTest

from logbook.book.runs import amend_run, log_run
from logbook.store.duckdb_store import DuckStore
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD

VIEWS = ("log", "weekly_review", "suppliers", "factors", "plan_setup", "trials")
OTHERS = ("materials", "designs", "runs", "defect_guide")
NAMED = "Held: [R-2](/runs?run=R-2) of 6 Oct 2026"


@pytest.fixture
def book(held: Callable[[DuckStore], DuckStore], tmp_path: Path) -> DuckStore:
    """A run held in week 41, and plain ones of weeks 41 and 46."""
    store = held(book_of_one(tmp_path / "book"))
    broken = {"run_ref": "R-2", "finished_at": "2026-10-06", "needle_breaks": 1}
    log_run(store, {**EARLIER_RUN, **broken, "needle_parts_found": False}, source="test")
    log_run(store, {**EARLIER_RUN, "run_ref": "R-3", "finished_at": "2026-11-12"}, source="test")
    return store


def _errors(app: AppTest, view: str, **asked: str) -> list[str]:
    app.run().switch_page(f"views/{view}.py")
    for name, value in asked.items():
        app.query_params[name] = value
    app.run()
    assert not app.exception
    return [each.value.replace("\\", "") for each in app.error]


@pytest.mark.parametrize("view", [*VIEWS, *OTHERS])
def test_it_is_on_every_page(book: DuckStore, app: AppTest, view: str) -> None:
    assert sum(NAMED in words for words in _errors(app, view)) == 1


@pytest.mark.parametrize("week", ["2026-W41", "2026-W46"])
def test_the_review_says_what_to_do_whichever_week_is_asked(
    book: DuckStore, app: AppTest, week: str
) -> None:
    (words,) = _errors(app, "weekly_review", week=week)
    assert NAMED in words
    assert BROKEN_NEEDLE_HELD in words


def test_it_goes_when_the_run_is_released(book: DuckStore, app: AppTest) -> None:
    amend_run(book, "R-2", {"needle_parts_found": True}, why=None, source="test")
    assert _errors(app, "weekly_review", week="2026-W46") == []
    assert _errors(app, "log") == []
