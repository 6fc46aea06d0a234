"""A real browser on the real service; whatever asks outside this machine fails the test."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from shutil import copytree
from urllib.parse import urlsplit

import pytest
from chromium import chromium
from logged_runs import EARLIER_RUN, book_of_one, empty_book
from playwright.sync_api import Browser, Page, Request, expect, sync_playwright
from served import Served, serving
from settling import PATIENCE_SECONDS

from logbook.book.runs import log_run, withdraw_run
from logbook.store.served import reach_book

PHONE = {"width": 390, "height": 844}

_NUMBERS = count(1)
"""A reference that was withdrawn is not given again."""

expect.set_options(timeout=1000 * PATIENCE_SECONDS)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Try a failed test of a browser once more; what then passes is named at the end of the run.

    A browser, a service and a test on two busy processors meet in more orders than a page can be
    made to wait for. A name at the end is still a fault to look into: such have been the page's.
    """
    for item in items:
        if item.get_closest_marker("browser") is not None:
            item.add_marker(pytest.mark.flaky(reruns=1))


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium, launched once a worker; each visit has a context of its own."""
    with sync_playwright() as playwright:
        browser = chromium(playwright, timeout_seconds=PATIENCE_SECONDS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def year_served(sample_year: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The service over the sample year, shared: it is not stopped and no run in it changed."""
    with serving(Path(copytree(sample_year, tmp_path_factory.mktemp("year") / "book"))) as served:
        yield served


@pytest.fixture
def served_empty(tmp_path: Path) -> Iterator[Served]:
    """The service over an empty book."""
    empty_book(tmp_path / "book").close()
    with serving(tmp_path / "book") as served:
        yield served


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """The service over a book with one earlier run, which the test may stop."""
    book_of_one(tmp_path / "book").close()
    with serving(tmp_path / "book") as served:
        yield served


@pytest.fixture(scope="session")
def _open_all_day(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    place = tmp_path_factory.mktemp("shop") / "book"
    book_of_one(place).close()
    with serving(place) as served:
        yield served


@pytest.fixture
def shop(_open_all_day: Served) -> Iterator[Served]:
    """As ``served``, but shared: it is not stopped, and what a test logs is withdrawn after it."""
    yield _open_all_day
    store = reach_book(str(_open_all_day.place))
    for run_ref in store.runs()["run_ref"].to_list():
        if run_ref != EARLIER_RUN["run_ref"]:
            withdraw_run(store, run_ref, why="the test is over", source="test")


@pytest.fixture
def mistaken(shop: Served) -> str:
    """A run in the shop of a design and a fabric of its own, to correct or withdraw: its name."""
    name = f"M-{next(_NUMBERS)}"
    run = {**EARLIER_RUN, "run_ref": name, "design": "Otter badge", "fabric": "denim jacket"}
    log_run(reach_book(str(shop.place)), run, source="test")
    return name


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
        context.set_default_timeout(1000 * PATIENCE_SECONDS)
        context.on("request", note)
        page = context.new_page()
        page.goto(address)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert asked <= {"127.0.0.1"}, asked
