"""A run is found on a phone, opened, put right, and the address of the view is sent on."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from served import Served
from settling import fits, settled

pytestmark = pytest.mark.browser


def test_found_opened_corrected_and_sent_to_a_colleague(
    shop: Served, mistaken: str, visit: Callable[..., Page]
) -> None:
    phone = visit(f"{shop.address}/runs")
    settled(phone)
    find = phone.get_by_label("Find runs")
    find.fill("otter denim")
    find.press("Enter")
    expect(phone).to_have_url(re.compile(r"find=otter\+denim|find=otter%20denim"))
    fits(phone)
    phone.get_by_role("link", name=mistaken).click()
    expect(phone.get_by_role("heading", name=f"Run {mistaken}")).to_be_visible()
    settled(phone)
    phone.get_by_text("Correct something").click()
    # In sight first: the list of fields closes when the page moves under it.
    wrong = phone.get_by_label("What is wrong?")
    wrong.scroll_into_view_if_needed()
    settled(phone)
    wrong.click()
    phone.keyboard.type("thread br")
    phone.get_by_role("option", name="Thread breaks").tap()
    phone.keyboard.press("Escape")
    count = phone.get_by_label("Thread breaks (events)")
    expect(count).to_be_visible()
    settled(phone)
    count.fill("5")
    count.press("Tab")
    why = phone.get_by_label("Why is it corrected?")
    why.fill("counted again")
    why.press("Tab")
    phone.get_by_role("button", name="Save the correction").click()
    expect(phone.get_by_text(f"The run {mistaken} is corrected.")).to_be_visible()
    expect(phone.get_by_text("Thread breaks: 2 events → 5 events")).to_be_visible()

    colleague = visit(phone.url, {"width": 1440, "height": 900})
    expect(colleague.get_by_text("Thread breaks: 2 events → 5 events")).to_be_visible()
    colleague.get_by_role("link", name="All runs").click()
    expect(colleague.get_by_label("Find runs")).to_have_value("otter denim")
    expect(
        colleague.get_by_role("row", name=re.compile(f"{mistaken}.*thread breaks 5"))
    ).to_be_visible()
