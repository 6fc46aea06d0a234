"""A run logged on a phone is in the weekly review: the real service, a real browser."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect, sync_playwright

from logbook.answers.runs import log_run
from logbook.store import new_book, open_book

pytestmark = pytest.mark.browser

CHROMIUM = "/usr/bin/chromium"
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
FIRST = {
    "machine": "M1 four-head",
    "operator": "Ada P.",
    "fabric": "pique polo",
    "backing": "cut_away",
    "backing_gsm": "60",
    "backing_supplier": "Alder",
    "stitches_per_piece": "6200",
    "pieces_sewn": "24",
    "pieces_inspected": "24",
    "puckering": "1",
    "pieces_defective": "1",
    "thread_breaks": "0",
}


@pytest.fixture
def address(tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """A service over a book of one run, until the test is over."""
    place = tmp_path / "book"
    with new_book(str(place)) as store:
        log_run(store, FIRST, source="test")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    service = subprocess.Popen(
        [sys.executable, "-m", "logbook", "--book", str(place), "serve", "--port", str(port)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        _wait_until_up(service, port)
        yield f"http://127.0.0.1:{port}", place
    finally:
        service.terminate()
        service.wait(timeout=20)


def _wait_until_up(service: subprocess.Popen[bytes], port: int) -> None:
    give_up = time.monotonic() + 60
    while time.monotonic() < give_up:
        assert service.poll() is None, "the service stopped"
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/health", timeout=5):
                return
        except OSError:
            time.sleep(0.2)
    pytest.fail("the service did not answer")


@pytest.fixture
def phone() -> Iterator[Page]:
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        page = browser.new_context(viewport={"width": 390, "height": 844}).new_page()
        page.set_default_timeout(30_000)
        yield page
        browser.close()


def _as_last_time(phone: Page) -> Locator:
    """Tap the number of pieces of last time; return the button that logs a clean run."""
    phone.get_by_role("button", name=re.compile("as last time")).click()
    expect(phone.get_by_label("Pieces sewn")).to_have_value("24", timeout=30_000)
    return phone.get_by_role("button", name=re.compile("Clean run"))


def test_two_taps_log_a_clean_run_and_the_review_counts_it(
    address: tuple[str, Path], phone: Page
) -> None:
    site, _place = address
    outside: list[str] = []
    phone.on(
        "request",
        lambda request: outside.append(request.url) if site not in request.url else None,
    )
    phone.goto(site)
    clean = _as_last_time(phone)
    expect(clean).to_be_in_viewport()
    clean.click()
    expect(phone.get_by_text(re.compile("logged", re.I)).first).to_be_visible(timeout=30_000)
    phone.goto(f"{site}/review")
    row = phone.get_by_role("row", name=re.compile("^Puckering"))
    expect(row).to_be_visible(timeout=30_000)
    expect(phone.get_by_text(re.compile("2 runs")).first).to_be_visible()
    # One of 24 puckered, then 24 clean ones: 1 of 48.
    expect(row).to_contain_text("2.1 %")
    assert [url for url in outside if not url.startswith(("data:", "blob:", "ws:"))] == []


def test_the_book_on_disk_holds_what_the_page_said(address: tuple[str, Path], phone: Page) -> None:
    site, place = address
    phone.goto(site)
    _as_last_time(phone).click()
    expect(phone.get_by_text(re.compile("logged", re.I)).first).to_be_visible(timeout=30_000)
    # While the service holds the book, a command is told so.
    told = subprocess.run(
        [sys.executable, "-m", "logbook", "--book", str(place), "review"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == 1
    assert "in use by process" in told.stderr


def test_stopping_the_service_lets_go_of_the_book(tmp_path: Path) -> None:
    place = tmp_path / "book"
    with new_book(str(place)) as store:
        log_run(store, FIRST, source="test")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    service = subprocess.Popen(
        [sys.executable, "-m", "logbook", "--book", str(place), "serve", "--port", str(port)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    _wait_until_up(service, port)
    service.terminate()
    assert service.wait(timeout=20) == 0
    with open_book(str(place)) as store:
        assert store.count() == 1
