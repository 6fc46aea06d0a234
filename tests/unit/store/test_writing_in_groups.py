"""Requests of many threads committed together: each answered for itself, none held up for long."""

from __future__ import annotations

import threading
import time
from concurrent.futures import Future, ThreadPoolExecutor
from datetime import datetime

import pytest
from run_frames import frame, many, run

from logbook.errors import LogbookError, RunConflict, RunNotFound, StoreError
from logbook.store import Stored, group_commit, opening, run_changes, writer
from logbook.store.requests import PutRequest, WithdrawRequest
from logbook.store.spellings import Spellings

PATIENCE = 30.0


def _all_waiting(book, asked: int) -> None:
    give_up = time.monotonic() + PATIENCE
    while len(book._writer._waiting) < asked:
        assert time.monotonic() < give_up
        time.sleep(0.002)


def _outcome(done: Future) -> object:
    problem = done.exception(PATIENCE)
    return type(problem) if problem else done.result()


def test_one_that_is_refused_leaves_the_others_of_its_group_alone(book, monkeypatch) -> None:
    book.put(frame([run("there", gaps=1), run("gone"), run("old", gaps=1)]), source="form")
    book.withdraw("gone", why="test", source="form")
    transactions = []
    begun = group_commit.transaction
    monkeypatch.setattr(group_commit, "transaction", lambda c: transactions.append(1) or begun(c))
    asked = [
        lambda: book.put(frame([run("new")]), source="form"),
        lambda: book.put(frame([run("there", gaps=2)]), source="form"),
        lambda: book.amend("nowhere", frame([run("x")]), why=None, source="form"),
        lambda: book.withdraw("gone", why="again", source="form"),
        lambda: book.amend("old", frame([run("old", gaps=5)]), why="recounted", source="form"),
        lambda: book.put(frame([run("two"), run("three")]), source="form"),
    ]
    with ThreadPoolExecutor(len(asked)) as pool:
        # While a large frame holds these references, all that is asked about them waits.
        held = ["new", "there", "nowhere", "x", "gone", "old", "two", "three"]
        with book._writer.claimed(frame([run(name) for name in held])["run_ref"]):
            answers = [pool.submit(each) for each in asked]
            _all_waiting(book, len(asked))
            assert transactions == []
        outcomes = [_outcome(answer) for answer in answers]
    assert outcomes == [
        Stored(1, 0, 0),
        Stored(0, 0, 0, (0,)),
        RunNotFound,
        RunConflict,
        None,
        Stored(2, 0, 0),
    ]
    assert len(transactions) == 1
    present = dict(book.runs().select("run_ref", "gaps").rows())
    assert {"new", "two", "three", "there", "old"} == set(present)
    assert (present["there"], present["old"]) == (1, 5)


def test_where_the_database_fails_only_those_at_fault_fail(book, monkeypatch) -> None:
    changed = group_commit._put

    def failing(cursor, puts):
        stored = changed(cursor, puts)
        if any("bad" in put.refs for put in puts):
            cursor.execute("INSERT INTO runs SELECT * FROM runs")  # breaks the primary key
        return stored

    monkeypatch.setattr(group_commit, "_put", failing)
    puts = [PutRequest(book._whole(frame([run(name)])), "form") for name in ("a", "bad", "b")]
    requests = [*puts, WithdrawRequest("nowhere", "test", "form")]
    outcomes = group_commit.kept_together(book._connection.cursor(), requests)
    assert [each for each in outcomes if isinstance(each, Stored)] == [Stored(1, 0, 0)] * 2
    assert not isinstance(outcomes[1], LogbookError)
    assert isinstance(outcomes[1], Exception)
    assert isinstance(outcomes[3], RunNotFound)
    assert sorted(book.runs()["run_ref"]) == ["a", "b"]


def test_others_go_on_while_a_large_frame_settles_and_see_nothing_of_it(book) -> None:
    settling, go_on = threading.Event(), threading.Event()

    def settle(stored: Stored) -> None:
        settling.set()
        assert go_on.wait(PATIENCE)

    large = many(3_000, prefix="large-")
    with ThreadPoolExecutor(2) as pool:
        landing = pool.submit(book.put, large, source="sheet", settle=settle)
        assert settling.wait(PATIENCE)
        for number in range(5):
            assert book.put(frame([run(f"small-{number}")]), source="form") == Stored(1, 0, 0)
        assert book.count() == 5
        # About one of the frame's own runs: waits, and finds it there.
        same = pool.submit(book.put, large.head(1), source="form")
        assert book.put(frame([run("after")]), source="form") == Stored(1, 0, 0)
        assert not same.done()
        go_on.set()
        assert landing.result(PATIENCE) == Stored(3_000, 0, 0)
        assert same.result(PATIENCE) == Stored(0, 1, 0)
    assert book.count() == 3_006


