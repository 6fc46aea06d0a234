"""A request that comes again under its key gets the first answer, and adds nothing."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from api_client import A_RUN, TestClient, asking, is_problem
from logged_runs import empty_book

from logbook.service import batching, the_book
from logbook.service.api import idempotency, log_requests
from logbook.store import open_book

TWO_ALIKE = [A_RUN, A_RUN]
KEY = '"8e03978e-40d5-43dd-bc93-6894a57f9324"'


@pytest.fixture
def place(tmp_path: Path) -> Path:
    empty_book(tmp_path / "book").close()
    return tmp_path / "book"


@pytest.fixture
def client(place: Path) -> Iterator[TestClient]:
    with asking(open_book(str(place))) as client:
        yield client


def _post(client: TestClient, content: Any, key: str = KEY) -> Any:
    return client.post("/api/runs", json=content, headers={"Idempotency-Key": key})


def test_a_repeated_request_gets_the_first_answer_also_after_a_restart(place: Path) -> None:
    with asking(open_book(str(place))) as client:
        first = _post(client, TWO_ALIKE)
        assert (first.status_code, first.json()["added"]) == (201, 2)
        again = _post(client, TWO_ALIKE)
        assert (again.status_code, again.content) == (201, first.content)
    with asking(open_book(str(place))) as client:
        later = _post(client, TWO_ALIKE)
        assert (later.status_code, later.content) == (201, first.content)
        assert the_book().count() == 2
        one = _post(client, {**A_RUN, "run_ref": "R-1"}, "k-2")
        assert (
            _post(client, {**A_RUN, "run_ref": "R-1"}, "k-2").headers["location"]
            == (one.headers["location"])
        )


def test_the_first_answer_stands_whatever_became_of_the_run_since(client: TestClient) -> None:
    first = _post(client, {**A_RUN, "run_ref": "R-1"})
    client.patch("/api/runs/R-1", json={"puckering": 2})
    client.delete("/api/runs/R-1?why=test")
    assert _post(client, {**A_RUN, "run_ref": "R-1"}).content == first.content
    assert the_book().count() == 0


def test_the_same_key_with_another_body_is_refused(client: TestClient) -> None:
    _post(client, A_RUN)
    is_problem(_post(client, {**A_RUN, "puckering": 2}), 422, "other-body")
    assert the_book().count() == 1
    spaced = b"  " + str(A_RUN).replace("'", '"').encode()
    headers = {"Idempotency-Key": KEY, "Content-Type": "application/json"}
    assert client.post("/api/runs", content=spaced, headers=headers).status_code == 201
    assert _post(client, dict(reversed(A_RUN.items()))).status_code == 201


def test_a_refusal_is_answered_again_too(client: TestClient) -> None:
    bad = {"run_ref": "R-1", **A_RUN, "puckering": 25}
    first = _post(client, bad)
    is_problem(first, 422, "not-taken")
    assert is_problem(_post(client, bad), 422, "not-taken") == first.json()
    _post(client, {"run_ref": "R-1", **A_RUN}, "k-2")
    clash = {"run_ref": "R-1", **A_RUN, "gaps": 1}
    is_problem(_post(client, clash, "k-3"), 409, "conflict")
    client.delete("/api/runs/R-1?why=test")
    is_problem(_post(client, clash, "k-3"), 409, "conflict")


def test_other_keys_are_other_requests(client: TestClient) -> None:
    first = _post(client, {"run_ref": "R-1", **A_RUN}, "k-1")
    other = _post(client, {"run_ref": "R-1", **A_RUN}, "k-2")
    assert (first.status_code, other.status_code) == (201, 200)


def test_a_plain_key_is_the_same_as_one_in_quotes(client: TestClient) -> None:
    assert _post(client, A_RUN, '"k 1\\""').status_code == 201
    assert _post(client, A_RUN, '"k-1"').status_code == 200
    assert _post(client, A_RUN, "k-1").json()["skipped"] == 1
    is_problem(_post(client, TWO_ALIKE, "k-1"), 422, "other-body")


@pytest.mark.parametrize("key", ["", " ", '""', '"', 'a"b', "a b", '"a', "ü", "x" * 256])
def test_a_key_that_is_none_is_refused(client: TestClient, key: str) -> None:
    header = key.encode("latin-1")
    told = client.post("/api/runs", json=A_RUN, headers={"Idempotency-Key": header})
    is_problem(told, 400, "bad-key")
    assert the_book().count() == 0


def test_a_retry_while_the_first_is_running_is_told_so(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, go_on = threading.Event(), threading.Event()
    parse_batch = batching.parse_batch

    def slowly(*args: Any, **more: Any) -> Any:
        begun.set()
        assert go_on.wait(20)
        return parse_batch(*args, **more)

    monkeypatch.setattr(batching, "parse_batch", slowly)
    with ThreadPoolExecutor(1) as pool:
        first = pool.submit(_post, client, A_RUN)
        assert begun.wait(20)
        told = _post(client, A_RUN)
        go_on.set()
        assert first.result(20).status_code == 201
    is_problem(told, 409, "still-running")
    assert told.headers["retry-after"] == "1"
    assert _post(client, A_RUN).status_code == 201
    assert the_book().count() == 1


def test_many_retries_at_once_add_one_run(client: TestClient) -> None:
    with ThreadPoolExecutor(8) as pool:
        told = list(pool.map(lambda _: _post(client, TWO_ALIKE), range(24)))
    assert {each.status_code for each in told} <= {201, 409}
    assert len({each.content for each in told if each.status_code == 201}) == 1
    assert the_book().count() == 2


def test_a_failure_is_not_kept_as_the_answer(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(batching, "parse_batch", None)
    monkeypatch.setattr(log_requests, "parse_runs", None)
    is_problem(_post(client, A_RUN), 500, "unexpected")
    monkeypatch.undo()
    assert _post(client, A_RUN).status_code == 201


def test_keys_are_a_callers_own() -> None:
    assert idempotency.read_key("k", "machines") != idempotency.read_key("k", "office")
