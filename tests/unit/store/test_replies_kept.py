"""Answers to requests that may be repeated go into the book with the runs, or not at all."""

from __future__ import annotations

from datetime import timedelta

import pytest
from run_frames import frame, many, run

from logbook.errors import StoreError
from logbook.store import Stored, open_book, replies
from logbook.store.duckdb_store import DuckStore
from logbook.store.replies import KeyedReply, Reply
from logbook.store.writer import SMALL_ROWS


def _told(stored: Stored) -> Reply:
    return Reply("mark", 201, f"added {stored.added}, skipped {stored.skipped}")


def _breaks(stored: Stored) -> Reply:
    raise ValueError("no answer can be made")


@pytest.mark.parametrize("rows", [1, SMALL_ROWS + 1])
def test_an_answer_outlives_the_service(place: str, book: DuckStore, rows: int) -> None:
    assert book.reply_to("k-1") is None
    book.put(many(rows), source="test", reply=KeyedReply("k-1", _told))
    book.close()
    with open_book(place) as again:
        assert again.reply_to("k-1") == Reply("mark", 201, f"added {rows}, skipped 0")
        assert again.reply_to("k-2") is None


@pytest.mark.parametrize("rows", [1, SMALL_ROWS + 1])
def test_without_an_answer_no_run_is_kept(book: DuckStore, rows: int) -> None:
    with pytest.raises((ValueError, StoreError), match="no answer can be made"):
        book.put(many(rows), source="test", reply=KeyedReply("k-1", _breaks))
    assert (book.count(), book.reply_to("k-1")) == (0, None)
    assert book.put(many(rows), source="test", reply=KeyedReply("k-1", _told)).added == rows


def test_a_put_of_nothing_is_answered_too(book: DuckStore) -> None:
    book.put(frame([]), source="test", reply=KeyedReply("k-1", _told))
    assert book.reply_to("k-1") == Reply("mark", 201, "added 0, skipped 0")


def test_old_answers_are_let_go(book: DuckStore, monkeypatch: pytest.MonkeyPatch) -> None:
    book.put(frame([run("R-1")]), source="test", reply=KeyedReply("old", _told))
    then = replies.now_utc()
    monkeypatch.setattr(replies, "now_utc", lambda: then + timedelta(days=2))
    assert book.reply_to("old") is not None
    monkeypatch.setattr(replies, "now_utc", lambda: then + replies.KEPT_FOR + timedelta(seconds=9))
    assert book.reply_to("old") is None
    book.put(frame([run("R-2")]), source="test", reply=KeyedReply("new", _told))
    monkeypatch.undo()
    assert book.reply_to("old") is None
    assert book.reply_to("new") is not None
