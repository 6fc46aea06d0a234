"""Every error of the API is problem details, and nothing inner is told."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from pathlib import Path

import pytest
from api_client import A_RUN, TestClient, asking, is_problem
from logged_runs import book_of_one, empty_book

from logbook import errors
from logbook.errors import (
    BookReadOnly,
    LogbookError,
    RecordError,
    RunNotFound,
    TooLittleData,
)
from logbook.service.api.problems import PROBLEM_OF, Problem, details_of, problem_of
from logbook.store.duckdb_store import DuckStore


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    with asking(book_of_one(tmp_path / "book")) as client:
        yield client


@pytest.mark.parametrize("address", ["/api/", "/api/nothing", "/api/runs/", "/api/reviews"])
def test_what_is_not_there_is_a_problem(client: TestClient, address: str) -> None:
    told = client.get(address)
    assert told.status_code == 404
    assert told.headers["content-type"] == "application/problem+json"
    assert told.json()["instance"] == address


@pytest.mark.parametrize(
    ("method", "address", "allow"),
    [
        ("PUT", "/api/runs", "GET, POST"),
        ("DELETE", "/api/runs", "GET, POST"),
        ("POST", "/api/runs/R-1", "GET, PATCH, DELETE"),
        ("OPTIONS", "/api/review", "GET"),
        ("POST", "/api/openapi.json", "GET"),
    ],
)
def test_another_method_is_told_which_there_are(
    client: TestClient, method: str, address: str, allow: str
) -> None:
    told = client.request(method, address)
    is_problem(told, 405)
    assert told.headers["allow"] == allow


def test_parameters_that_cannot_be_are_named(client: TestClient) -> None:
    told = is_problem(client.get("/api/chart?by=hour&margin=1"), 422, "not-understood")
    assert {each["column"] for each in told["reasons"]} == {"defect", "by", "margin"}


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ("chart", "defect is missing"),
        (
            "chart?defect=gaps&by=hour",
            "by is 'hour'; it can be run, day, week or month",
        ),
        ("chart?defect=gaps&margin=1", "there is no parameter 'margin' here"),
        ("runs?limit=0", "limit is '0'; it must be at least 1"),
        ("runs?limit=99999", "limit is '99999'; it must be at most 10,000"),
        ("runs?limit=few", "limit is 'few', which is not a whole number"),
        ("suppliers?margin=wide", "margin 'wide' is not a number, such as 1 or 0.5"),
        ("suppliers?margin=inf", "margin inf is not a number from nought up, such as 1 or 0.5"),
        ("runs?since=9/1/2026", "since '9/1/2026' is not a date such as 2026-09-01"),
    ],
)
def test_a_parameter_that_cannot_be_is_told_in_a_plain_sentence(
    client: TestClient, asked: str, says: str
) -> None:
    told = is_problem(client.get(f"/api/{asked}"), 422, "not-understood")
    assert [each["reason"] for each in told["reasons"]] == [says]
    assert told["detail"].endswith(f": {says}.")


def test_a_question_to_an_empty_book_is_told_what_to_do(tmp_path: Path) -> None:
    with asking(empty_book(tmp_path / "book")) as client:
        for asked in ("chart?defect=gaps", "suppliers", "factors?defect=gaps", "advise?fabric=x"):
            told = is_problem(client.get(f"/api/{asked}"), 422, "no-answer")
            assert told["hint"]


def test_what_nobody_foresaw_is_logged_and_not_told(
    client: TestClient, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise ZeroDivisionError("the secret of the house")

    monkeypatch.setattr(DuckStore, "totals", fails)
    with caplog.at_level(logging.ERROR):
        told = client.get("/api/review")
    is_problem(told, 500, "unexpected")
    assert "secret" not in told.text
    assert "ZeroDivisionError" not in told.text
    assert "the secret of the house" in caplog.text
    assert client.get("/api/runs/R-1").status_code == 200


def test_a_book_that_cannot_be_written_is_no_fault_of_the_sender(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise BookReadOnly("The disk is full.", "make room")

    monkeypatch.setattr(DuckStore, "put_soon", full)
    told = is_problem(client.post("/api/runs", json=A_RUN), 503, "book-closed")
    assert (told["detail"], told["hint"]) == ("The disk is full.", "make room")


def _every_error(kind: type[LogbookError]) -> list[type[LogbookError]]:
    return [kind, *(each for below in kind.__subclasses__() for each in _every_error(below))]


@pytest.mark.parametrize("error", _every_error(LogbookError), ids=lambda each: each.__name__)
def test_every_error_of_ours_has_a_kind(error: type[LogbookError]) -> None:
    made = error.__new__(error)
    Exception.__init__(made, "message")
    made.message, made.hint = "message", None
    made.reasons = {}
    told = details_of(made, instance="/api/x")
    assert told["status"] in range(400, 600)
    assert problem_of(made) in Problem
    inner = problem_of(made) is Problem.UNEXPECTED
    assert ("message" in told["detail"]) is not inner


def test_the_narrower_error_counts() -> None:
    assert problem_of(RunNotFound("x")).status == 404
    assert problem_of(errors.RunConflict("x")).status == 409
    assert problem_of(RecordError("x", reasons={})).status == 422
    assert problem_of(TooLittleData("x", needed=1, got=0, unit="runs")).status == 422
    assert problem_of(errors.KernelError("x")).status == 500
    assert PROBLEM_OF[-1][0] is LogbookError
    assert len({kind.slug for kind in Problem}) == len(Problem)


def test_text_that_no_encoding_holds_is_answered_all_the_same(client: TestClient) -> None:
    body = b'{"\\ud800": 1, "notes": "\\udfff", "finished_at": "\\ud800"}'
    headers = {"content-type": "application/json"}
    is_problem(client.post("/api/runs", content=body, headers=headers), 422, "not-taken")
    is_problem(client.patch("/api/runs/R-1", content=body, headers=headers), 422, "not-understood")
