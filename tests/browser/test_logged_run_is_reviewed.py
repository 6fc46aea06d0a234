"""A run logged on a phone is in the weekly review: the real service, a real browser."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from logged_runs import EARLIER_RUN, empty_book
from playwright.sync_api import Page, expect
from program import answer
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


def test_one_tap_logs_a_clean_run_that_page_command_and_book_count(
    served_now: Served, visit: Callable[..., Page]
) -> None:
    phone = visit(f"{served_now.address}/log")
    clean = phone.get_by_role("button", name="Clean run: log 24 pieces")
    expect(clean).to_be_in_viewport()
    clean.click()
    expect(phone.get_by_text("24 pieces sewn, nothing wrong")).to_be_visible()
    phone.goto(f"{served_now.address}/review")
    row = phone.get_by_role("row", name=re.compile("^Puckering"))
    expect(row).to_be_visible()
    expect(phone.get_by_text(re.compile("2 runs")).first).to_be_visible()
    # One of 24 puckered, then 24 clean ones: 1 of 48.
    expect(row).to_contain_text("2.1 %")
    # While the service holds the book, a command works through it.
    assert answer("review", book=served_now.place)["runs"] == 2
    assert served_now.stop() == 0
    with open_book(str(served_now.place)) as store:
        assert store.count() == 2
