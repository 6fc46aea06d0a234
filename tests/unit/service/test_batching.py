"""Whatever fails while requests are worked on together, each is answered once and its key freed."""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, wait
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from api_client import A_RUN, TestClient, asking, is_problem
from logged_runs import empty_book

from logbook.book.designs import filled
from logbook.runs.intake import Parsed
from logbook.service import batching, the_book
from logbook.service.api import log_requests, log_runs
from logbook.service.api.idempotency import KeysInUse
from logbook.service.api.log_requests import LogRequest, Reply
from logbook.service.batching import Batcher
from logbook.store.duckdb_store import DuckStore

SECONDS = 20
Settled = Callable[[Sequence[Any]], None]


class Panic(BaseException):
    """As those of the frames' engine are: no Exception."""


class Keys(KeysInUse):
    """Notes which keys were released."""

    def __init__(self) -> None:
        super().__init__()
        self.freed: list[str | None] = []

    @property
    def held(self) -> set[str]:
        return set(self._keys)

    def release(self, key: str | None) -> None:
        self.freed.append(key)
        super().release(key)


class Patient(Batcher):
    """Fails where it is told to, before the batch is judged; patient, but not for ever."""

    fails = False

    def __init__(self, keys: KeysInUse) -> None:
        super().__init__(keys)
        self.batches: list[int] = []

    async def log(self, request: LogRequest) -> Reply:
        # So that a request left without an answer fails the test, and does not hold it up.
        return await asyncio.wait_for(super().log(request), SECONDS)

    def wait_for(self, requests: int) -> None:
        self._sizes.append(requests)

    def _hand_in(self, batch: Sequence[Any]) -> None:
        self.batches.append(len(batch))
        if self.fails:
            self.fails = False
            raise RuntimeError("unforeseen")
        super()._hand_in(batch)


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    with asking(empty_book(tmp_path / "book")) as client:
        yield client


@pytest.fixture
def keys(monkeypatch: pytest.MonkeyPatch) -> Keys:
    keys = Keys()
    monkeypatch.setattr(log_runs, "_KEYS", keys)
    return keys


@pytest.fixture
def batcher(keys: Keys, monkeypatch: pytest.MonkeyPatch) -> Patient:
    batcher = Patient(keys)
    monkeypatch.setattr(log_runs, "_BATCHER", batcher)
    return batcher


def _post(client: TestClient, number: int) -> Any:
    run = {**A_RUN, "run_ref": f"R-{number}"}
    return client.post("/api/runs", json=run, headers={"Idempotency-Key": f"k-{number}"})


def _all_at_once(
    client: TestClient, batcher: Patient, requests: int, monkeypatch: pytest.MonkeyPatch
) -> list[Any]:
    with monkeypatch.context() as patient:
        # So that they go in one batch, however slowly they come.
        patient.setattr(batching, "LINGER_SECONDS", SECONDS)
        batcher.wait_for(requests)
        with ThreadPoolExecutor(requests) as pool:
            asked = [pool.submit(_post, client, number) for number in range(requests)]
            told = [each.result(2 * SECONDS) for each in asked]
    assert batcher.batches == [requests]
    return told


