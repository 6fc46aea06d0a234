"""A run logged on a phone is in the weekly review: the real service, a real browser."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from logged_runs import EARLIER_RUN, empty_book
from playwright.sync_api import Locator, Page, expect
from served import Served, serving

from logbook.book.runs import log_run
from logbook.store import open_book

pytestmark = pytest.mark.browser

NOON = 12


@pytest.fixture
def served_now(tmp_path: Path) -> Iterator[Served]:
    """The service over a book of one run, finished just now: one of 24 pieces puckered.

    The shop lies where it is about noon, so that no week ends while the test is running.
    """
    now = datetime.now(UTC)
    ahead = timedelta(hours=NOON - now.hour)
    place = tmp_path / "book"
    empty_book(place).close()
    zone = f"Etc/GMT{now.hour - NOON:+d}"  # named by how far they are behind
    (place / "shop.toml").write_text(f'[shop]\ntimezone = "{zone}"\n', encoding="utf-8")
    moment = (now + ahead).replace(tzinfo=None, microsecond=0)
    with open_book(str(place)) as store:
        run = {**EARLIER_RUN, "finished_at": moment, "puckering": 1}
        log_run(store, run, source="test")
    with serving(place) as served:
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
    expect(phone.get_by_text("24 pieces sewn, nothing wrong")).to_be_visible()
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
    expect(phone.get_by_text("24 pieces sewn, nothing wrong")).to_be_visible()
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
