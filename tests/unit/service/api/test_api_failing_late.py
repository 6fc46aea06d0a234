"""What fails after the runs were kept: the answer never says that they were not."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from api_client import A_RUN, TestClient, asking, is_problem
from logged_runs import book_of_one, empty_book

from logbook.service import batching, the_book
from logbook.service.api import marks
from logbook.store.duckdb_store import DuckStore

SECONDS = 20


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    with asking(empty_book(tmp_path / "book")) as client:
        yield client


def _until_kept(runs: int) -> None:
    until = time.monotonic() + SECONDS
    while the_book().count() < runs and time.monotonic() < until:
        time.sleep(0.002)
    assert the_book().count() == runs


def _late(put_soon: Callable[..., None]) -> Callable[..., None]:
    """As ``put_soon``, but it fails once the writer has taken what was asked."""

    def failing(store: DuckStore, puts: Sequence[Any], settled: Callable[..., None]) -> None:
        put_soon(store, puts, settled)
        raise MemoryError("unforeseen")

    return failing


@pytest.mark.parametrize(
    ("more", "key", "status"),
    [({}, "k-1", 201), ({"run_ref": "R-1"}, None, 200), ({}, None, 200)],
)
def test_a_request_that_the_writer_took_can_be_sent_again(
    client: TestClient,
    more: dict[str, str],
    key: str | None,
    status: int,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    headers = {} if key is None else {"Idempotency-Key": key}
    with monkeypatch.context() as broken:
        broken.setattr(DuckStore, "put_soon", _late(DuckStore.put_soon))
        told = client.post("/api/runs", json=A_RUN | more, headers=headers)
        problem = is_problem(told, 500, "unexpected")
    assert "may be kept, or not" in problem["detail"]
    assert "Idempotency-Key or with the same run_ref" in problem["detail"]
    assert "nothing is added twice" in problem["detail"]
    assert "unforeseen" not in told.text
    _until_kept(1)
    again = client.post("/api/runs", json=A_RUN | more, headers=headers)
    assert again.status_code == status
    assert the_book().count() == 1
    assert again.json()["run_refs"] == the_book().runs()["run_ref"].to_list()


def test_others_are_answered_after_a_late_failure(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as broken:
        broken.setattr(DuckStore, "put_soon", _late(DuckStore.put_soon))
        is_problem(client.post("/api/runs", json=A_RUN), 500, "unexpected")
    for number in range(5):
        run = {**A_RUN, "run_ref": f"R-{number}"}
        assert client.post("/api/runs", json=run).status_code == 201
    assert the_book().count() == 6


def test_an_answer_that_cannot_be_made_does_not_deny_the_run(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing(*_: object) -> None:
        raise KeyError("unforeseen")

    with monkeypatch.context() as broken:
        broken.setattr(batching, "reply_to", failing)
        told = client.post("/api/runs", json={**A_RUN, "run_ref": "R-1"})
    assert "may be kept" in is_problem(told, 500, "unexpected")["detail"]
    assert the_book().count() == 1
    assert client.post("/api/runs", json={**A_RUN, "run_ref": "R-1"}).status_code == 200


def test_marks_are_told_how_to_be_sent_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add_locations = marks.add_locations_once

    def failing(*told: Any, **more: Any) -> None:
        add_locations(*told, **more)
        raise KeyError("unforeseen")

    sent = {"breaks": [{"kind": "thread_breaks", "head": 1}]}
    headers = {"Idempotency-Key": "k-1"}
    with asking(book_of_one(tmp_path / "book")) as client:
        with monkeypatch.context() as broken:
            broken.setattr(marks, "add_locations_once", failing)
            told = client.post("/api/runs/R-1/marks", json=sent, headers=headers)
        problem = is_problem(told, 500, "unexpected")
        assert "marks may be kept, or not" in problem["detail"]
        assert "Idempotency-Key" in problem["detail"]
        again = client.post("/api/runs/R-1/marks", json=sent, headers=headers)
        assert (again.status_code, len(again.json()["breaks"])) == (200, 1)


def test_a_question_that_fails_says_nothing_of_runs(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(DuckStore, "runs", property(lambda _: 1 / 0))
    problem = is_problem(client.get("/api/runs"), 500, "unexpected")
    assert "kept" not in problem["detail"]
