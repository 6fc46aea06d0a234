"""Runs found by words, by what they show, and page by page."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest
from run_frames import frame, run

from logbook.errors import RunChanged, StoreError
from logbook.store import Store, Window, new_book


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Store]:
    with new_book(str(tmp_path / "book")) as store:
        rows = [
            run(
                "A-1", finished_at=datetime(2026, 10, 1), job="J100", notes="Hoop slipped, 50% wet"
            ),
            run("A-2", finished_at=datetime(2026, 10, 2), design="Hare_monogram"),
            run("A-3", finished_at=datetime(2026, 10, 3), operator="Noor Åkesson", needle_breaks=1),
            run("A-4", finished_at=datetime(2026, 10, 4), fabric="Terry towel", machine="M7"),
        ]
        for row in rows:
            row["gaps"] = 2 if row["run_ref"] == "A-2" else 0
        rows[2]["needle_parts_found"] = False
        store.put(frame(rows), source="test")
        yield store


def _refs(book: Store, **window: object) -> list[str]:
    return book.runs(Window(**window))["run_ref"].to_list()  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (("a-2",), ["A-2"]),
        (("HARE",), ["A-2"]),
        (("åkesson",), ["A-3"]),
        (("terry", "m7"), ["A-4"]),
        (("terry", "hare"), []),
        (("%",), ["A-1"]),
        (("_",), ["A-2"]),
        (("'; DROP TABLE runs; --",), []),
        ((), ["A-1", "A-2", "A-3", "A-4"]),
    ],
)
def test_every_word_stands_somewhere(book: Store, words: tuple[str, ...], found: list[str]) -> None:
    assert _refs(book, words=words) == found
    assert book.totals(window=Window(words=words))["runs"].item() == len(found)


def test_runs_that_show_a_kind(book: Store) -> None:
    assert _refs(book, showing="gaps") == ["A-2"]
    assert _refs(book, showing="any") == ["A-2"]
    assert _refs(book, showing="needle_breaks") == ["A-3"]
    with pytest.raises(StoreError, match="no defect kind"):
        _refs(book, showing='gaps" > 0 OR "x')


def test_held_runs(book: Store) -> None:
    assert _refs(book, held=True) == ["A-3"]


def test_page_by_page_newest_first(book: Store) -> None:
    pages = [
        book.runs(newest_first=True, limit=3, offset=offset)["run_ref"].to_list()
        for offset in (0, 3, 6)
    ]
    assert pages == [["A-4", "A-3", "A-2"], ["A-1"], []]


def test_a_change_of_a_run_that_was_changed_meanwhile_is_refused(book: Store) -> None:
    mended = book.runs(refs=["A-2"])
    book.amend("A-2", mended.with_columns(gaps=3), why=None, source="first", seen=1)
    with pytest.raises(RunChanged, match="changed by somebody else"):
        book.amend("A-2", mended.with_columns(gaps=4), why=None, source="second", seen=1)
    with pytest.raises(RunChanged):
        book.withdraw("A-2", why="twice", source="second", seen=1)
    assert [each.source for each in book.history("A-2")] == ["test", "first"]
    book.withdraw("A-2", why="twice", source="second", seen=2)
    assert _refs(book, words=("A-2",)) == []
