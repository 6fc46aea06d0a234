"""What goes with a defect, asked of a book."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from small_shop import PIECES, RUNS_A_WEEK, WEEKS_BEFORE, small_book

from logbook.errors import StoreError, TooLittleData
from logbook.questions.factors.asking import which_factors
from logbook.store import Window, new_book
from logbook.store.duckdb_store import DuckStore

ALL_RUNS = RUNS_A_WEEK * (WEEKS_BEFORE + 1)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DuckStore]:
    with small_book(tmp_path_factory.mktemp("causes") / "book") as store:
        yield store


def test_the_whole_book_is_counted(book: DuckStore) -> None:
    result = which_factors(book, kind="puckering")
    assert result.exposure == ALL_RUNS * PIECES
    suppliers = {
        each.fair.level: each.fair
        for each in result.effects
        if each.fair.factor == "backing_supplier"
    }
    assert set(suppliers) == {"Alder", "Cedar"}
    assert suppliers["Cedar"].runs == ALL_RUNS // 2
    # By design every run on Cedar shows one puckered piece more.
    assert suppliers["Cedar"].count - suppliers["Alder"].count == ALL_RUNS // 2
    assert suppliers["Cedar"].ratio > 1


def test_a_window_narrows_what_is_counted(book: DuckStore) -> None:
    window = Window(since=date(2026, 9, 28), until=date(2026, 10, 4))
    result = which_factors(book, kind="puckering", window=window)
    assert result.exposure == RUNS_A_WEEK * PIECES


def test_any_defect_and_events_can_be_asked_about(book: DuckStore) -> None:
    assert which_factors(book, kind="any").kind.name == "any"
    events = which_factors(book, kind="thread_breaks")
    assert events.kind.measure == "events"
    assert events.count == 2 * ALL_RUNS


def test_a_book_without_runs_says_how_to_start(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as empty, pytest.raises(TooLittleData) as caught:
        which_factors(empty, kind="puckering")
    assert "logbook import" in str(caught.value.hint)


def test_a_window_without_runs_has_too_little(book: DuckStore) -> None:
    with pytest.raises(TooLittleData):
        which_factors(book, kind="puckering", window=Window(since=date(2031, 1, 1)))
    with pytest.raises(TooLittleData):
        which_factors(book, kind="sinking")


def test_a_kind_nobody_knows_is_refused(book: DuckStore) -> None:
    with pytest.raises(StoreError, match="sunshine"):
        which_factors(book, kind="sunshine")
