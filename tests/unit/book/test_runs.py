"""One run at a time: logged, corrected, taken back."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest

from logbook.book.runs import amend_run, known_spellings, log_run, now_at, withdraw_run
from logbook.book.sheets import import_sheets
from logbook.errors import RecordError, RunConflict, RunNotFound
from logbook.runs.content import MADE_PREFIX
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

RUN = {
    "run_ref": "R1",
    "finished_at": "2026-10-05 09:30",
    "machine": "M1",
    "pieces_sewn": "24",
    "pieces_inspected": 24,
    "puckering": 2,
    "notes": "it's =fine",
}


@pytest.fixture
def book(tmp_path: Path) -> Iterator[DuckStore]:
    with new_book(str(tmp_path / "book")) as store:
        yield store


def _of(store: DuckStore, run_ref: str) -> dict[str, object]:
    return store.runs(refs=[run_ref]).row(0, named=True)


def test_a_run_is_logged_with_what_was_told_and_nothing_else(book: DuckStore) -> None:
    logged = log_run(book, RUN, source="form")
    assert (logged.run_ref, logged.added, logged.held) == ("R1", True, False)
    told = {name: value for name, value in _of(book, "R1").items() if value is not None}
    assert told == RUN | {"finished_at": datetime(2026, 10, 5, 9, 30), "pieces_sewn": 24}
    assert [change.source for change in book.history("R1")] == ["form"]


def test_the_same_run_again_adds_nothing(book: DuckStore) -> None:
    log_run(book, RUN, source="form")
    again = log_run(book, RUN, source="form")
    assert not again.added
    assert again.as_json()["skipped"] == 1
    assert book.count() == 1


def test_other_content_under_a_reference_is_a_conflict(book: DuckStore) -> None:
    log_run(book, RUN, source="form")
    with pytest.raises(RunConflict, match="R1") as refused:
        log_run(book, RUN | {"puckering": 3}, source="form")
    assert "amend R1" in (refused.value.hint or "")
    assert _of(book, "R1")["puckering"] == 2


def test_a_run_without_a_time_has_finished_just_now(book: DuckStore) -> None:
    before = now_at(book)
    logged = log_run(book, {"pieces_sewn": 5, "gaps": 0}, source="form")
    assert logged.run_ref.startswith(MADE_PREFIX)
    finished = _of(book, logged.run_ref)["finished_at"]
    assert isinstance(finished, datetime)
    assert before <= finished <= now_at(book)


def test_what_cannot_be_true_is_refused_by_column(book: DuckStore) -> None:
    with pytest.raises(RecordError) as refused:
        log_run(book, RUN | {"puckering": 25, "speed_spm": "fast"}, source="form")
    assert set(refused.value.reasons) == {"puckering", "speed_spm"}
    assert book.count() == 0


def test_needle_parts_not_found_hold_the_run_until_amended(book: DuckStore) -> None:
    broken = RUN | {"needle_breaks": 1, "needle_parts_found": False}
    assert log_run(book, broken, source="form").held
    assert not amend_run(
        book, "R1", {"needle_parts_found": True}, why="found in the hook", source="form"
    ).held


def test_an_amendment_changes_what_it_names_and_keeps_the_version_before(book: DuckStore) -> None:
    log_run(book, RUN, source="form")
    amended = amend_run(
        book, "R1", {"puckering": "3", "machine": ""}, why="counted again", source="desk"
    )
    assert amended.added
    now = _of(book, "R1")
    assert (now["puckering"], now["machine"], now["notes"]) == (3, None, "it's =fine")
    first, second = book.history("R1")
    assert (first.content["puckering"], second.content["puckering"]) == (2, 3)
    assert (second.what, second.why, second.source) == ("amended", "counted again", "desk")


def test_an_amendment_that_changes_nothing_says_so(book: DuckStore) -> None:
    log_run(book, RUN, source="form")
    assert not amend_run(book, "R1", {"puckering": 2}, why=None, source="form").added
    assert len(book.history("R1")) == 1


def test_an_amendment_cannot_make_a_run_untrue(book: DuckStore) -> None:
    log_run(book, RUN, source="form")
    with pytest.raises(RecordError) as refused:
        amend_run(book, "R1", {"pieces_inspected": 25}, why=None, source="form")
    assert set(refused.value.reasons) == {"pieces_inspected"}
    assert _of(book, "R1")["pieces_inspected"] == 24


def test_an_amendment_does_not_eat_apostrophes(book: DuckStore) -> None:
    log_run(book, RUN | {"notes": "''=twice"}, source="form")
    amend_run(book, "R1", {"puckering": 1}, why=None, source="form")
    assert _of(book, "R1")["notes"] == "''=twice"


def test_a_reference_stays_what_it_is(book: DuckStore) -> None:
    log_run(book, RUN, source="form")
    with pytest.raises(RecordError) as refused:
        amend_run(book, "R1", {"run_ref": "R2"}, why=None, source="form")
    assert set(refused.value.reasons) == {"run_ref"}


def test_a_run_without_outcomes_from_a_sheet_can_be_corrected(
    book: DuckStore, tmp_path: Path
) -> None:
    sheet = tmp_path / "sheet.csv"
    sheet.write_text("run_ref,finished_at,pieces_sewn,machine,gaps\nR1,2026-10-05,9,M1,\n")
    assert import_sheets(book, [sheet]).added == 1
    amend_run(book, "R1", {"machine": "M2"}, why=None, source="form")
    assert _of(book, "R1")["machine"] == "M2"


def test_an_unknown_run_is_told_apart_from_a_withdrawn_one(book: DuckStore) -> None:
    log_run(book, RUN, source="form")
    withdraw_run(book, "R1", why=" entered twice ", source="desk")
    with pytest.raises(RunNotFound, match="withdrawn"):
        amend_run(book, "R1", {"puckering": 3}, why=None, source="form")
    with pytest.raises(RunNotFound) as refused:
        amend_run(book, "R9", {"puckering": 3}, why=None, source="form")
    assert "withdrawn" not in refused.value.message


def test_withdrawing_wants_a_reason_and_keeps_it(book: DuckStore) -> None:
    log_run(book, RUN, source="form")
    with pytest.raises(RecordError, match="say why"):
        withdraw_run(book, "R1", why="  ", source="desk")
    assert book.count() == 1
    withdraw_run(book, "R1", why=" entered twice ", source="desk")
    assert book.count() == 0
    last = book.history("R1")[-1]
    assert (last.what, last.why) == ("withdrawn", "entered twice")
    with pytest.raises(RunConflict):
        withdraw_run(book, "R1", why="again", source="desk")
    with pytest.raises(RunNotFound):
        withdraw_run(book, "R9", why="never there", source="desk")


def test_spellings_in_use_are_known_and_used(book: DuckStore) -> None:
    log_run(book, RUN | {"backing_supplier": "Alder"}, source="form")
    assert known_spellings(book)["backing_supplier"] == ("Alder",)
    other = RUN | {"run_ref": "R2", "backing_supplier": "ALDER "}
    logged = log_run(book, other, source="form")
    assert _of(book, "R2")["backing_supplier"] == "Alder"
    assert any("Alder" in note for note in logged.notes)
