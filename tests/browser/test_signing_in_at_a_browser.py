"""A shop network: signing in on a phone, and what an operator may not do."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from logged_runs import EARLIER_RUN, book_of_one
from playwright.sync_api import ConsoleMessage, Page, expect
from served import Served, serving
from settling import PATIENCE_SECONDS, settled

from logbook.book.runs import log_run
from logbook.service.access.credentials import new_credentials, write_credentials
from logbook.service.access.passcodes import with_passcode
from logbook.store import open_book

pytestmark = pytest.mark.browser

OPERATORS, REVIEWERS = "needle hoop towel", "backing film cap"
THUMB, SMALLEST_WIDTH = 48, 390
WRONG = "That is not a passcode of this book."
NASTY = '<script>document.title="acted"</script><img src=x onerror="document.title=\'acted\'">'
NASTY += "![x](http://elsewhere.example/x.png) **bold**"


@pytest.fixture
def guarded(tmp_path: Path) -> Iterator[Served]:
    """The service over a book with both passcodes set."""
    place = tmp_path / "book"
    book_of_one(place).close()
    credentials = with_passcode(new_credentials(), "operator", OPERATORS)
    write_credentials(place, with_passcode(credentials, "reviewer", REVIEWERS))
    with serving(place) as served:
        yield served


def _sign_in(page: Page, words: str) -> None:
    page.get_by_label("Passcode").fill(words)
    page.get_by_role("button", name="Sign in").tap()


def _told(page: Page, words: str) -> str:
    """What the page says to a passcode that is not let in."""
    with page.expect_navigation():
        _sign_in(page, words)
    return page.get_by_role("alert").inner_text()


def _refusals(page: Page) -> list[str]:
    """What the browser would not load, from now on."""
    found: list[str] = []

    def note(message: ConsoleMessage) -> None:
        if "Content Security Policy" in message.text or "violates" in message.text:
            found.append(message.text)

    page.on("console", note)
    return found


def test_an_operator_signs_in_on_a_phone_and_wrong_passcodes_are_slowed(
    guarded: Served, visit: Callable[..., Page]
) -> None:
    page = visit(guarded.address + "/review")
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    expect(page.get_by_label("Passcode")).to_be_focused()
    button = page.get_by_role("button", name="Sign in").bounding_box()
    assert button is not None
    assert button["height"] >= THUMB
    assert page.evaluate("document.documentElement.scrollWidth") <= SMALLEST_WIDTH
    assert [_told(page, "a wrong passcode") for _ in range(3)] == [WRONG] * 3
    # Then one second must pass, then two, ...: a slow machine is let through until it is too soon.
    waits: list[int] = []
    for tried in range(12):
        if found := re.search(r"Wait (\d+) second", told := _told(page, "a wrong passcode")):
            waits.append(int(found[1]))
            assert waits[-1] <= 2**tried
        else:
            assert told == WRONG
        if len(waits) == 3:
            break
    assert len(waits) == 3
    page.wait_for_timeout(1000 * waits[-1] + 100)
    _sign_in(page, OPERATORS)
    expect(page.get_by_role("heading", name="Weekly review")).to_be_visible()
    assert page.url.startswith(guarded.address + "/review")  # where it was going
    assert not any(words in page.url for words in ("passcode", OPERATORS.split()[0]))


def _wait_until_a_stranger(page: Page, guarded: Served) -> None:
    """A change of the credentials may go unseen for a moment."""
    give_up = time.monotonic() + PATIENCE_SECONDS
    while page.request.get(guarded.address + "/api/runs").status != 401:
        assert time.monotonic() < give_up
        time.sleep(0.05)


def _shows_nothing_more_once_its_session_has_ended(page: Page, guarded: Served) -> None:
    page.goto(f"{guarded.address}/log")
    expect(page.get_by_label("Pieces sewn")).to_be_visible()
    settled(page)
    write_credentials(guarded.place, with_passcode(new_credentials(), "reviewer", REVIEWERS))
    _wait_until_a_stranger(page, guarded)
    page.get_by_role("button", name="Clean run: log 24 pieces").tap()
    expect(page.locator("[data-test-connection-state=CONNECTED]")).to_have_count(0)
    page.goto(f"{guarded.address}/log")
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    guarded.stop()
    with open_book(str(guarded.place)) as store:
        assert store.count() == 2, "the earlier run and the one of the operator"


def test_an_operator_logs_a_reviewer_amends_and_an_ended_session_shows_nothing_more(
    guarded: Served, visit: Callable[..., Page]
) -> None:
    page = visit(guarded.address)
    _sign_in(page, OPERATORS)
    # Whoever signs in as an operator has come to log.
    page.get_by_role("button", name="Clean run: log 24 pieces").tap()
    expect(page.get_by_text("24 pieces sewn, nothing wrong")).to_be_visible()
    run = guarded.address + "/api/runs/R-1"
    change = {"puckering": 1, "why": "recounted"}
    headers = {"Content-Type": "application/json", "Origin": guarded.address}
    refused = page.request.patch(run, data=change, headers=headers)
    assert refused.status == 403
    assert "is for reviewers" in refused.json()["detail"]
    assert page.request.delete(run, data=change, headers=headers).status == 403
    page.get_by_role("link", name="Signed in as operator · sign out").click()
    with page.expect_navigation():
        page.get_by_role("button", name="Sign out").tap()
    _sign_in(page, REVIEWERS)
    expect(page.get_by_role("link", name="Signed in as reviewer · sign out")).to_be_visible()
    assert page.request.patch(run, data=change, headers=headers).status == 200
    _shows_nothing_more_once_its_session_has_ended(page, guarded)


def test_the_pages_live_with_what_they_may_load_and_names_never_act(
    tmp_path: Path, visit: Callable[..., Page]
) -> None:
    place = tmp_path / "book"
    names = dict.fromkeys(("machine", "operator", "design", "fabric", "backing_supplier"), NASTY)
    with book_of_one(place, **names) as store:
        needles = {"needle_breaks": 1, "needle_parts_found": False}
        log_run(store, {**EARLIER_RUN, "run_ref": NASTY[:90], **needles}, source="test")
    with serving(place) as served:
        page = visit(f"{served.address}/log")
        refused = _refusals(page)
        for address, words in (
            ("/log", "Clean run"),
            ("/review", "Held"),
            ("/suppliers", "Alder"),
        ):
            page.goto(served.address + address)
            expect(page.get_by_text(words).first).to_be_visible()
            settled(page)
            assert page.title() != "acted"
            assert page.locator("img[src*=elsewhere], img[src=x]").count() == 0
            assert page.locator("strong", has_text="bold").count() == 0
        assert refused == []
