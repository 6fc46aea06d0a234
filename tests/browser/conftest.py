"""A real browser on the real service; whatever asks outside this machine fails the test."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from logged_runs import book_of_one, empty_book
from playwright.sync_api import Browser, Page, Request, expect, sync_playwright
from served import Served, serving

PHONE = {"width": 390, "height": 844}
PATIENCE_MILLISECONDS = 30_000
"""A busy machine may take long to draw its first page; how long is not what is tested here."""

expect.set_options(timeout=PATIENCE_MILLISECONDS)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium of the system."""
    path = shutil.which("chromium") or "/usr/bin/chromium"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=path,
            args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"],
        )
        yield browser
        browser.close()


@pytest.fixture
def served_empty(tmp_path: Path) -> Iterator[Served]:
    """The service over an empty book."""
    empty_book(tmp_path / "book").close()
    with serving(tmp_path / "book") as served:
        yield served


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """The service over a book with one earlier run."""
    book_of_one(tmp_path / "book").close()
    with serving(tmp_path / "book") as served:
        yield served


@pytest.fixture
def visit(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Open an address as a phone does; at the end, nothing outside may have been asked."""
    asked: set[str] = set()
    contexts = []

    def note(request: Request) -> None:
        asked.add(urlsplit(request.url.removeprefix("blob:")).hostname or "")

    def open_page(address: str, size: dict[str, int] | None = None, **how: object) -> Page:
        context = browser.new_context(viewport=size or PHONE, has_touch=True, **how)
        contexts.append(context)
        context.set_default_timeout(PATIENCE_MILLISECONDS)
        page = context.new_page()
        page.on("request", note)
        page.goto(address)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert asked <= {"127.0.0.1"}, asked
