"""A digitizer brings a stitch file; an operator taps where the defect is; both see it again."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from served import Served
from settling import settled
from sewn_blocks import stitch_file

from logbook.book.defect_locations import locations_of_run
from logbook.store import open_book

pytestmark = pytest.mark.browser


def test_a_file_is_added_and_a_defect_is_placed_by_thumb(
    served: Served, visit: Callable[..., Page], tmp_path: Path
) -> None:
    file = tmp_path / "hare.dst"
    file.write_bytes(stitch_file())
    page = visit(f"{served.address}/designs?design=Hare%20monogram")
    settled(page)
    page.get_by_text("Add a stitch file, or a new version").tap()
    page.set_input_files("input[type=file]", str(file))
    expect(page.get_by_text("hare.dst")).to_be_visible()
    page.get_by_role("button", name="Measure and keep it").tap()
    expect(page.get_by_text("480 stitches in 2 colours")).to_be_visible()
    pictures = page.locator(".two-pictures img")
    expect(pictures).to_have_count(2)
    page.wait_for_function("() => document.querySelector('.two-pictures img')?.naturalWidth > 100")
    page.get_by_role("link", name="Sew", exact=True).tap()
    page.get_by_role("button", name="Something went wrong").tap()
    field = page.locator(".stNumberInput").filter(has=page.get_by_label("Puckering", exact=True))
    field.get_by_label("Increment").tap()
    page.locator(".st-key-log button").tap()
    drawing = page.locator(".frame svg")
    expect(drawing).to_be_visible()
    settled(page)
    box = drawing.bounding_box()
    assert box is not None
    drawing.tap(position={"x": box["width"] / 2, "y": box["height"] / 3})
    expect(page.get_by_text("Marked: Puckering 1")).to_be_visible()
    expect(page.locator(".frame circle.mark:not(.halo)")).to_have_count(1)
    served.stop()
    with open_book(str(served.place)) as store:
        run = store.runs(newest_first=True, limit=1).row(0, named=True)
        [place] = locations_of_run(store, run).places
    # The blocks lie from 0 to 20 mm across and from 0 to 32 mm down; the tap was in the middle.
    assert place.kind == "puckering"
    assert abs(place.x_mm - 10) < 1
    assert 0 <= place.y_mm <= 32