@pytest.mark.parametrize("failure", [KeyError("unforeseen"), Panic("unforeseen")])
def test_one_that_cannot_be_filled_in_fails_alone(
    client: TestClient,
    keys: Keys,
    batcher: Patient,
    failure: BaseException,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def failing(store: DuckStore, taken: Parsed) -> Parsed:
        if "R-1" in taken.good["run_ref"]:
            raise failure
        return filled(store, taken)

    with monkeypatch.context() as broken:
        broken.setattr(batching, "filled", failing)
        broken.setattr(log_requests, "filled", failing)
        first, bad, last = _all_at_once(client, batcher, 3, monkeypatch)
    assert (first.status_code, last.status_code) == (201, 201)
    assert "unforeseen" not in is_problem(bad, 500, "unexpected")["detail"]
    assert sorted(the_book().runs()["run_ref"]) == ["R-0", "R-2"]
    assert (len(keys.freed), keys.held) == (3, set())
    assert _post(client, 0).content == first.content
    assert _post(client, 1).status_code == 201
    assert _post(client, 2).content == last.content
    assert the_book().count() == 3


def test_a_batch_that_fails_before_it_is_judged_is_answered(
    client: TestClient, keys: Keys, batcher: Patient, monkeypatch: pytest.MonkeyPatch
) -> None:
    batcher.fails = True
    for told in _all_at_once(client, batcher, 3, monkeypatch):
        is_problem(told, 500, "unexpected")
    assert (len(keys.freed), keys.held, the_book().count()) == (3, set(), 0)
    assert [_post(client, number).status_code for number in range(3)] == [201, 201, 201]


class Slow:
    """The book's writer, whose word of what became of requests comes when the test says so."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self._put_soon = DuckStore.put_soon
        self._monkeypatch = monkeypatch
        self.committed = threading.Event()
        self._left: list[tuple[Settled, Sequence[Any]]] = []

    def __enter__(self) -> Slow:
        def put_soon(store: DuckStore, puts: Sequence[Any], settled: Settled) -> None:
            def kept_back(told: Sequence[Any]) -> None:
                self._left.append((settled, told))
                self.committed.set()

            self._put_soon(store, puts, kept_back)

        self._monkeypatch.setattr(DuckStore, "put_soon", put_soon)
        return self

    def __exit__(self, *_: object) -> None:
        self._monkeypatch.setattr(DuckStore, "put_soon", self._put_soon)
        for settled, told in self._left:
            settled(told)


def test_what_the_writer_has_is_answered_by_the_writer_alone(
    client: TestClient, keys: Keys, batcher: Patient, monkeypatch: pytest.MonkeyPatch
) -> None:
    with ThreadPoolExecutor(1) as pool:
        with Slow(monkeypatch) as writer:
            first = pool.submit(_post, client, 1)
            assert writer.committed.wait(SECONDS)
            _until_it_waits(batcher)
            batcher.fails = True
            is_problem(_post(client, 2), 500, "unexpected")
            # Neither told that it failed nor its key released: it is in the book already.
            assert not wait([first], 0.1).done
            assert [key.partition(": ")[2] for key in keys.held] == ["k-1"]
            is_problem(_post(client, 1), 409, "still-running")
        told = first.result(2 * SECONDS)
    assert (told.status_code, told.json()["added"]) == (201, 1)
    assert (len(keys.freed), keys.held) == (2, set())
    assert _post(client, 1).content == told.content
    assert _post(client, 2).status_code == 201
    assert the_book().count() == 2


def _until_it_waits(batcher: Patient) -> None:
    """Until the writer is waited for no longer, and what comes next is a batch of its own."""
    until = time.monotonic() + SECONDS
    while not batcher._pending and time.monotonic() < until:
        time.sleep(0.001)
    time.sleep(2 * batching.NOT_HELD_UP_SECONDS)


def test_an_answer_that_comes_too_late_frees_no_key_that_a_retry_holds(
    client: TestClient, keys: Keys, batcher: Patient, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_soon = DuckStore.put_soon
    late: Future[Settled] = Future()

    def failing(store: DuckStore, puts: Sequence[Any], settled: Settled) -> None:
        late.set_result(settled)
        raise MemoryError("no thread could be started")

    monkeypatch.setattr(DuckStore, "put_soon", failing)
    is_problem(_post(client, 1), 500, "unexpected")
    monkeypatch.setattr(DuckStore, "put_soon", put_soon)
    with ThreadPoolExecutor(1) as pool, Slow(monkeypatch) as writer:
        retried = pool.submit(_post, client, 1)
        assert writer.committed.wait(SECONDS)
        late.result(0)([(0, RuntimeError("late"))])
        _until_it_waits(batcher)
        assert len(keys.held) == 1
        is_problem(_post(client, 1), 409, "still-running")
    assert retried.result(2 * SECONDS).status_code == 201
    assert (len(keys.freed), keys.held, the_book().count()) == (2, set(), 1)


def test_the_panics_of_the_frames_engine_are_no_exceptions() -> None:
    assert not issubclass(pl.exceptions.PanicException, Exception)