def test_a_large_frame_that_fails_lets_go_of_its_runs(book) -> None:
    def settle(stored: Stored) -> None:
        raise OSError("no room")

    large = many(1_000)
    with pytest.raises(OSError, match="no room"):
        book.put(large, source="sheet", settle=settle)
    assert book.count() == 0
    assert book.put(large.head(2), source="form") == Stored(2, 0, 0)
    assert book.put(large, source="sheet") == Stored(998, 2, 0)


def test_amending_a_large_frame_beside_amends_of_other_runs(book) -> None:
    large = many(2_000, gaps=1)
    book.put(large, source="sheet")
    book.put(frame([run("other", gaps=0)]), source="form")
    with ThreadPoolExecutor(1) as pool:
        changed = many(2_000, gaps=2)
        landing = pool.submit(book.put, changed, source="sheet", amend=True)
        number = 0
        while not landing.done():
            number += 1
            book.amend("other", frame([run("other", gaps=number)]), why=None, source="form")
        assert landing.result() == Stored(0, 0, 2_000)
    assert len(book.history("other")) == number + 1
    assert set(book.runs().filter(book.runs()["run_ref"] != "other")["gaps"]) == {2}


def test_requests_about_one_run_are_answered_in_their_order(book) -> None:
    with ThreadPoolExecutor(8) as pool:
        held = frame([run("R-1")])["run_ref"]
        answers = []
        with book._writer.claimed(held):
            for number in range(8):
                sheet = frame([run("R-1", gaps=number)])
                answers.append(pool.submit(book.put, sheet, source="form"))
                _all_waiting(book, number + 1)
        stored = [answer.result(PATIENCE) for answer in answers]
    assert stored == [Stored(1, 0, 0), *[Stored(0, 0, 0, (0,))] * 7]
    assert book.runs()["gaps"].to_list() == [0]


def test_a_closed_book_takes_nothing_more_and_keeps_what_was_asked(book, place: str) -> None:
    book.put(frame([run("R-1")]), source="form")
    book.close()
    with pytest.raises(StoreError, match="closed"):
        book.put(frame([run("R-2")]), source="form")
    with pytest.raises(StoreError, match="closed"):
        book.put(many(1_000), source="sheet")


def test_a_clock_set_back_does_not_disorder_a_history(book, monkeypatch) -> None:
    moments = iter([datetime(2026, 10, 5, 9), datetime(2026, 10, 5, 7), datetime(2026, 10, 4)])
    clock = [next(moments)]
    for module in (group_commit, run_changes, opening):
        monkeypatch.setattr(module, "now_utc", lambda: clock[0])
    book.put(frame([run("R-1", gaps=0)]), source="form")
    clock[0] = next(moments)
    book.amend("R-1", frame([run("R-1", gaps=1)]), why=None, source="form")
    book.put(frame([run("R-1", gaps=2)]), source="sheet", amend=True)
    clock[0] = next(moments)
    book.withdraw("R-1", why="test", source="form")
    changes = book.history("R-1")
    assert [change.version for change in changes] == [1, 2, 3, 4]
    assert [change.content["gaps"] for change in changes] == [0, 1, 2, 2]
    assert {change.happened_at for change in changes} == {datetime(2026, 10, 5, 9)}


def test_what_fails_after_the_commit_does_not_deny_it(book, monkeypatch) -> None:
    assert book.known("operator") == ()
    with monkeypatch.context() as broken:
        broken.setattr(Spellings, "_note", lambda *_: 1 / 0)
        assert book.put(frame([run("a", operator="Ines")]), source="form") == Stored(1, 0, 0)
    assert book.known("operator") == ("Ines",)
    assert book.put(frame([run("b", operator="Ida")]), source="form") == Stored(1, 0, 0)
    assert set(book.known("operator")) == {"Ines", "Ida"}


def test_what_could_not_be_begun_is_not_kept_later(book, monkeypatch) -> None:
    def no_thread(_: threading.Thread) -> None:
        raise RuntimeError("can't start new thread")

    with monkeypatch.context() as broken:
        broken.setattr(threading.Thread, "start", no_thread)
        with pytest.raises(RuntimeError, match="new thread"):
            book.put(frame([run("a")]), source="form")
    assert book.put(frame([run("b")]), source="form") == Stored(1, 0, 0)
    assert book.runs()["run_ref"].to_list() == ["b"]


def test_one_who_cannot_be_told_keeps_nobody_from_writing(book) -> None:
    def failing(_: object) -> None:
        raise KeyError("unforeseen")

    book.put_soon([PutRequest(frame([run("a")]), "form")], failing)
    assert book.put(frame([run("b")]), source="form") == Stored(1, 0, 0)
    assert set(book.runs()["run_ref"]) == {"a", "b"}


def test_a_failure_before_the_commit_says_what_to_do(book, monkeypatch) -> None:
    monkeypatch.setattr(writer, "kept_together", lambda *_: 1 / 0)
    with pytest.raises(StoreError, match="could not be written") as told:
        book.put(frame([run("a")]), source="form")
    assert "not added twice" in told.value.hint
    assert book.count() == 0
