"""A run logged on a phone is in the weekly review: the real service, a real browser."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from logged_runs import book_of_one
from playwright.sync_api import Locator, Page, expect
from served import Served, serving

from logbook.store import open_book

pytestmark = pytest.mark.browser


@pytest.fixture
def served_now(tmp_path: Path) -> Iterator[Served]:
    """The service over a book of one run, finished just now: one of 24 pieces puckered."""
    moment = datetime.now(UTC).replace(tzinfo=None, microsecond=0)
    book_of_one(tmp_path / "book", finished_at=moment, puckering=1).close()
    with serving(tmp_path / "book") as served:
        yield served


def _as_last_time(phone: Page) -> Locator:
    """Find the button that logs a clean run of as many pieces as last time."""
    return phone.get_by_role("button", name="Clean run: log 24 pieces")


def test_one_tap_logs_a_clean_run_and_the_review_counts_it(
    served_now: Served, visit: Callable[..., Page]
) -> None:
    phone = visit(served_now.address)
    clean = _as_last_time(phone)
    expect(clean).to_be_in_viewport()
    clean.click()
    expect(phone.get_by_text(re.compile("logged", re.I)).first).to_be_visible()
    phone.goto(f"{served_now.address}/review")
    row = phone.get_by_role("row", name=re.compile("^Puckering"))
    expect(row).to_be_visible()
    expect(phone.get_by_text(re.compile("2 runs")).first).to_be_visible()
    # One of 24 puckered, then 24 clean ones: 1 of 48.
    expect(row).to_contain_text("2.1 %")


def test_the_book_on_disk_holds_what_the_page_said(
    served_now: Served, visit: Callable[..., Page]
) -> None:
    phone = visit(served_now.address)
    _as_last_time(phone).click()
    expect(phone.get_by_text(re.compile("logged", re.I)).first).to_be_visible()
    # While the service holds the book, a command works through it.
    told = subprocess.run(
        [sys.executable, "-m", "logbook", "--book", str(served_now.place), "review"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == 0, told.stderr


def test_stopping_the_service_lets_go_of_the_book(served_now: Served) -> None:
    assert served_now.stop() == 0
    with open_book(str(served_now.place)) as store:
        assert store.count() == 1
