"""A line that drops, a page loaded anew, a service that stops: what is typed comes through once."""

from __future__ import annotations

import signal
from collections.abc import Callable
from pathlib import Path

import pytest
from logged_runs import book_of_one
from playwright.sync_api import Locator, Page, expect
from served import Served, free_port, serving
from settling import has_arrived, hears_typing

from logbook.store import Store, open_book
from logbook.store.served import reach_book

pytestmark = pytest.mark.browser

LOST = "Connection lost. Your run is kept on this page"


@pytest.fixture
def port() -> str:
    """One that the service is started on more than once."""
    return str(free_port())


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A book with one earlier run."""
    book_of_one(tmp_path / "book").close()
    return tmp_path / "book"


def _log(page: Page) -> Locator:
    return page.locator(".st-key-log button")


def _plus(page: Page, label: str) -> Locator:
    field = page.locator(".stNumberInput").filter(has=page.get_by_label(label, exact=True))
    return field.get_by_label("Increment")


def _type_a_run(page: Page) -> None:
    hears_typing(page)
    page.get_by_label("Pieces sewn").fill("18")
    page.get_by_role("button", name="Something went wrong").tap()
    for _ in range(2):
        _plus(page, "Puckering").tap()
    page.get_by_text("Time, grade and notes").tap()
    page.get_by_label("Notes").fill("hoop slipped")
    page.get_by_text("How many pieces show it?").tap()
    expect(_log(page)).to_have_text("Log it: puckering 2")


def _another_window(page: Page) -> Page:
    """The same form, with what was typed in the first."""
    second = page.context.new_page()
    second.goto(page.url)
    expect(_log(second)).to_have_text("Log it: puckering 2")
    return second


def _says_lost(page: Page) -> None:
    page.wait_for_function(
        "words => getComputedStyle(document.body, '::before').content.includes(words)", arg=LOST
    )


def _says_nothing_lost(page: Page) -> None:
    page.wait_for_function("() => getComputedStyle(document.body, '::before').content === 'none'")


def _holds_what_was_typed(store: Store) -> None:
    """Once, besides the earlier run."""
    (run,) = (run for run in store.runs().iter_rows(named=True) if run["run_ref"] != "R-1")
    told = (run["pieces_sewn"], run["puckering"], run["notes"], run["backing_lot"])
    assert told == (18, 2, "hoop slipped", "A123")


def test_a_line_that_drops_and_comes_back_loses_nothing(
    shop: Served, visit: Callable[..., Page]
) -> None:
    page = visit(f"{shop.address}/log")
    _type_a_run(page)
    page.context.set_offline(True)
    _says_lost(page)
    page.context.set_offline(False)
    _says_nothing_lost(page)
    _log(page).tap()
    expect(page.get_by_text("18 pieces sewn; puckering 2")).to_be_visible()
    _holds_what_was_typed(reach_book(str(shop.place)))


def test_a_service_killed_and_started_again_loses_nothing(
    place: Path, port: str, visit: Callable[..., Page]
) -> None:
    with serving(place, "--port", port) as served:
        page = visit(f"{served.address}/log")
        _type_a_run(page)
        has_arrived(page, place, "hoop slipped")
        served.stop(signal.SIGKILL)
        _says_lost(page)
    with serving(place, "--port", port):
        _says_nothing_lost(page)
        expect(page.get_by_text("is here.")).to_be_visible()
        expect(page.get_by_label("Pieces sewn")).to_have_value("18")
        expect(_log(page)).to_have_text("Log it: puckering 2")
        _log(page).tap()
        expect(page.get_by_text("18 pieces sewn; puckering 2")).to_be_visible()
    with open_book(str(place)) as store:
        _holds_what_was_typed(store)


def test_a_tap_that_comes_before_the_new_service_knows_the_run_is_not_lost(
    place: Path, port: str, visit: Callable[..., Page]
) -> None:
    with serving(place, "--port", port) as served:
        page = visit(f"{served.address}/log")
        _type_a_run(page)
        has_arrived(page, place, "hoop slipped")
        served.stop(signal.SIGKILL)
        _says_lost(page)
    with serving(place, "--port", port):
        _says_nothing_lost(page)
        _log(page).tap()
        expect(page.get_by_text("18 pieces sewn; puckering 2")).to_be_visible()
    with open_book(str(place)) as store:
        _holds_what_was_typed(store)


def test_a_page_loaded_anew_goes_on_where_it_was(shop: Served, visit: Callable[..., Page]) -> None:
    page = visit(f"{shop.address}/log")
    _type_a_run(page)
    has_arrived(page, shop.place, "hoop slipped")
    page.reload()
    expect(_log(page)).to_have_text("Log it: puckering 2")
    expect(page.get_by_label("Pieces sewn")).to_have_value("18")
    _log(page).tap()
    expect(page.get_by_text("18 pieces sewn; puckering 2")).to_be_visible()
    _holds_what_was_typed(reach_book(str(shop.place)))


def test_words_half_typed_outlive_a_page_loaded_anew(
    shop: Served, visit: Callable[..., Page]
) -> None:
    page = visit(f"{shop.address}/log")
    hears_typing(page)
    page.get_by_text("Time, grade and notes").tap()
    notes = page.get_by_label("Notes")
    notes.press_sequentially("hoop sl")  # the field is not left
    has_arrived(page, shop.place, "hoop sl")
    page.reload()
    expect(page.get_by_text("is here.")).to_be_visible()
    expect(notes).to_have_value("hoop sl")


def test_a_device_that_comes_back_by_another_way_is_offered_what_it_typed(
    shop: Served, visit: Callable[..., Page]
) -> None:
    page = visit(f"{shop.address}/log")
    _type_a_run(page)
    has_arrived(page, shop.place, "hoop slipped")
    page.goto(f"{shop.address}/log")
    expect(page.get_by_text("was not logged.")).to_be_visible()
    expect(_log(page)).to_have_text("Clean run: log 24 pieces")
    page.get_by_role("button", name="Go on with it").tap()
    expect(_log(page)).to_have_text("Log it: puckering 2")
    _log(page).tap()
    expect(page.get_by_text("18 pieces sewn; puckering 2")).to_be_visible()
    _holds_what_was_typed(reach_book(str(shop.place)))


def test_another_device_is_offered_nothing(shop: Served, visit: Callable[..., Page]) -> None:
    page = visit(f"{shop.address}/log")
    _type_a_run(page)
    has_arrived(page, shop.place, "hoop slipped")
    other = visit(page.url)  # the very address, with the reference in it
    expect(_log(other)).to_have_text("Clean run: log 24 pieces")
    expect(other.get_by_text("was not logged.")).to_have_count(0)
    expect(other).not_to_have_url(page.url)


def test_the_same_form_sent_from_two_windows_is_one_run(
    shop: Served, visit: Callable[..., Page]
) -> None:
    page = visit(f"{shop.address}/log")
    _type_a_run(page)
    has_arrived(page, shop.place, "hoop slipped")
    second = _another_window(page)
    _log(page).tap()
    expect(page.get_by_text("18 pieces sewn; puckering 2")).to_be_visible()
    second.wait_for_timeout(1100)  # at another second by the clock
    _log(second).tap()
    expect(second.get_by_text("18 pieces sewn; puckering 2")).to_be_visible()
    _holds_what_was_typed(reach_book(str(shop.place)))


def test_other_numbers_in_another_window_are_asked_about(
    shop: Served, visit: Callable[..., Page]
) -> None:
    page = visit(f"{shop.address}/log")
    _type_a_run(page)
    has_arrived(page, shop.place, "hoop slipped")
    second = _another_window(page)
    _plus(second, "Puckering").tap()
    expect(_log(second)).to_have_text("Log it: puckering 3")
    _log(page).tap()
    expect(page.get_by_text("18 pieces sewn; puckering 2")).to_be_visible()
    _log(second).tap()
    expect(second.get_by_text("Nothing was logged a second time.")).to_be_visible()
    second.get_by_role("button", name="These were other pieces: log them too").tap()
    expect(second.get_by_text("18 pieces sewn; puckering 3")).to_be_visible()
    runs = reach_book(str(shop.place)).runs()
    assert sorted(runs["puckering"].drop_nulls().to_list()) == [2, 3]
    assert runs.height == 3
