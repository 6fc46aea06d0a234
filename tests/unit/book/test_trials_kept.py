"""Trials in the book: named, started, ended, never opened again; history kept."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from trial_shop import film_trial, loads_of

from logbook.book.runs import log_run
from logbook.book.trials import (
    COLLECTION,
    end_trial,
    running_trials,
    sewn_of,
    start_trial,
    trial_named,
    trials,
    write_trial,
)
from logbook.errors import DocumentChanged, DocumentNotFound, RecordError
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore


@pytest.fixture
def book(tmp_path: Path) -> Iterator[DuckStore]:
    with new_book(str(tmp_path / "book")) as store:
        yield store


def test_a_trial_goes_from_planned_to_ended_and_its_versions_stay(book: DuckStore) -> None:
    planned = write_trial(book, film_trial(), source="test")
    assert write_trial(book, film_trial(), source="test").ref == "T2"
    running = start_trial(book, planned, source="test")
    assert running_trials(book) == (running,)
    assert trial_named(book, None) == running
    ended = end_trial(
        book, running, why="  done  ", verdict="better", says="Take it.", source="test"
    )
    assert trial_named(book, "t1") == ended
    assert (ended.trial.state, ended.trial.why, ended.trial.says) == ("ended", "done", "Take it.")
    states = [each.content["state"] for each in book.document_history(COLLECTION, "T1")]
    assert states == ["planned", "running", "ended"]
    assert [each.ref for each in trials(book)] == ["T1", "T2"]


def test_what_has_begun_is_not_begun_and_what_has_ended_not_ended_again(book: DuckStore) -> None:
    planned = write_trial(book, film_trial(), source="test")
    running = start_trial(book, planned, source="test")
    with pytest.raises(RecordError, match="running already"):
        start_trial(book, running, source="test")
    with pytest.raises(DocumentChanged, match="Somebody else changed trial T1"):
        end_trial(book, planned, why=None, verdict=None, says=None, source="test")
    ended = end_trial(book, running, why=None, verdict=None, says=None, source="test")
    with pytest.raises(RecordError, match="ended already"):
        end_trial(book, ended, why=None, verdict=None, says=None, source="test")


def test_which_trial_is_meant_is_asked_where_several_could_be(book: DuckStore) -> None:
    with pytest.raises(DocumentNotFound, match="none is planned or running"):
        trial_named(book, None)
    for _ in range(2):
        write_trial(book, film_trial(), source="test")
    with pytest.raises(DocumentNotFound, match="T1, T2"):
        trial_named(book, None)
    with pytest.raises(DocumentNotFound, match="no trial 'T9'"):
        trial_named(book, "T9")


def test_runs_are_found_by_their_trial(book: DuckStore) -> None:
    kept = write_trial(book, film_trial(), source="test")
    for run in loads_of(kept.trial, [4, 3], [1, 0]):
        log_run(book, run, source="test")
    log_run(book, {**loads_of(kept.trial, [4], [1])[0], "run_ref": "X", "trial": None,
                   "trial_arm": None}, source="test")  # fmt: skip
    assert len(sewn_of(book, kept).counted) == 2
