"""What can be answered, what cannot, and the one column that would open most."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

from logbook.book.answerable import (
    ASKED,
    BREAKS,
    JUDGED,
    Recorded,
    answerable,
    lines,
    recorded_in,
    said_of,
)
from logbook.book.runs import log_run
from logbook.runs.columns import COLUMNS
from logbook.store import new_book

LABELS = {column.name: column.label for column in COLUMNS}
EVERYTHING = {need.column: (40, 3) for asked in ASKED for need in asked.needs}
SPAN = (date(2025, 10, 1), date(2025, 10, 28))


def recorded(**lacking: tuple[int, int] | None) -> Recorded:
    told = {**EVERYTHING, **lacking}
    columns = {name: each for name, each in told.items() if each is not None}
    return Recorded(40, SPAN, columns, frozenset({"pieces_sewn", "thread_breaks"}))


def test_a_whole_record_lacks_nothing() -> None:
    found = answerable(recorded())
    assert len(found.can) == len(ASKED)
    assert (found.cannot, found.best_column, found.opens) == ((), None, ())
    assert lines(recorded(), LABELS)[0] == (
        "The book has 40 runs of 1 Oct 2025 to 28 Oct 2025; 40 of them count in rates."
    )
    assert len(lines(recorded(), LABELS)) == 2


def test_the_column_that_opens_most_is_named() -> None:
    # Without pieces that were judged nearly nothing can be said: that goes before a customer.
    found = answerable(recorded(judged=None, customer=None))
    assert found.best_column == "pieces_defective"
    assert len(found.opens) == len(ASKED) - 3
    # Of two that help alike, the weightier.
    found = answerable(recorded(customer=None, backing_supplier=None))
    assert found.best_column == "backing_supplier"
    assert found.opens == ("whose backing costs least in good pieces",)


def test_one_value_alone_or_a_handful_of_runs_compares_nothing() -> None:
    assert answerable(recorded(machine=(40, 1))).best_column == "machine"
    assert answerable(recorded(machine=(9, 2))).best_column == "machine"
    assert answerable(recorded(machine=(10, 2))).best_column is None


def test_breaks_lack_the_stitches_or_the_breaks() -> None:
    assert answerable(recorded(breaks=None)).best_column == "stitches_per_piece"
    bare = Recorded(40, SPAN, {**EVERYTHING, BREAKS: (0, 0), JUDGED: (0, 0)}, frozenset())
    lacking = dict(answerable(bare).cannot)
    assert lacking["how often thread breaks"] == ("thread_breaks",)
    assert lacking["which machine stands out"] == ("pieces_sewn",)


def test_a_book_is_counted(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as store:
        assert said_of(store) == ()
        for number in range(12):
            run = {"machine": f"M{number % 2}", "pieces_inspected": 24, "gaps": number % 3}
            run |= {"finished_at": datetime(2025, 10, 1 + number), "speed_spm": 650 + number * 20}
            log_run(store, run | {"thread_breaks": 1}, source="test")
        found = recorded_in(store)
        assert found.columns[JUDGED] == (12, 1)
        assert found.columns["machine"] == (12, 2)
        assert found.columns[BREAKS] == (0, 1)
        assert found.columns["speed_spm"][1] > 1
        told = said_of(store)
    assert told[0].startswith("The book has 12 runs of 1 Oct 2025 to 12 Oct 2025; 12 of them")
    assert "which machine stands out" in told[1]
    assert "how often thread breaks (stitches per piece)" in told[2]
    assert told[3].startswith("One column would help most: Backing supplier.")
