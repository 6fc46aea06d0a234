"""The pieces with any defect go along with a corrected count, whoever corrects it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from logbook.book.defective_pieces import pieces_along
from logbook.book.runs import amend_run, log_run
from logbook.errors import RecordError
from logbook.store import Store, new_book
from logbook.vocabulary.defects import DEFECT_KINDS

NONE_SEEN = {
    each.name: 0 for each in DEFECT_KINDS if each.measure == "pieces" and each.charged_to_setup
}
"""As a form tells it: every kind is recorded."""
RUN: dict[str, Any] = {
    **NONE_SEEN,
    "run_ref": "R-1",
    "finished_at": "2026-10-05",
    "pieces_inspected": 24,
    "puckering": 5,
    "pieces_defective": 5,
}


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Store]:
    with new_book(str(tmp_path / "book")) as store:
        log_run(store, RUN, source="test")
        yield store


def _defective(book: Store) -> int:
    return int(book.runs(refs=["R-1"])["pieces_defective"].item())


@pytest.mark.parametrize(
    ("content", "changes", "expected"),
    [
        ({"hoop_marks": 3, "gaps": 1, "pieces_defective": 3}, {"hoop_marks": 2}, 2),
        ({"hoop_marks": 3, "gaps": 1, "pieces_defective": 3}, {"hoop_marks": None}, 1),
        ({"hoop_marks": 3, "gaps": 1, "pieces_defective": 3}, {"hoop_marks": "2"}, 2),
        ({"hoop_marks": 3, "gaps": 1, "pieces_defective": 3}, {"hoop_marks": ""}, 1),
        ({"hoop_marks": 3, "gaps": 3, "pieces_defective": 3}, {"hoop_marks": 2}, None),
        ({"hoop_marks": 3, "gaps": 2, "pieces_defective": 5}, {"hoop_marks": 2}, None),
        ({"hoop_marks": 3, "pieces_defective": 3}, {"hoop_marks": 2, "pieces_defective": 3}, None),
        ({"hoop_marks": 3, "pieces_defective": 3}, {"operator": "Ola"}, None),
        ({"hoop_marks": 3, "pieces_defective": 3}, {"hoop_marks": None}, 0),
        ({"hoop_marks": 3, "pieces_defective": 3}, {"hoop_marks": "many"}, 0),
        ({"hoop_marks": 3, "pieces_defective": 3}, {"hoop_marks": 0}, 0),
        ({"hoop_marks": 3}, {"hoop_marks": 2}, None),
        ({"thread_breaks": 3, "pieces_defective": 0}, {"thread_breaks": 4}, None),
    ],
)
def test_the_pieces_follow_a_count_that_they_were_taken_from(
    content: dict[str, int], changes: dict[str, Any], expected: int | None
) -> None:
    along = pieces_along({**NONE_SEEN, **content}, changes, DEFECT_KINDS).changes
    assert along == ({} if expected is None else {"pieces_defective": expected})


def test_a_number_that_may_be_of_a_kind_not_recorded_stays_and_is_to_be_checked() -> None:
    before = {"puckering": 3, "pieces_defective": 3}
    along = pieces_along(before, {"puckering": 0}, DEFECT_KINDS)
    assert along.changes == {}
    (note,) = along.notes
    assert note.startswith("check pieces_defective: it stays 3")
    assert pieces_along(before, {"puckering": None}, DEFECT_KINDS).changes == {}


def test_what_only_went_along_is_not_named_as_the_fault(book: Store) -> None:
    with pytest.raises(RecordError) as refused:
        amend_run(book, "R-1", {"puckering": 30}, why=None, source="test")
    assert list(refused.value.reasons) == ["puckering"]
    assert "pieces_defective" not in refused.value.message
    assert _defective(book) == 5


@pytest.mark.parametrize("told", ["2", "6", 2, 0])
def test_they_go_along_by_every_door_and_it_is_said(book: Store, told: Any) -> None:
    amended = amend_run(book, "R-1", {"puckering": told}, why=None, source="command line")
    assert amended.notes == (f"pieces_defective went along: {told} now",)
    assert _defective(book) == int(told)


def test_a_number_of_its_own_stays_and_a_refusal_says_to_give_it(book: Store) -> None:
    amend_run(book, "R-1", {"pieces_defective": 8}, why=None, source="test")
    assert amend_run(book, "R-1", {"puckering": 7}, why=None, source="test").notes == ()
    assert _defective(book) == 8
    with pytest.raises(RecordError) as refused:
        amend_run(book, "R-1", {"puckering": "9"}, why=None, source="test")
    assert refused.value.hint == "give pieces_defective as well, such as pieces_defective=9"
    with pytest.raises(RecordError) as refused:
        amend_run(book, "R-1", {"puckering": 9, "pieces_defective": 8}, why=None, source="test")
    assert refused.value.hint == "mend what is named and try again"


def test_with_several_kinds_counted_they_are_to_be_checked(book: Store) -> None:
    amend_run(book, "R-1", {"gaps": 2}, why=None, source="test")
    went, check = amend_run(book, "R-1", {"puckering": 3}, why=None, source="test").notes
    assert went == "pieces_defective went along: 3 now"
    assert check.startswith("check pieces_defective")
    assert amend_run(book, "R-1", {"gaps": 1}, why=None, source="test").notes == ()
    amend_run(book, "R-1", {"pieces_defective": 4}, why=None, source="test")
    (check,) = amend_run(book, "R-1", {"puckering": 4}, why=None, source="test").notes
    assert check.startswith("check pieces_defective")
