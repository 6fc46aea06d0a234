"""A photo chosen on the form outlives the service that took it, and is kept with its run."""

from __future__ import annotations

import signal
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from logged_runs import book_of_one
from PIL import Image
from playwright.sync_api import Locator, Page, expect
from served import free_port, serving

from logbook.book.photos import photos_of
from logbook.store import open_book

pytestmark = pytest.mark.browser

SMALL_PIXELS = 72


def _photo(seed: int) -> dict[str, object]:
    """A file as the phone sends it."""
    cloth = np.random.default_rng(seed).integers(90, 160, (90, 120, 3), dtype=np.uint8)
    drawn = BytesIO()
    Image.fromarray(cloth).resize((2400, 1800)).save(drawn, "JPEG")
    return {"name": f"IMG_{seed}.jpg", "mimeType": "image/jpeg", "buffer": drawn.getvalue()}


def _remove(page: Page, number: int) -> Locator:
    return page.get_by_role("button", name=f"Remove photo {number}")


def _is_drawn_small(page: Page, number: int) -> None:
    small = page.get_by_role("img", name=f"Photo {number} of the defect")
    small.scroll_into_view_if_needed()
    # Waited for: an image that the page puts in anew is there before it is loaded.
    page.wait_for_function(
        "([name, least]) => document.querySelector(`img[alt='${name}']`)?.naturalWidth >= least",
        arg=[f"Photo {number} of the defect", 3 * SMALL_PIXELS],
    )
    box = small.bounding_box()
    assert box is not None
    assert (round(box["width"]), round(box["height"])) == (SMALL_PIXELS, SMALL_PIXELS)


def test_photos_outlive_a_killed_service_and_are_kept_with_the_run(
    tmp_path: Path, visit: Callable[..., Page]
) -> None:
    place, port = tmp_path / "book", str(free_port())
    book_of_one(place).close()
    with serving(place, "--port", port) as served:
        page = visit(f"{served.address}/log")
        page.get_by_role("button", name="Something went wrong").tap()
        page.locator(".stNumberInput").filter(
            has=page.get_by_label("Puckering", exact=True)
        ).get_by_label("Increment").tap()
        expect(page.locator(".st-key-log button")).to_have_text("Log it: puckering 1")
        page.locator("input[type=file]").set_input_files([_photo(1), _photo(2)])
        expect(_remove(page, 2)).to_be_visible()
        served.stop(signal.SIGKILL)
    (folder,) = (path for path in (place / "drafts").iterdir() if path.is_dir())
    assert len(list(folder.iterdir())) == 2
    with serving(place, "--port", port):
        expect(page.get_by_text("2 photos are here from before.")).to_be_visible()
        expect(page.locator("[data-test-script-state=notRunning]")).to_be_attached()
        expect(page.locator("input[type=file]")).to_have_count(1)
        _is_drawn_small(page, 1)
        expect(_remove(page, 1)).to_be_in_viewport(ratio=1)
        page.locator("input[type=file]").set_input_files(_photo(3))
        expect(_remove(page, 3)).to_be_visible()
        _remove(page, 1).tap()
        expect(_remove(page, 3)).to_have_count(0)
        page.locator(".st-key-log button").tap()
        expect(page.get_by_text("24 pieces sewn; puckering 1")).to_be_visible()
    with open_book(str(place)) as store:
        (run,) = (run for run in store.runs().iter_rows(named=True) if run["run_ref"] != "R-1")
        kept = photos_of(store, run["run_ref"])
        kinds = [card.content["kind"] for card in store.documents("photos", about=run["run_ref"])]
    assert kinds == ["puckering", "puckering"]
    assert len(kept) == 2
    for path in kept:
        with Image.open(path) as picture:
            assert picture.size == (1600, 1200)
    assert not folder.exists()
