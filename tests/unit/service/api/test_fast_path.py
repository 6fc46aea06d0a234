"""Logging goes past FastAPI's own working out; what it answers is the same."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from api_client import A_RUN, TestClient
from fastapi import FastAPI
from logged_runs import empty_book

from logbook.service import close_book, set_book
from logbook.service.access.credentials import Role
from logbook.service.api import log_runs
from logbook.service.api.app import api, mounted
from logbook.service.api.log_runs import FastPath

JSON = {"content-type": "application/json"}
KEYED = JSON | {"idempotency-key": '"k-1"'}
ASKED: list[tuple[str, dict[str, str], bytes]] = [
    (
        "",
        JSON,
        b'{"run_ref": "R-1", "finished_at": "2026-10-06", "pieces_inspected": 9, "gaps": 1}',
    ),
    (
        "",
        JSON,
        b'{"run_ref": "R-1", "finished_at": "2026-10-06", "pieces_inspected": 9, "gaps": 1}',
    ),
    (
        "",
        JSON,
        b'{"run_ref": "R-1", "finished_at": "2026-10-06", "pieces_inspected": 9, "gaps": 2}',
    ),
    ("", JSON, b'[{"run_ref": "R-2", "finished_at": "never"}, 7]'),
    ("", KEYED, b'{"finished_at": "2026-10-07", "pieces_inspected": 9, "gaps": 0}'),
    ("", KEYED, b'{"finished_at": "2026-10-07", "pieces_inspected": 9, "gaps": 0}'),
    ("", KEYED, b'{"finished_at": "2026-10-07", "pieces_inspected": 9, "gaps": 1}'),
    ("", JSON, b"{"),
    ("", JSON, b""),
    ("", JSON, b"[]"),
    ("", JSON, b'{"gaps": NaN}'),
    ("", {"content-type": "text/plain"}, b"{}"),
    ("", JSON | {"idempotency-key": "a b"}, b"{}"),
    ("?why=so", JSON, b"{}"),
    ("?a=1&a=2", JSON, b"{}"),
    ("", JSON, b"[" + b"{}," * 10_000 + b"{}]"),
    ("", JSON, b'{"notes": "' + b"x" * 70_000 + b'"}'),
]


def _answers(place: Path, *, fast: bool) -> list[tuple[int, dict[str, str], bytes]]:
    app = FastAPI(openapi_url=None, docs_url=None, redoc_url=None)
    the_api = api()
    if fast:
        app.add_middleware(FastPath, handlers=the_api.exception_handlers)
    app.router.routes.append(mounted(the_api))
    set_book(empty_book(place))
    try:
        with TestClient(app, raise_server_exceptions=False) as client:
            told = [
                client.post(f"/api/runs{query}", headers=headers, content=body)
                for query, headers, body in ASKED
            ]
    finally:
        close_book()
    return [(each.status_code, dict(each.headers), each.content) for each in told]


def test_both_ways_answer_alike(tmp_path: Path) -> None:
    usual = _answers(tmp_path / "usual", fast=False)
    assert _answers(tmp_path / "fast", fast=True) == usual
    assert {status for status, _, _ in usual} == {201, 200, 409, 422, 400, 413, 415}


@pytest.mark.usefixtures("access")
def test_who_may_not_log_is_told_so_on_the_fast_path(
    tmp_path: Path, tokens: dict[Role, str]
) -> None:
    app = FastAPI(openapi_url=None, docs_url=None, redoc_url=None)
    the_api = api()
    app.add_middleware(FastPath, handlers=the_api.exception_handlers)
    app.router.routes.append(mounted(the_api))
    set_book(empty_book(tmp_path / "book"))
    try:
        with TestClient(app, raise_server_exceptions=False) as client:
            assert client.post("/api/runs", json=A_RUN).status_code == 401
            known = {"Authorization": f"Bearer {tokens['operator']}"}
            assert client.post("/api/runs", json=A_RUN, headers=known).status_code == 201
    finally:
        close_book()


def test_what_fails_unforeseen_tells_nothing_inner(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing(*_: Any) -> None:
        raise RuntimeError("secret")

    monkeypatch.setattr(log_runs, "_request", failing)
    assert {
        (status, b"secret" in body) for status, _, body in _answers(tmp_path / "b", fast=True)
    } >= {(500, False)}
