"""Finding runs page by page, and what each version of one changed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from logged_runs import EARLIER_RUN, book_of_one, empty_book

from logbook.book.run_search import (
    MOST_WORDS,
    find_runs,
    versions_of,
    words_of,
)
from logbook.book.runs import amend_run, log_run, withdraw_run
from logbook.runs.columns import COLUMNS
from logbook.store import Store, Window


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Store]:
    with book_of_one(tmp_path / "book") as store:
        yield store


def test_an_empty_book_has_no_pages(tmp_path: Path) -> None:
    with empty_book(tmp_path / "book") as store:
        found = find_runs(store, Window())
        assert (found.total, found.pages, found.page) == (0, 0, 1)
        assert found.runs.is_empty()


def test_pages_hold_every_run_once_newest_first(book: Store) -> None:
    for number in range(2, 8):
        moment = EARLIER_RUN["finished_at"] + timedelta(hours=number)
        log_run(
            book,
            {**EARLIER_RUN, "run_ref": f"R-{number}", "finished_at": moment},
            source="test",
        )
    pages = [find_runs(book, Window(), page=page, size=3) for page in (1, 2, 3)]
    refs = [ref for found in pages for ref in found.runs["run_ref"]]
    assert refs == ["R-7", "R-6", "R-5", "R-4", "R-3", "R-2", "R-1"]
    assert {found.pages for found in pages} == {3}
    assert find_runs(book, Window(), page=99, size=3).page == 3
    assert find_runs(book, Window(), page=-1, size=3).page == 1


def test_words_are_looked_for_in_every_text_that_a_run_has(book: Store) -> None:
    texts = {each.name: f"{each.name} 17 b" for each in COLUMNS if each.type == "text"}
    log_run(book, {**EARLIER_RUN, **texts}, source="test")
    for text in texts.values():
        found = find_runs(book, Window(words=words_of(text.upper())))
        assert found.runs["run_ref"].to_list() == [texts["run_ref"]], text


def test_a_pasted_text_is_cut_to_a_search() -> None:
    assert words_of("  hare   polo ") == ("hare", "polo")
    assert len(words_of("word " * 500)) == MOST_WORDS


def test_each_version_tells_what_it_changed(book: Store) -> None:
    later = datetime(2026, 10, 5, 15, 0)
    changes = {"hoop_marks": 2, "topping": None, "finished_at": later, "pieces_defective": 2}
    amend_run(book, "R-1", changes, why="counted again", source="test")
    withdraw_run(book, "R-1", why="twice", source="test")
    logged, amended, withdrawn = versions_of(book, "R-1")
    assert logged.changed == ()
    assert [(each.column.name, each.before, each.after) for each in amended.changed] == [
        ("finished_at", datetime(2026, 10, 5, 14, 30), later),
        ("topping", "none", None),
        ("pieces_defective", 1, 2),
        ("hoop_marks", 1, 2),
    ]
    assert (withdrawn.change.what, withdrawn.changed) == ("withdrawn", ())
    assert versions_of(book, "nowhere") == ()


def test_versions_happen_in_the_shops_zone(book: Store) -> None:
    (logged,) = versions_of(book, "R-1")
    offset = logged.happened_at - logged.change.happened_at
    assert offset % timedelta(minutes=15) == timedelta(0)
    assert abs(offset) <= timedelta(hours=14)
