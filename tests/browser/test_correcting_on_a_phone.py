"""A run is put right on a phone: nothing folds shut while it is typed, and what is said is seen."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect
from served import Served
from settling import settled

from logbook.store.served import reach_book

pytestmark = pytest.mark.browser

WHOLE = 0.95
"""The line of pages cuts a pixel off the height of its links."""


def _tap_in_sight(page: Page, part: Locator) -> None:
    """The list of fields closes when the page moves under it."""
    part.scroll_into_view_if_needed()
    settled(page)
    part.tap()


def _corrects_thread_breaks(page: Page, count: str) -> None:
    _tap_in_sight(page, page.get_by_text("Correct something"))
    _tap_in_sight(page, page.get_by_label("What is wrong?"))
    page.keyboard.type("thread br")
    page.get_by_role("option", name="Thread breaks").tap()
    page.keyboard.press("Escape")
    field = page.get_by_label("Thread breaks (events)")
    expect(field).to_be_visible()
    settled(page)
    field.fill(count)
    field.press("Tab")
    settled(page)


def test_a_correction_without_a_reason_stays_open_and_says_so_in_sight(
    shop: Served, mistaken: str, visit: Callable[..., Page]
) -> None:
    page = visit(f"{shop.address}/runs?run={mistaken}")
    settled(page)
    _corrects_thread_breaks(page, "5")
    save = page.get_by_role("button", name="Save the correction")
    save.tap()
    expect(page.get_by_text("Say why")).to_be_in_viewport(ratio=1)
    expect(save).to_be_visible()
    why = page.get_by_label("Why is it corrected?")
    why.fill("counted again")
    why.press("Tab")
    settled(page)
    expect(page.get_by_text("Say why")).to_have_count(0)
    expect(save).to_be_in_viewport(ratio=1)
    expect(page.get_by_label("Thread breaks (events)")).to_have_value("5")
    save.tap()
    expect(page.get_by_text(f"The run {mistaken} is corrected.")).to_be_in_viewport(ratio=1)
    settled(page)
    expect(page.get_by_text(f"The run {mistaken} is corrected.")).to_be_in_viewport(ratio=1)
    store = reach_book(str(shop.place))
    assert store.runs(refs=[mistaken])["thread_breaks"].item() == 5


def test_a_run_is_withdrawn_and_says_so_in_sight(
    shop: Served, mistaken: str, visit: Callable[..., Page]
) -> None:
    page = visit(f"{shop.address}/runs?run={mistaken}")
    settled(page)
    _tap_in_sight(page, page.get_by_text("Withdraw the run"))
    withdraw = page.get_by_role("button", name="Withdraw it")
    _tap_in_sight(page, withdraw)
    expect(page.get_by_text("Say why")).to_be_in_viewport(ratio=1)
    why = page.get_by_label("Why is it withdrawn?")
    why.fill("entered twice")
    why.press("Tab")
    settled(page)
    expect(withdraw).to_be_visible()
    withdraw.tap()
    expect(page.get_by_text(f"The run {mistaken} is withdrawn.")).to_be_in_viewport(ratio=1)


def _menu(page: Page) -> list[str]:
    """Names of the pages from left to right, as they are seen."""
    settled(page)
    return page.evaluate(
        "() => [...document.querySelectorAll('.st-key-pages a')]"
        ".map((each) => [each.getBoundingClientRect().left, each.innerText.trim()])"
        ".sort((one, other) => one[0] - other[0]).map((each) => each[1])"
    )


def test_the_pages_keep_their_order_and_the_present_one_is_in_sight(
    shop: Served, visit: Callable[..., Page]
) -> None:
    page = visit(f"{shop.address}/log")
    order = _menu(page)
    assert order[:2] == ["Log a run", "Plan a setup"]
    expect(page.locator(".st-key-here a")).to_be_in_viewport(ratio=WHOLE)
    page.goto(f"{shop.address}/guide")
    expect(page.locator(".st-key-here a")).to_be_in_viewport(ratio=WHOLE)
    assert _menu(page) == order
    page.locator(".st-key-groups").get_by_role("link", name="Keep", exact=True).tap()
    expect(page.get_by_role("heading", name="Runs")).to_be_visible()
    expect(page.locator(".st-key-here a")).to_have_text("Runs")
    expect(page.locator(".st-key-here a")).to_be_in_viewport(ratio=WHOLE)
    expect(page.locator(".st-key-groups a")).to_have_text(["Sew", "Look", "Keep"])
    for link in page.locator(".st-key-groups a").all():
        expect(link).to_be_in_viewport(ratio=WHOLE)


LOOKS = """
(part) => {
  const style = getComputedStyle(part);
  return ['height', 'fontSize', 'fontWeight', 'fontFamily', 'color', 'backgroundColor',
    'borderTopColor', 'borderRadius', 'paddingLeft'].map((name) => style[name]);
}
"""
WORDS = """
(part, pseudo) => {
  const style = getComputedStyle(part, pseudo);
  const font = style.fontFamily.split(',')[0];
  return [font, ...['fontSize', 'fontWeight', 'color'].map((name) => style[name])];
}
"""
"""Of the fonts the first: what is named after those of the system is never come to."""


def test_both_buttons_that_download_look_alike(
    year_served: Served, visit: Callable[..., Page]
) -> None:
    page = visit(f"{year_served.address}/suppliers")
    settled(page)
    figures = page.get_by_role("button", name="Download the figures (CSV)").first
    chart = page.locator(".modebar-btn").first
    expect(figures).to_be_visible()
    expect(chart).to_be_visible()
    assert chart.evaluate(LOOKS) == figures.evaluate(LOOKS)
    words = figures.locator("p")
    assert chart.evaluate(WORDS, "::before") == words.evaluate(WORDS, None)


def test_what_is_known_of_a_break_is_typed_into_fields_without_steps(
    shop: Served, visit: Callable[..., Page]
) -> None:
    page = visit(f"{shop.address}/runs?run=R-1")
    settled(page)
    head = page.get_by_label("Head", exact=True)
    expect(head).to_be_visible()
    expect(head).to_be_enabled()
    expect(head).to_have_attribute("type", "number")
    step = page.locator('[class*="st-key-fields_break"] [data-testid^="stNumberInputStep"]')
    expect(step.first).to_be_attached()
    expect(step.filter(visible=True)).to_have_count(0)
