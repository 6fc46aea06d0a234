"""When a page stands still, and when what was typed on it is with the service."""

from __future__ import annotations

import time
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

from playwright.sync_api import Page, expect

PATIENCE_SECONDS = 90.0
"""A busy machine may take long to draw a page; how long is not what is tested here."""
STILL = """
() => document.fonts.status === 'loaded' && document.getAnimations().every(
  (each) => each.playState !== 'running' || each.effect.getComputedTiming().endTime === Infinity
)
"""


def settled(page: Page) -> None:
    """Wait until the page is drawn whole and nothing on it fades or moves any more."""
    expect(page.locator("h1").first).to_be_visible()
    expect(page.locator("[data-test-script-state=notRunning]")).to_be_attached()
    page.wait_for_load_state("networkidle")
    page.wait_for_function(STILL)


def hears_typing(page: Page) -> None:
    """Wait until the form is drawn whole and its script hears what is typed."""
    settled(page)
    expect(page.locator("html[data-line=up]")).to_be_attached()


def has_arrived(page: Page, place: Path, words: str) -> None:
    """Wait until words typed on the form are in its draft: a second's typing may be on its way."""
    (run_ref,) = parse_qs(urlsplit(page.url).query)["draft"]
    draft = place / "drafts" / f"{run_ref}.json"
    give_up = time.monotonic() + PATIENCE_SECONDS
    while not (draft.exists() and words in draft.read_text("utf-8")):
        assert time.monotonic() < give_up, "the words were never kept"
        time.sleep(0.05)


def fits(page: Page) -> None:
    """Nothing has to be pushed sideways to be read but what says so itself."""
    settled(page)
    page.wait_for_function(
        "() => document.documentElement.scrollWidth - document.documentElement.clientWidth <= 1"
    )
