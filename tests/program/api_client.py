"""The HTTP API over a real book, asked in this process."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from fastapi import FastAPI
from starlette.exceptions import StarletteDeprecationWarning

from logbook.service import close_book, set_book
from logbook.service.api.app import mounted
from logbook.store.duckdb_store import DuckStore

with warnings.catch_warnings():
    # Where only the older library is there, it says so; both will do.
    warnings.simplefilter("ignore", StarletteDeprecationWarning)
    from starlette.testclient import TestClient

__all__ = ["A_RUN", "TestClient", "asking", "is_problem", "served_api"]

A_RUN: dict[str, Any] = {
    "finished_at": "2026-10-06T09:30",
    "machine": "M1",
    "backing_supplier": "Alder",
    "pieces_inspected": 24,
    "puckering": 1,
}


def served_api() -> FastAPI:
    """The API where the service mounts it."""
    outer = FastAPI(openapi_url=None, docs_url=None, redoc_url=None)
    outer.router.routes.append(mounted())
    return outer


@contextmanager
def asking(store: DuckStore) -> Iterator[TestClient]:
    """Ask the API of an open book; the book is closed afterwards."""
    set_book(store)
    try:
        with TestClient(served_api(), raise_server_exceptions=False) as client:
            yield client
    finally:
        close_book()


def is_problem(answer: Any, status: int, slug: str | None = None) -> dict[str, Any]:
    """Check that an answer is problem details, and return them."""
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    told = answer.json()
    assert {"type", "title", "status", "detail", "instance", "reasons", "hint"} <= set(told)
    assert told["status"] == status
    assert told["type"] == ("about:blank" if slug is None else f"/api/docs#{slug}")
    return dict(told)
