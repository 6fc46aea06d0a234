"""Trials over HTTP: drawn up, started, asked, ended; every refusal told."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from api_client import TestClient, asking, is_problem
from trial_shop import towel_book

WISH = {
    "fabric": "terry towel",
    "factor": "topping",
    "before": "none",
    "after": "film",
    "smallest_difference": 0.06,
    "seed": 1,
}


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    with asking(towel_book(tmp_path_factory.mktemp("api") / "book", runs=30)) as client:
        yield client


def test_a_trial_is_planned_started_asked_and_ended(client: TestClient) -> None:
    tried = client.post("/api/trials", json={**WISH, "keep": False})
    assert (tried.status_code, tried.json()["trial"]) == (200, None)
    made = client.post("/api/trials", json=WISH)
    assert made.status_code == 201
    assert made.headers["Location"] == "/api/trials?trial=T1"
    assert client.post("/api/trials/T1/start").json()["state"] == "running"
    asked = client.get("/api/trials?trial=t1").json()
    assert asked["judged"]["verdict"] == "not_enough_data"
    assert [each["trial"] for each in asked["trials"]] == ["T1"]
    ended = client.post("/api/trials/T1/end", json={"why": "the film ran out"})
    assert (ended.json()["state"], ended.json()["why"]) == ("ended", "the film ran out")
    again = client.post("/api/trials/T1/end")
    assert is_problem(again, 422, "not-understood")


@pytest.mark.parametrize(
    "body",
    [
        [],
        {},
        {"fabric": "terry towel"},
        {**WISH, "weather": "wet"},
        {**WISH, "seed": 1.5},
        {**WISH, "power": "much"},
        {**WISH, "power": 1.0},
        {**WISH, "alpha": 0.9},
        {**WISH, "pieces_per_arm": 0},
        {**WISH, "keep": "yes"},
        {**WISH, "fabric": 3},
        {**WISH, "after": "none"},
    ],
)
def test_what_cannot_be_planned_is_told(client: TestClient, body: Any) -> None:
    assert is_problem(client.post("/api/trials", json=body), 422, "not-understood")


def test_an_unknown_trial_is_not_found(client: TestClient) -> None:
    assert is_problem(client.post("/api/trials/T99/start"), 404, "no-such-trial")
    assert is_problem(client.get("/api/trials?trial=T99"), 422, "not-understood")
