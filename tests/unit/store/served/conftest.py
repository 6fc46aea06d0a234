"""A book behind its private routes, served in this process on a free port."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import uvicorn
from fastapi import FastAPI
from served import free_port

from logbook.service.state import close_book, set_book
from logbook.service.store_routes import store_routes
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore
from logbook.store.served.notice import Notice, new_notice, remove_notice, write_notice

OWN = """
[[defect_kind]]
name = "loose_ends"
label = "Loose ends"
measure = "pieces"
definition = "A thread end longer than 5 mm on the face."
"""


@pytest.fixture
def place(tmp_path: Path) -> str:
    return str(tmp_path / "book")


@pytest.fixture
def held(place: str) -> Iterator[DuckStore]:
    """The book as the service holds it."""
    store = new_book(place, settings=OWN)
    set_book(store)
    yield store
    close_book()


@pytest.fixture
def notice(held: DuckStore) -> Iterator[Notice]:
    """Its service's notice, left in the folder."""
    port = free_port()
    notice = new_notice(f"http://127.0.0.1:{port}")
    app = FastAPI()
    app.include_router(store_routes(notice.token))
    server = uvicorn.Server(uvicorn.Config(app, port=port, log_level="warning"))
    serving = threading.Thread(target=server.run)
    serving.start()
    give_up = time.monotonic() + 30
    while not server.started:
        assert time.monotonic() < give_up
        time.sleep(0.01)
    write_notice(held.folder, notice)
    yield notice
    remove_notice(held.folder, notice)
    server.should_exit = True
    serving.join(30)
