"""On paper there is nothing to unfold: what the screen folds away is printed."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

from dashboards.css import style_sheet

pytestmark = pytest.mark.browser

FOLDED = (
    f"<style>{style_sheet()}</style>"
    '<div class="st-key-screen-only-head"></div>'
    '<div class="stExpander"><details><summary><p id="summary">Title</p></summary>'
    '<div data-testid="stExpanderDetails"><p id="within">Evidence</p></div></details></div>'
)
SEEN = """
() => [...document.querySelectorAll('p')].filter((each) =>
  each.checkVisibility({contentVisibilityAuto: true}) && each.getBoundingClientRect().height > 0
).map((each) => each.id)
"""


@pytest.mark.parametrize("wide", [695, 390])
def test_print_unfolds_what_the_screen_folds(browser: Browser, wide: int) -> None:
    page = browser.new_page(viewport={"width": wide, "height": 800})
    page.set_content(FOLDED)
    page.emulate_media(media="screen")
    assert page.evaluate(SEEN) == ["summary"]
    page.emulate_media(media="print")
    assert page.evaluate(SEEN) == ["within"]
    page.close()
