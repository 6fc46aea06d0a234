"""Every page over the sample year, small and large, light and dark, by the rules of axe-core.

A violation counts when axe-core calls it serious or critical. The rules are those of axe-core 4.12
(Deque Systems, MPL 2.0), which come with the package ``axe-playwright-python``. Beside them: no
text is made faint by transparency (axe-core measures the colour alone), and nothing is asked of
another host (the ``visit`` fixture sees to that).
"""

from __future__ import annotations

import ast
from collections.abc import Callable
from pathlib import Path
from typing import Any, Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect
from served import Served
from settling import settled

from logbook.charts.theme import DARK, LIGHT
from logbook.store.served import reach_book

pytestmark = [pytest.mark.browser, pytest.mark.slow]

APP = Path(__file__).parents[2] / "dashboards" / "app.py"
SIZES = ({"width": 390, "height": 844}, {"width": 1440, "height": 900})
SCHEMES: dict[Literal["light", "dark"], str] = {
    "light": f"rgb({', '.join(str(part) for part in bytes.fromhex(LIGHT.paper[1:]))})",
    "dark": f"rgb({', '.join(str(part) for part in bytes.fromhex(DARK.paper[1:]))})",
}
"""Each with the ground that shows that the page has taken it up."""
GRAVE = {"serious", "critical"}
NOT_OURS: dict[str, str] = {}
"""Rule and selector, parted by a blank, of what the page library draws and we cannot mend: why."""
FAINT = """
() => {
  const faint = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const holder = walker.currentNode.parentElement;
    const words = walker.currentNode.textContent.trim();
    if (!words || !holder.checkVisibility({checkVisibilityCSS: true})) continue;
    if (holder.closest(":disabled, [aria-disabled=true], script, style")) continue;
    let clear = 1;
    for (let each = holder; each; each = each.parentElement)
      clear *= Number(getComputedStyle(each).opacity);
    if (clear > 0 && clear < 0.99) faint.push([words.slice(0, 60), clear]);
  }
  return faint;
}
"""


def _addresses() -> list[str]:
    """The pages in the order of the menu; read, not imported: importing the router draws."""
    calls = [
        node
        for node in ast.walk(ast.parse(APP.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Page"
    ]
    return [call.args[2].value for call in calls if isinstance(call.args[2], ast.Constant)]


ADDRESSES = [*_addresses(), "guide?kind=needle_breaks", "runs?run=FIRST"]


@pytest.fixture
def run_ref(year_served: Served) -> str:
    """The reference of one run."""
    return str(reach_book(str(year_served.place)).runs(limit=1)["run_ref"].item())


def _grave(page: Page) -> list[str]:
    found: list[dict[str, Any]] = Axe().run(page).response["violations"]
    said = [
        f"{violation['id']} {node['target'][0]}: {node['html'][:160]}"
        for violation in found
        if violation["impact"] in GRAVE
        for node in violation["nodes"]
    ]
    return [each for each in said if each.partition(":")[0] not in NOT_OURS]


def test_the_rules_find_what_is_wrong(year_served: Served, visit: Callable[..., Page]) -> None:
    page = visit(f"{year_served.address}/trials")
    settled(page)
    page.evaluate(
        "document.querySelector('h1').insertAdjacentHTML('afterend',"
        '\'<img src="data:," width=9 height=9>'
        '<p style="color:#bbb;background:#fff">pale</p><p style="opacity:0.5">faint</p>\')'
    )
    assert {each.split()[0] for each in _grave(page)} == {"image-alt", "color-contrast"}
    assert [words for words, _ in page.evaluate(FAINT)] == ["faint"]


@pytest.mark.parametrize("address", ADDRESSES)
def test_a_page_breaks_no_rule_of_access(
    year_served: Served, visit: Callable[..., Page], address: str, run_ref: str
) -> None:
    page = visit(f"{year_served.address}/{address.replace('FIRST', run_ref)}", color_scheme="light")
    for scheme, paper in SCHEMES.items():
        page.emulate_media(color_scheme=scheme)
        expect(page.get_by_test_id("stApp")).to_have_css("background-color", paper)
        for size in SIZES:
            page.set_viewport_size(size)
            settled(page)
            assert _grave(page) == [], (scheme, size)
            assert page.evaluate(FAINT) == [], (scheme, size)
