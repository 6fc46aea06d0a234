"""Each user's way through the pages, over the sample year, at three widths."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Page, expect
from served import Served
from settling import fits, settled

from logbook.book.actions import actions
from logbook.store.served import reach_book

pytestmark = [pytest.mark.browser, pytest.mark.slow]

WIDTHS = pytest.mark.parametrize("width", [390, 820, 1440])

PAPER_PIXELS = 695
"""What A4 holds between its margins."""
WORDS_OVER_WORDS = """
(drawing) => {
  const words = [...drawing.querySelectorAll('.main-svg text')].filter(
    (each) => each.textContent.trim() && each.checkVisibility());
  const boxes = words.map((each) => each.getBoundingClientRect());
  const frame = drawing.getBoundingClientRect();
  const meet = (a, b) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1
    && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 1;
  const over = [];
  boxes.forEach((box, i) => boxes.slice(i + 1).forEach((other, j) => {
    if (meet(box, other)) over.push([words[i].textContent, words[i + 1 + j].textContent]);
  }));
  const cut = words.filter((_, i) => boxes[i].left < frame.left || boxes[i].right > frame.right);
  return [over, cut.map((each) => each.textContent)];
}
"""
"""Pairs of texts of a drawing whose boxes meet, and texts that reach beyond it."""


@WIDTHS
def test_the_manager_reviews_the_week_and_writes_down_what_is_done(
    year_served: Served, visit: Callable[..., Page], width: int
) -> None:
    page = visit(f"{year_served.address}/review?week=2026-W46", {"width": width, "height": 900})
    expect(page.get_by_text("More than usual: gaps between areas.").first).to_be_visible()
    expect(page.get_by_text("49 of 3,062").first).to_be_attached()
    expect(page.get_by_text("Last actions, and whether they worked").first).to_be_visible()
    # Typed as soon as the field is there, though the page may still be being drawn.
    what = f"Align the heads, seen at {width} px"
    page.get_by_label("What will be done?").fill(what)
    page.get_by_role("button", name="Write it down").click()
    expect(page.get_by_text(f"Written down: {what}")).to_be_visible()
    expect(page.get_by_label("What will be done?")).to_have_value("")
    fits(page)
    kept = [each.action for each in actions(reach_book(str(year_served.place)))]
    assert [each.decided for each in kept if each.what == what] == ["2026-W46"]


@WIDTHS
def test_the_buyer_compares_two_suppliers_and_takes_the_figures_away(
    year_served: Served, visit: Callable[..., Page], width: int, tmp_path: Path
) -> None:
    asked = "defect=puckering&backing=sheer_mesh&reference=Alder"
    page = visit(f"{year_served.address}/suppliers?{asked}", {"width": width, "height": 900})
    expect(page.get_by_text("Cedar is worse than Alder").first).to_be_visible()
    settled(page)  # what a button hands over is of the last drawing
    with page.expect_download() as taken:
        page.get_by_role("button", name="Download the figures (CSV)").click()
    taken.value.save_as(tmp_path / "figures.csv")
    with (tmp_path / "figures.csv").open(encoding="utf-8-sig", newline="") as file:
        told = list(csv.reader(file))
    assert {"Alder", "Birch", "Cedar"} <= {row[0] for row in told}
    page.get_by_role("link", name="Keep", exact=True).click()
    page.get_by_role("link", name="Materials").click()
    expect(page.get_by_text("per m²").first).to_be_visible()
    fits(page)


@WIDTHS
@pytest.mark.parametrize("media", ["screen", "print"])
def test_verdict_and_money_are_read_at_every_width_and_on_paper(
    year_served: Served, visit: Callable[..., Page], width: int, media: Literal["screen", "print"]
) -> None:
    width = min(width, PAPER_PIXELS) if media == "print" else width
    page = visit(
        f"{year_served.address}/suppliers?defect=puckering", {"width": width, "height": 900}
    )
    table = page.get_by_role("region", name="Suppliers side by side")
    expect(table).to_be_visible()
    settled(page)
    page.emulate_media(media=media)
    for words in ("Verdict", "Worse", "100 good pieces, EUR", re.compile(r"^\d+\.\d\d$")):
        box = table.get_by_text(words, exact=True).first.bounding_box()
        assert box is not None, words
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= width, words
    wide, room = table.evaluate("(each) => [each.scrollWidth, each.clientWidth]")
    assert wide <= room + 1


def test_an_old_answer_is_blanked_while_another_is_worked_out(
    year_served: Served, visit: Callable[..., Page]
) -> None:
    page = visit(
        f"{year_served.address}/suppliers?defect=needle_cuts", {"width": 820, "height": 900}
    )
    settled(page)
    old = page.get_by_text("Supplier by supplier")
    expect(old).to_be_visible()
    waiting = page.get_by_text("Comparing like jobs…")
    expect(waiting).to_be_hidden()
    page.get_by_role("combobox", name="Defect").click()
    page.get_by_role("option", name="Sinking stitches").click()
    expect(waiting).to_be_visible()
    expect(old).to_be_hidden()
    # Its headline too, and the titles of what is folded.
    for part in ("h5", ".stExpander summary:has-text('The evidence')"):
        expect(page.locator(part).first).to_be_hidden()
    expect(waiting).to_be_hidden()
    expect(page.get_by_text("Supplier by supplier")).to_be_visible()
    expect(page.get_by_text("sinking stitches").first).to_be_visible()


@WIDTHS
def test_the_digitizer_sees_where_the_design_is_dense_and_where_it_goes_wrong(
    year_served: Served, visit: Callable[..., Page], width: int
) -> None:
    page = visit(
        f"{year_served.address}/designs?design=Heron%20crest", {"width": width, "height": 900}
    )
    expect(page.get_by_text("5,389 stitches in 4 colours").first).to_be_visible()
    expect(page.locator(".two-pictures img")).to_have_count(2)
    expect(page.get_by_text("in the densest places").first).to_be_visible()
    expect(page.get_by_text("Mostly one head").first).to_be_visible()
    fits(page)


@WIDTHS
def test_no_words_of_a_drawing_lie_over_others_in_a_planned_setup(
    year_served: Served, visit: Callable[..., Page], width: int
) -> None:
    page = visit(
        f"{year_served.address}/plan?fabric=terry%20towel", {"width": width, "height": 900}
    )
    drawing = page.locator(".js-plotly-plot")
    # The first suggestion's words: the drawing is there.
    expect(drawing.get_by_text(re.compile(r"^1\. ")).first).to_be_attached()
    fits(page)
    over, cut = drawing.evaluate(WORDS_OVER_WORDS)
    assert over == []
    assert cut == []


@WIDTHS
def test_the_operator_looks_up_a_defect_and_logs_a_clean_run(
    year_served: Served, visit: Callable[..., Page], width: int
) -> None:
    page = visit(f"{year_served.address}/guide?kind=puckering", {"width": width, "height": 900})
    expect(page.get_by_text("What to try first").first).to_be_visible()
    page.get_by_role("link", name="Log a run").click()
    page.get_by_role("button", name="Clean run").click()
    expect(page.get_by_text("nothing wrong").first).to_be_visible()
    fits(page)
