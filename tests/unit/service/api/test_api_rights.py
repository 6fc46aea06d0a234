"""Who may do what over HTTP, and what the history says of who did."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from api_client import A_RUN, TestClient, asking, is_problem
from guarded_app import credentials_of_both, with_tokens
from logged_runs import book_of_one

from logbook.service import the_book
from logbook.service.access.credentials import Role
from logbook.service.access.rights import Access
from logbook.service.state import set_access

Tokens = dict[Role, str]


@pytest.fixture
def tokens(tmp_path: Path) -> Iterator[Tokens]:
    book_of_one(tmp_path / "book").close()
    made = with_tokens(tmp_path / "book", credentials_of_both())
    set_access(Access(tmp_path / "book"))
    try:
        yield made
    finally:
        set_access(None)


@pytest.fixture
def client(tmp_path: Path, tokens: Tokens) -> Iterator[TestClient]:
    from logbook.store import open_book

    with asking(open_book(str(tmp_path / "book"))) as client:
        yield client


ROUTES = (
    ("POST", "/api/runs", "operator"),
    ("GET", "/api/runs", "operator"),
    ("GET", "/api/runs/R-1", "operator"),
    ("GET", "/api/runs/R-1/marks", "operator"),
    ("POST", "/api/runs/R-1/marks", "operator"),
    ("GET", "/api/review", "operator"),
    ("GET", "/api/chart?defect=gaps", "operator"),
    ("GET", "/api/suppliers", "operator"),
    ("GET", "/api/factors?defect=gaps", "operator"),
    ("GET", "/api/advise?fabric=x", "operator"),
    ("GET", "/api/openapi.json", "operator"),
    ("GET", "/api/docs", "operator"),
    ("PATCH", "/api/runs/R-1", "reviewer"),
    ("DELETE", "/api/runs/R-1?why=test", "reviewer"),
)


@pytest.mark.parametrize(("method", "address", "role"), ROUTES)
def test_every_route_asks_for_its_right(
    client: TestClient, tokens: Tokens, method: str, address: str, role: Role
) -> None:
    def asked(token: str | None) -> object:
        headers = {} if token is None else {"Authorization": f"Bearer {token}"}
        body = {"json": {}} if method in ("POST", "PATCH") else {}
        return client.request(method, address, headers=headers, **body)

    nobody = asked(None)
    told = is_problem(nobody, 401)
    assert (told["instance"], told["reasons"]) == (address.partition("?")[0], [])
    assert told["hint"]
    assert nobody.headers["www-authenticate"] == "Bearer"
    is_problem(asked("made up"), 401)
    if role == "reviewer":
        assert "for reviewers" in is_problem(asked(tokens["operator"]), 403)["detail"]
    assert asked(tokens[role]).status_code in (200, 422)


def test_a_body_is_not_looked_at_before_the_right(client: TestClient) -> None:
    is_problem(client.post("/api/runs", content=b"{"), 401)
    is_problem(client.post("/api/runs/R-1/marks", content=b"{"), 401)


def test_the_history_says_whose_token_it_was(client: TestClient, tokens: Tokens) -> None:
    logs = {"Authorization": f"Bearer {tokens['operator']}"}
    corrects = {"Authorization": f"Bearer {tokens['reviewer']}"}
    client.post("/api/runs", json={"run_ref": "R-2", **A_RUN}, headers=logs)
    run = client.patch("/api/runs/R-2", json={"gaps": 1}, headers=corrects).json()
    assert [each["source"] for each in run["history"]] == [
        "api, operator-token",
        "api, reviewer-token",
    ]


def test_marks_say_whose_token_it_was(client: TestClient, tokens: Tokens) -> None:
    marks = {"Authorization": f"Bearer {tokens['operator']}"}
    sent = {"breaks": [{"kind": "thread_breaks", "head": 1}]}
    assert client.post("/api/runs/R-1/marks", json=sent, headers=marks).status_code == 201
    [card] = the_book().document_history("marks", "R-1")
    assert card.source == "api, operator-token"


def test_one_callers_key_is_not_anothers(client: TestClient, tokens: Tokens) -> None:
    told = [
        client.post(
            "/api/runs",
            json={"run_ref": "R-2", **A_RUN},
            headers={"Authorization": f"Bearer {token}", "Idempotency-Key": "k-1"},
        )
        for token in tokens.values()
    ]
    assert [each.status_code for each in told] == [201, 200]
