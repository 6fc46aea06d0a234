"""An operator with one hand free: logging runs on a phone."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Locator, Page, expect
from served import Served
from settling import hears_typing, settled

from logbook.book.photos import photos_of
from logbook.store.served import reach_book

pytestmark = pytest.mark.browser

THUMB = 48
SMALLEST_WIDTH = 390


def _button(page: Page, words: str) -> Locator:
    return page.get_by_role("button", name=words)


def _plus(page: Page, label: str) -> Locator:
    field = page.locator(".stNumberInput").filter(has=page.get_by_label(label, exact=True))
    return field.get_by_label("Increment")


def _new_runs(shop: Served) -> list[dict[str, Any]]:
    runs = reach_book(str(shop.place)).runs().iter_rows(named=True)
    return [run for run in runs if run["run_ref"] != "R-1"]


def test_a_clean_run_is_one_tap_without_scrolling(shop: Served, visit: Callable[..., Page]) -> None:
    page = visit(f"{shop.address}/log")
    log = _button(page, "Clean run: log 24 pieces")
    expect(log).to_be_in_viewport(ratio=1)
    expect(page.get_by_label("Pieces sewn")).to_have_value("24")
    log.tap()
    expect(page.get_by_text("24 pieces sewn, nothing wrong")).to_be_visible()
    (run,) = _new_runs(shop)
    assert (run["machine"], run["backing_lot"]) == ("M1", "A123")
    assert (run["pieces_sewn"], run["puckering"], run["pieces_defective"]) == (24, 0, 0)


@pytest.mark.parametrize("address", ["/", "/log", "/log/"])
def test_every_address_of_the_form_opens_it_with_what_it_says(
    shop: Served, visit: Callable[..., Page], address: str
) -> None:
    page = visit(f"{shop.address}{address}?operator=Noor+A.&machine=M1")
    settled(page)
    expect(page.get_by_role("heading", name="Log a run")).to_be_visible()
    expect(page.get_by_text("Page not found")).to_have_count(0)
    assert "operator=Noor+A." in page.url
    _button(page, "Clean run: log 24 pieces").tap()
    expect(page.get_by_text("24 pieces sewn, nothing wrong")).to_be_visible()


def test_another_machine_left_unnamed_is_asked_for_at_its_field(
    shop: Served, visit: Callable[..., Page]
) -> None:
    page = visit(f"{shop.address}/log")
    _button(page, "Something went wrong").tap()
    page.get_by_text("Another machine", exact=True).tap()
    expect(page.get_by_label("Name of the other machine")).to_be_visible()
    settled(page)
    page.get_by_label("Put right").first.scroll_into_view_if_needed()
    page.locator(".st-key-log button").tap()
    asked = page.locator(".st-key-other_machine").get_by_text("Which machine is it?")
    expect(asked).to_be_in_viewport()
    assert _new_runs(shop) == []


def test_two_puckered_pieces_are_four_taps(shop: Served, visit: Callable[..., Page]) -> None:
    page = visit(f"{shop.address}/log")
    taps = [
        _button(page, "Something went wrong"),
        _plus(page, "Puckering"),
        _plus(page, "Puckering"),
        page.locator(".st-key-log button"),
    ]
    for tapped in taps:
        tapped.tap()
    assert len(taps) == 4
    expect(page.get_by_text("24 pieces sewn; puckering 2")).to_be_visible()
    (run,) = _new_runs(shop)
    assert (run["puckering"], run["pieces_defective"], run["pieces_sewn"]) == (2, 2, 24)


@pytest.mark.parametrize("pause_milliseconds", [0, 150, 300])
def test_another_number_of_pieces_tapped_just_before_logging_counts(
    shop: Served, visit: Callable[..., Page], pause_milliseconds: int
) -> None:
    page = visit(f"{shop.address}/log")
    log = page.locator(".st-key-log button")
    expect(log).to_be_visible()
    _plus(page, "Pieces sewn").tap()
    page.wait_for_timeout(pause_milliseconds)
    log.tap()
    expect(page.get_by_text("25 pieces sewn, nothing wrong")).to_be_visible()
    (run,) = _new_runs(shop)
    assert run["pieces_sewn"] == 25


@pytest.mark.parametrize("taps", [2, 5])
def test_an_impatient_thumb_logs_one_run(
    shop: Served, visit: Callable[..., Page], taps: int
) -> None:
    page = visit(f"{shop.address}/log")
    settled(page)  # the taps go by place, which must not move any more
    log = page.locator(".st-key-log button")
    box = log.bounding_box()
    assert box is not None
    middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    for _ in range(taps):
        page.touchscreen.tap(*middle)
        page.wait_for_timeout(80)
    expect(page.get_by_text("24 pieces sewn, nothing wrong")).to_be_visible()
    assert len(_new_runs(shop)) == 1


def test_a_change_of_setup_logs_what_was_sewn_and_asks_only_what_changes(
    shop: Served, visit: Callable[..., Page]
) -> None:
    page = visit(f"{shop.address}/log")
    _button(page, "Change the setup now").tap()
    expect(page.get_by_text("What was sewn so far is logged")).to_be_visible()
    page.get_by_label("Pieces sewn").fill("10")
    _button(page, "Log 10 pieces so far, then change").tap()
    expect(page.get_by_text("What changes?")).to_be_visible()
    expect(page.get_by_label("Pieces sewn")).to_have_value("14")
    _button(page, "Needle").tap()
    size = page.get_by_label("Needle size").first
    expect(size).to_be_visible()
    expect(page.get_by_label("Speed").first).not_to_be_visible()
    settled(page)  # a list that is open closes when the page moves under it
    size.tap()
    page.get_by_role("option", name="80/12").tap()
    expect(page.get_by_text("80/12 light ball point")).to_be_visible()
    page.wait_for_timeout(1000)  # a thumb is not faster, and taps sooner are taken for slips
    _button(page, "Clean run: log 14 pieces").tap()
    expect(page.get_by_text("14 pieces sewn, nothing wrong")).to_be_visible()
    runs = sorted(_new_runs(shop), key=lambda run: run["pieces_sewn"])
    assert [(run["pieces_sewn"], run["needle_nm"], run["job"]) for run in runs] == [
        (10, 75, "J4628"),
        (14, 80, "J4628"),
    ]


def test_a_new_name_left_without_enter_is_kept(shop: Served, visit: Callable[..., Page]) -> None:
    page = visit(f"{shop.address}/log")
    hears_typing(page)
    page.get_by_text("Setup of this run").tap()
    fabric = page.get_by_role("combobox", name="Fabric", exact=True)
    fabric.fill("linen apron")
    page.get_by_label("Pieces sewn").tap()
    expect(page.get_by_text("Linen apron")).to_be_visible()
    _button(page, "Clean run: log 24 pieces").tap()
    expect(page.get_by_text("24 pieces sewn, nothing wrong")).to_be_visible()
    (run,) = _new_runs(shop)
    assert run["fabric"] == "linen apron"


def test_puckers_and_a_thread_break_are_counted_with_the_thumb(
    shop: Served, visit: Callable[..., Page]
) -> None:
    page = visit(f"{shop.address}/log")
    page.get_by_label("Pieces sewn").fill("24")
    _button(page, "Something went wrong").tap()
    for _ in range(2):
        _plus(page, "Puckering").tap()
    _plus(page, "Thread breaks").tap()
    expect(page.get_by_text("Pieces with any defect: 2")).to_be_visible()
    _button(page, "Log it: puckering 2, thread breaks 1").tap()
    expect(page.get_by_text("24 pieces sewn; puckering 2, thread breaks 1")).to_be_visible()
    (run,) = _new_runs(shop)
    assert (run["puckering"], run["thread_breaks"], run["pieces_defective"]) == (2, 1, 2)
    assert run["gaps"] == 0


@pytest.mark.parametrize("pause_milliseconds", [0, 60, 150, 400])
def test_no_tap_is_lost_however_fast_the_thumb(
    shop: Served, visit: Callable[..., Page], pause_milliseconds: int
) -> None:
    page = visit(f"{shop.address}/log")
    page.get_by_label("Pieces sewn").fill("24")
    _button(page, "Something went wrong").tap()
    for label in ("Puckering", "Thread breaks"):
        for _ in range(5):
            _plus(page, label).tap()
            page.wait_for_timeout(pause_milliseconds)
    expect(page.get_by_text("Pieces with any defect: 5")).to_be_visible()
    _button(page, "Log it: puckering 5, thread breaks 5").tap()
    expect(page.get_by_text("24 pieces sewn; puckering 5, thread breaks 5")).to_be_visible()
    (run,) = _new_runs(shop)
    assert (run["puckering"], run["thread_breaks"], run["pieces_defective"]) == (5, 5, 5)


def test_a_broken_needle_is_asked_after_and_the_run_held(
    shop: Served, visit: Callable[..., Page]
) -> None:
    page = visit(f"{shop.address}/log")
    page.get_by_label("Pieces sewn").fill("24")
    _button(page, "Something went wrong").tap()
    _plus(page, "Needle breaks").tap()
    expect(page.get_by_text("find every part of the needle")).to_be_visible()
    _button(page, "Log it: needle breaks 1").tap()
    expect(page.get_by_text("say whether every part of it was found")).to_be_visible()
    page.get_by_role("radio", name="No, or not sure").tap()
    expect(page.get_by_text("This run is held")).to_be_visible()
    _button(page, "Log and hold: needle breaks 1").tap()
    expect(page.get_by_text("is logged and held")).to_be_in_viewport()
    expect(page.get_by_text("Then a reviewer releases the run")).to_be_visible()
    (run,) = _new_runs(shop)
    assert run["needle_parts_found"] is False


def test_a_photo_from_the_phone_is_kept_with_its_run(
    shop: Served, visit: Callable[..., Page]
) -> None:
    drawn = BytesIO()
    Image.new("RGB", (2400, 1800), (180, 40, 40)).save(drawn, "JPEG")
    page = visit(f"{shop.address}/log")
    _button(page, "Something went wrong").tap()
    _plus(page, "Puckering").tap()
    page.locator("input[type=file]").set_input_files(
        {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": drawn.getvalue()}
    )
    expect(_button(page, "Remove photo 1")).to_be_visible()
    _button(page, "Log it: puckering 1").tap()
    expect(page.get_by_text("24 pieces sewn; puckering 1")).to_be_visible()
    (run,) = _new_runs(shop)
    store = reach_book(str(shop.place))
    (path,) = photos_of(store, run["run_ref"])
    (card,) = store.documents("photos", about=run["run_ref"])
    with Image.open(path) as kept:
        assert kept.size == (1600, 1200)
    assert card.content["kind"] == "puckering"


def test_an_empty_book_takes_its_first_run(
    served_empty: Served, visit: Callable[..., Page]
) -> None:
    page = visit(f"{served_empty.address}/log")
    hears_typing(page)
    expect(page.get_by_text("This book is empty")).to_be_visible()
    page.get_by_label("Machine", exact=True).fill("M1")
    fabric = page.get_by_role("combobox", name="Fabric", exact=True)
    fabric.fill("linen apron")
    fabric.press("Enter")
    expect(page.get_by_text("Linen apron")).to_be_visible()
    page.get_by_label("Operator").fill("Noor A.")  # left without Enter, and kept
    page.get_by_label("Pieces sewn").fill("6")
    page.locator(".st-key-log button").tap()
    expect(page.get_by_text("6 pieces sewn, nothing wrong")).to_be_visible()
    (run,) = _new_runs(served_empty)
    assert (run["machine"], run["operator"], run["pieces_sewn"]) == ("M1", "Noor A.", 6)
    assert run["fabric"] == "linen apron"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_everything_tapped_is_large_enough_and_nothing_is_wider_than_the_phone(
    shop: Served, visit: Callable[..., Page], scheme: str
) -> None:
    page = visit(f"{shop.address}/log", color_scheme=scheme)
    _button(page, "Something went wrong").tap()
    expect(page.get_by_text("How often did the machine stop?")).to_be_visible()
    tapped = page.locator(
        ".stButton button:visible, .stButtonGroup button:visible, "
        "[class*=steppers_] [data-testid^=stNumberInputStep]:visible"
    )
    # Waited for: the page is still being drawn when its first words are there.
    expect(tapped.nth(15)).to_be_visible()
    settled(page)
    sizes = tapped.evaluate_all(
        "all => all.map((each) => each.getBoundingClientRect()).map((at) => [at.width, at.height])"
    )
    assert len(sizes) > 15
    assert [size for size in sizes if min(size) < THUMB] == []
    width = page.evaluate("document.querySelector('[data-testid=stMain]').scrollWidth")
    assert width <= SMALLEST_WIDTH
