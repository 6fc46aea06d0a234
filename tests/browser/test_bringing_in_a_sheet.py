"""A shop's own workbook comes in on a phone: one answer, one confirmation, the runs are there."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from messy_sheets.styles_with_titles import american_workbook
from playwright.sync_api import Page, expect
from served import Served
from settling import fits, settled

pytestmark = pytest.mark.browser


def test_a_messy_workbook_is_in_the_book_after_one_answer(
    served_empty: Served, visit: Callable[..., Page]
) -> None:
    sheet = american_workbook()
    phone = visit(f"{served_empty.address}/bring")
    settled(phone)
    phone.locator("input[type=file]").set_input_files(
        {"name": sheet.file, "mimeType": "application/octet-stream", "buffer": sheet.data}
    )
    expect(phone.get_by_text("those of one piece").first).to_be_visible()
    expect(phone.get_by_role("heading", name="Row 5 as it stands")).to_be_visible()
    fits(phone)
    phone.get_by_text("Of one piece", exact=True).tap()
    confirm = phone.get_by_role("button", name="Bring these runs in")
    expect(confirm).to_be_visible()
    settled(phone)
    confirm.tap()
    expect(phone.get_by_text("40 new runs are in the book.")).to_be_visible()
    expect(phone.get_by_text("One column would help most: Backing supplier")).to_be_visible()
    fits(phone)
    phone.get_by_role("link", name="See the runs").tap()
    expect(phone.get_by_text("40 runs, newest first")).to_be_visible()
