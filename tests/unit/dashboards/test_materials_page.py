"""Materials: an empty book first, one tap from what runs name, prices that count elsewhere."""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import streamlit as st
from logged_runs import EARLIER_RUN, book_of_one
from streamlit.testing.v1 import AppTest

from logbook.book.materials import (
    fabrics,
    keep_material,
    products,
    shop_with_materials,
    suppliers,
)
from logbook.runs.materials import HeatSetting, PriceStep, Product, Supplier
from logbook.service.access.credentials import Passcode, Role, new_credentials, write_credentials
from logbook.service.access.rights import Access
from logbook.service.access.sessions import begin_session, cookie_name, cookie_of
from logbook.service.state import set_access
from logbook.store.duckdb_store import DuckStore

ALDER = Product("backing", "Alder", "cut_away", 60.0)
MESH = Product("backing", "Alder", "fusible_sheer_mesh", 50.0)
NASTY = "<script>alert(1)</script> ![x](http://elsewhere.example/x.png) **M1**"


def page(app: AppTest, **address: str) -> AppTest:
    app.run()
    for name, word in address.items():
        app.query_params[name] = word
    app.switch_page("views/materials.py").run()
    assert not app.exception
    return app


def words(app: AppTest) -> str:
    said = [*app.info, *app.markdown, *app.success, *app.error, *app.warning, *app.caption]
    html = [each.body for each in app.get("html") if not each.body.startswith("<style>")]
    names = [each.value for each in (*app.header, *app.subheader)]
    return "\n".join([*(each.value for each in said), *html, *names]).replace("\\", "")


def field(app: AppTest, kind: str, label: str) -> Any:
    return next(each for each in app.get(kind) if each.label == label)


def press(app: AppTest, label: str) -> AppTest:
    next(each for each in app.button if each.label.replace("\\", "") == label).click()
    app.run()
    assert not app.exception
    return app


@pytest.mark.parametrize(
    ("shelf", "says"),
    [
        ("backings", "No backing is described yet."),
        ("toppings", "No topping is described yet."),
        ("fabrics", "No fabric is described yet."),
        ("suppliers", "No supplier is described yet."),
    ],
)
def test_an_empty_book_says_what_belongs_here(
    without_runs: DuckStore, app: AppTest, shelf: str, says: str
) -> None:
    page(app, shelf=shelf)
    assert says in words(app)
    assert any(each.label.startswith("Add this") for each in app.button)


def test_the_first_backing_is_written_down_and_its_price_counts(
    without_runs: DuckStore, app: AppTest
) -> None:
    page(app)
    field(app, "text_input", "Supplier").set_value("Alder")
    field(app, "selectbox", "Backing").set_value("cut_away")
    field(app, "number_input", "Weight (g/m²)").set_value(60.0)
    field(app, "number_input", "Price today, EUR per m²").set_value(0.87)
    press(app, "Add this backing")
    assert "Alder cut-away, 60 g/m² is kept." in words(app)
    assert "EUR 0.87 per m² from" in words(app)
    (price,) = shop_with_materials(without_runs).prices
    assert (price.supplier, price.backing, price.gsm, price.per_m2) == (
        "Alder",
        "cut_away",
        60.0,
        0.87,
    )


def test_what_cannot_be_is_said_and_what_was_typed_stays(
    without_runs: DuckStore, app: AppTest
) -> None:
    page(app)
    field(app, "text_input", "Supplier").set_value("Alder")
    press(app, "Add this backing")
    assert "The type of backing is missing." in words(app)
    assert field(app, "text_input", "Supplier").value == "Alder"
    assert products(without_runs, "backing") == ()


def test_what_runs_name_is_listed_in_one_tap(with_one_run: DuckStore, app: AppTest) -> None:
    page(app)
    assert "**1 backing is named in your runs and not described yet.**" in words(app)
    press(app, "List it")
    assert [each.material for each in products(with_one_run, "backing")] == [ALDER]
    assert "1 run, 24 pieces; last 5 Oct 2026" in words(app)
    assert "No price yet" in words(app)
    assert "1 lot in runs and not in the list" in words(app)


@pytest.mark.parametrize(("shelf", "read"), [("fabrics", fabrics), ("suppliers", suppliers)])
def test_fabrics_and_suppliers_too(
    with_one_run: DuckStore, app: AppTest, shelf: str, read: Any
) -> None:
    press(page(app, shelf=shelf), "List it")
    (kept,) = read(with_one_run)
    assert kept.material.name in {"pique polo", "Alder"}
    assert "1 run, 24 pieces" in words(app)
    press(app, kept.material.name)
    assert kept.material.name in [each.value.replace("\\", "") for each in app.header]


def test_a_price_for_a_roll_and_a_lot_that_runs_name(with_one_run: DuckStore, app: AppTest) -> None:
    keep_material(with_one_run, ALDER, source="test")
    press(page(app), "Alder, 60 g/m²")
    assert "1 lot is in runs and not in this list: A123." in words(app)
    field(app, "number_input", "Price, EUR").set_value(129.0)
    field(app, "radio", "It is for").set_value("a roll")
    field(app, "date_input", "From").set_value(date(2026, 1, 5))
    press(app, "Save the price")
    assert "The width of the roll is 0; it must be above zero." in words(app)
    assert products(with_one_run, "backing")[0].material.prices == ()
    field(app, "number_input", "Width of the roll (cm)").set_value(150.0)
    field(app, "number_input", "Length of the roll (m)").set_value(100.0)
    press(app, "Save the price")
    assert "EUR 0.86 per m² from Mon 5 Jan 2026 (EUR 129.00 for a roll of 150 cm by 100 m)" in (
        words(app)
    )
    field(app, "selectbox", "Lot").set_value("A123")
    press(app, "Save the lot")
    assert "not in this list" not in words(app)
    (kept,) = products(with_one_run, "backing")
    assert [(lot.lot, lot.day) for lot in kept.material.lots] == [("A123", None)]
    press(app, "Take out this lot")
    press(app, "Take out this price")
    (kept,) = products(with_one_run, "backing")
    assert (kept.material.lots, kept.material.prices) == ((), ())


def test_whoever_was_slower_is_told_and_overwrites_nothing(
    with_one_run: DuckStore, app: AppTest
) -> None:
    seen = keep_material(with_one_run, ALDER, source="test")
    press(page(app), "Alder, 60 g/m²")
    keep_material(
        with_one_run,
        Product("backing", "Alder", "cut_away", 60.0, note="of the other"),
        source="test",
        seen=seen,
    )
    field(app, "text_input", "Note").set_value("mine")
    press(app, "Save the details")
    assert "was changed by somebody else since you opened it" in words(app)
    assert products(with_one_run, "backing")[0].material.note == "of the other"


def test_no_heat_setting_of_our_own_and_the_caution_first(
    with_one_run: DuckStore, app: AppTest
) -> None:
    keep_material(with_one_run, MESH, source="test")
    film = Product("topping", "Alder", "heat_away_film", heat=HeatSetting(120.0))
    keep_material(with_one_run, film, source="test")
    press(page(app), "Alder, 50 g/m²")
    assert "No heat setting recorded: follow the maker's leaflet." in words(app)
    assert "°C" not in words(app)
    assert any("Irons and presses burn" in each.value for each in app.warning)
    field(app, "button_group", "Shelf").set_value("toppings").run()
    press(app, "Alder")
    assert "As its maker gives it: 120 °C, time not recorded" in words(app)


def test_what_is_taken_off_needs_a_reason(with_one_run: DuckStore, app: AppTest) -> None:
    keep_material(with_one_run, Supplier("Alder"), source="test")
    press(page(app, shelf="suppliers"), "Alder")
    press(app, "Take it off")
    assert "say why" in words(app)
    field(app, "text_input", "Why?").set_value("closed down")
    press(app, "Take it off")
    assert suppliers(with_one_run) == ()
    assert "Alder is off the list." in words(app)


def test_a_shared_mill_is_kept_from_the_form(with_one_run: DuckStore, app: AppTest) -> None:
    for name in ("Birch", "Dogwood"):
        keep_material(with_one_run, Supplier(name), source="test")
    press(page(app, shelf="suppliers"), "Birch")
    field(app, "multiselect", "Same mill as").set_value(["Dogwood"])
    field(app, "selectbox", "For which backing").set_value("tear_away")
    press(app, "Save the supplier")
    assert "Tear-away believed to be of the same mill as Dogwood's." in words(app)
    (mill,) = shop_with_materials(with_one_run).same_mill
    assert (mill.suppliers, mill.backing) == (("Birch", "Dogwood"), "tear_away")


def test_no_name_acts_on_the_page(held: Any, app: AppTest, tmp_path: Path) -> None:
    store = held(book_of_one(tmp_path / "book"))
    told = Product(
        "backing",
        NASTY,
        "cut_away",
        note=NASTY,
        directions=NASTY,
        prices=(PriceStep(date(2026, 1, 1), 1.0), PriceStep(date(2026, 2, 1), 2.0)),
    )
    keep_material(store, told, source="test")
    keep_material(store, Supplier(NASTY, NASTY), source="test")
    for address in ({}, {"material": told.name}, {"shelf": "suppliers", "material": NASTY}):
        page(AppTest.from_file(app._script_path), **address)
    shown = page(app, material=told.name)
    raw = [each.value for each in (*shown.markdown, *shown.header, *shown.info)]
    raw += [each.label for each in shown.button]
    assert any("alert(1)" in each for each in raw)
    assert not any("![x](" in each or "<script" in each.replace("\\<", "") for each in raw)
    assert not any("<script" in each.body for each in shown.get("html"))


@pytest.fixture
def operator(with_one_run: DuckStore, monkeypatch: pytest.MonkeyPatch) -> Iterator[DuckStore]:
    """The book, seen by an operator who has signed in."""
    kept = Passcode("00", "00", 32768, 8, 1, "mark", "2026-10-05")
    credentials = new_credentials()
    roles: dict[Role, Passcode] = {"operator": kept, "reviewer": kept}
    write_credentials(with_one_run.folder, type(credentials)(credentials.key, roles))
    access = Access(with_one_run.folder)
    set_access(access)
    credentials = access.credentials()
    session = begin_session(credentials, "operator", now=time.time())
    cookies = {cookie_name(credentials): cookie_of(credentials, session)}

    class Cookies:
        def to_dict(self) -> dict[str, str]:
            return cookies

    monkeypatch.setattr(type(st.context), "cookies", property(lambda _: Cookies()))
    yield with_one_run
    set_access(None)


def test_an_operator_reads_and_changes_nothing(operator: DuckStore, app: AppTest) -> None:
    keep_material(operator, ALDER, source="test")
    page(app)
    assert "1 run, 24 pieces" in words(app)
    assert "Changing materials is for reviewers." in words(app)
    press(app, "Alder, 60 g/m²")
    assert {each.label for each in app.button} == {"← All backings"}
    assert not app.text_input
    assert EARLIER_RUN["backing_lot"] in words(app)
