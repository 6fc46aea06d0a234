"""Materials on the shelf: kept, changed by two at once, priced, and held against the runs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from logged_runs import EARLIER_RUN, book_of_one, empty_book
from small_shop import small_book

from logbook.book.materials import (
    fabrics,
    keep_material,
    pricing_day,
    products,
    shop_with_materials,
    suppliers,
    take_off,
)
from logbook.book.materials_in_use import (
    describe_backings,
    describe_fabrics,
    describe_suppliers,
    fabric_shelf,
    product_shelf,
    supplier_shelf,
)
from logbook.book.runs import log_run
from logbook.errors import DocumentChanged, DocumentNotFound, RecordError
from logbook.questions.advice.asking import advise
from logbook.questions.factors import FactorsParameters
from logbook.questions.factors import ask as causes
from logbook.questions.factors.words import notes as notes_on_causes
from logbook.questions.suppliers import SuppliersParameters, ask, words
from logbook.runs.materials import (
    LotReceived,
    PriceStep,
    Product,
    SharedMill,
    ShelfFabric,
    Supplier,
)
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

ALDER = Product("backing", "Alder", "cut_away", 60.0)
BEGUN, TO_COME = date(2020, 1, 1), date(2090, 1, 1)
SETTINGS = """
[[price]]
supplier = "Alder"
backing = "cut_away"
gsm = 60
per_m2 = 0.90

[[price]]
supplier = "Alder"
backing = "cut_away"
per_m2 = 0.95

[[price]]
supplier = "Birch"
backing = "tear_away"
per_m2 = 0.50

[[fabric]]
name = "Pique polo"
stretch = "high"
gsm = 200

[[same_mill]]
suppliers = ["Birch", "Dogwood"]
backing = "tear_away"
"""


@pytest.fixture
def book(tmp_path: Path) -> Iterator[DuckStore]:
    with empty_book(tmp_path / "book") as store:
        yield store


@pytest.fixture
def used(tmp_path: Path) -> Iterator[DuckStore]:
    with book_of_one(tmp_path / "book") as store:
        yield store


@pytest.fixture
def with_settings(tmp_path: Path) -> Iterator[DuckStore]:
    with new_book(str(tmp_path / "book"), settings=SETTINGS) as store:
        yield store


def priced(product: Product, *steps: tuple[date, float]) -> Product:
    return replace(product, prices=tuple(PriceStep(day, amount) for day, amount in steps))


def test_what_was_kept_is_read_back_with_its_version(book):
    kept = keep_material(book, ALDER, source="test")
    assert products(book, "backing") == (kept,)
    assert products(book, "topping") == ()
    changed = keep_material(book, priced(ALDER, (BEGUN, 1.0)), source="test", seen=kept)
    assert (changed.ref, changed.version) == (kept.ref, kept.version + 1)
    assert [each.material.prices for each in products(book, "backing")] == [
        (PriceStep(BEGUN, 1.0),)
    ]
    keep_material(book, ShelfFabric("terry towel", pile_mm=4.0), source="test")
    keep_material(book, Supplier("Alder", "by telephone"), source="test")
    assert [each.material.pile_mm for each in fabrics(book)] == [4.0]
    assert [each.material.contact for each in suppliers(book)] == ["by telephone"]


def test_of_two_who_change_at_once_the_second_is_told(book):
    seen = keep_material(book, ALDER, source="test")
    keep_material(book, replace(ALDER, note="the first"), source="test", seen=seen)
    with pytest.raises(DocumentChanged, match=r"Alder cut-away, 60 g/m² was changed by"):
        keep_material(book, replace(ALDER, note="the second"), source="test", seen=seen)
    with pytest.raises(DocumentChanged, match="since you opened it"):
        take_off(book, "backings", seen, why="gone", source="test")
    assert products(book, "backing")[0].material.note == "the first"


def test_one_name_stands_once_and_can_be_corrected(book):
    seen = keep_material(book, ALDER, source="test")
    with pytest.raises(RecordError, match="is on the list already"):
        keep_material(book, replace(ALDER, supplier="alder "), source="test")
    heavier = keep_material(book, replace(ALDER, gsm=85.0), source="test", seen=seen)
    assert heavier.ref == seen.ref
    # The name that is free again can be used, though the first document still goes by it.
    again = keep_material(book, ALDER, source="test")
    assert again.ref != seen.ref
    assert {each.material.gsm for each in products(book, "backing")} == {60.0, 85.0}


def test_what_is_taken_off_needs_a_reason_and_can_come_back(book):
    seen = keep_material(book, ALDER, source="test")
    with pytest.raises(RecordError, match="say why"):
        take_off(book, "backings", seen, why=" ", source="test")
    take_off(book, "backings", seen, why="not sold any more", source="test")
    assert products(book, "backing") == ()
    with pytest.raises(DocumentNotFound, match="taken off the shelf already"):
        take_off(book, "backings", seen, why="again", source="test")
    assert keep_material(book, ALDER, source="test").version > seen.version


def test_what_cannot_be_is_not_kept(book):
    with pytest.raises(RecordError, match="below zero"):
        keep_material(book, priced(ALDER, (BEGUN, -1.0)), source="test")
    assert products(book, "backing") == ()


def test_a_book_without_materials_has_the_settings_prices(with_settings):
    assert shop_with_materials(with_settings) is with_settings.shop


def test_the_newest_price_that_has_begun_takes_the_settings_place(with_settings):
    dearer = priced(ALDER, (BEGUN, 1.0), (date(2021, 1, 1), 1.1), (TO_COME, 9.0))
    keep_material(with_settings, dearer, source="test")
    prices = shop_with_materials(with_settings).prices
    assert {(each.supplier, each.backing, each.gsm): each.per_m2 for each in prices} == {
        ("Alder", "cut_away", 60.0): 1.1,
        ("Alder", "cut_away", None): 0.95,
        ("Birch", "tear_away", None): 0.5,
    }


def test_a_price_of_every_weight_takes_the_place_of_all(with_settings):
    every = priced(replace(ALDER, gsm=None), (BEGUN, 1.3))
    keep_material(with_settings, every, source="test")
    prices = shop_with_materials(with_settings).prices
    assert {(each.supplier, each.gsm): each.per_m2 for each in prices} == {
        ("Alder", None): 1.3,
        ("Birch", None): 0.5,
    }


def test_a_material_without_a_price_leaves_the_settings_price(with_settings):
    keep_material(with_settings, priced(ALDER, (TO_COME, 9.0)), source="test")
    assert shop_with_materials(with_settings).prices == with_settings.shop.prices
    (shown,) = product_shelf(with_settings, "backing").products
    assert shown.price is None
    assert shown.in_settings is not None
    assert shown.per_m2 == 0.90


def test_of_two_shades_the_price_that_began_last_counts(with_settings):
    for shade, day, amount in (("white", BEGUN, 5.0), ("black", date(2021, 1, 1), 1.2)):
        keep_material(
            with_settings, priced(replace(ALDER, shade=shade), (day, amount)), source="test"
        )
    prices = [each for each in shop_with_materials(with_settings).prices if each.gsm == 60.0]
    assert [each.per_m2 for each in prices] == [1.2]


def test_of_two_films_the_price_that_began_last_counts(book):
    film = Product("topping", "Alder", "water_soluble_film")
    keep_material(book, priced(film, (BEGUN, 0.6)), source="test")
    keep_material(
        book, priced(replace(film, supplier="Birch"), (date(2021, 1, 1), 0.4)), source="test"
    )
    (price,) = shop_with_materials(book).topping_prices
    assert (price.topping, price.per_m2) == ("water_soluble_film", 0.4)


def test_fabrics_and_mills_are_laid_over_the_settings(with_settings):
    keep_material(
        with_settings, ShelfFabric("pique polo", stretch="low", sheerness="semi"), source="test"
    )
    mills = (SharedMill("birch", "tear_away"), SharedMill("Cedar"))
    keep_material(with_settings, Supplier("Dogwood", same_mill=mills), source="test")
    shop = shop_with_materials(with_settings)
    (cloth,) = shop.fabrics
    assert (cloth.stretch, cloth.sheerness, cloth.gsm) == ("low", "semi", 200.0)
    assert [(each.suppliers, each.backing) for each in shop.same_mill] == [
        (("Birch", "Dogwood"), "tear_away"),
        (("Dogwood", "Cedar"), None),
    ]


def test_the_day_whose_prices_count_is_no_earlier_than_the_last_run(book):
    today = pricing_day(book)
    tomorrow = datetime.combine(today + timedelta(days=1), datetime.min.time())
    log_run(book, EARLIER_RUN | {"finished_at": tomorrow}, source="test")
    assert pricing_day(book) == today + timedelta(days=1)


def test_runs_are_held_against_the_shelf(used):
    (named,) = product_shelf(used, "backing").not_described
    assert named.name == "Alder cut-away, 60 g/m²"
    keep_material(used, replace(ALDER, lots=(LotReceived("a123 "),)), source="test")
    log_run(used, EARLIER_RUN | {"run_ref": "R-2", "backing_lot": "A200"}, source="test")
    shelf = product_shelf(used, "backing")
    (shown,) = shelf.products
    assert shelf.not_described == ()
    assert (shown.used.runs, shown.used.pieces, shown.used.last) == (2, 48, date(2026, 10, 5))
    assert shown.lots_not_listed == ("A200",)


def test_a_run_goes_to_the_product_that_says_most_of_it(used):
    log_run(used, EARLIER_RUN | {"run_ref": "R-2", "backing_shade": "black"}, source="test")
    log_run(used, EARLIER_RUN | {"run_ref": "R-3", "backing_gsm": 85.0}, source="test")
    for product in (ALDER, replace(ALDER, gsm=None), replace(ALDER, shade="white")):
        keep_material(used, product, source="test")
    runs = {
        each.kept.material.name: each.used.runs for each in product_shelf(used, "backing").products
    }
    assert runs == {
        "Alder cut-away": 1,
        "Alder cut-away, 60 g/m²": 1,
        "Alder cut-away, 60 g/m², white": 1,
    }


def test_a_run_that_could_be_of_two_is_counted_for_neither(used):
    log_run(used, EARLIER_RUN | {"run_ref": "R-2", "backing_gsm": None}, source="test")
    for gsm in (60.0, 85.0):
        keep_material(used, replace(ALDER, gsm=gsm), source="test")
    shelf = product_shelf(used, "backing")
    assert [each.used.runs for each in shelf.products] == [1, 0]
    assert shelf.unclear_runs == 1


def test_what_runs_name_is_listed_at_once_and_only_once(used):
    assert describe_backings(used, source="test") == 1
    assert describe_suppliers(used, source="test") == 1
    assert describe_fabrics(used, source="test") == 1
    for again in (describe_backings, describe_suppliers, describe_fabrics):
        assert again(used, source="test") == 0
    assert [each.material for each in products(used, "backing")] == [ALDER]
    (supplier,) = supplier_shelf(used).suppliers
    assert (supplier.used.runs, supplier.listed) == (1, 1)
    (cloth,) = fabric_shelf(used).fabrics
    assert (cloth.kept.material.name, cloth.used.pieces) == ("pique polo", 24)


def test_prices_of_the_shelf_reach_suppliers_and_advice(tmp_path):
    with small_book(tmp_path / "book") as store:
        asked = {"fabric": store.known("fabric")[0], "setup": {"backing_supplier": "Cedar"}}
        before = ask(store, SuppliersParameters(reference="Alder"))
        # 1.00 more a square metre, on 0.04 m² and a tenth of it lost in cutting.
        more = 0.04 * 1.1
        guessed = []
        kept = None
        for dearer in (1, 2):
            cedar = priced(
                Product("backing", "Cedar", "cut_away", 60.0), (BEGUN, 1.1 + 20 * dearer)
            )
            kept = keep_material(store, cedar, source="test", seen=kept)
            after = ask(store, SuppliersParameters(reference="Alder"))
            assert after.cost("Cedar").backing_per_piece == pytest.approx(
                before.cost("Cedar").backing_per_piece + 20 * dearer * more
            )
            assert after.cost("Alder") == before.cost("Alder")
            suggested = advise(store, **asked).suggestions
            [told] = [each for each in suggested if len(each.changes) == 1]
            guessed.append(told.best_guess_per_100)
        assert guessed[1] - guessed[0] == pytest.approx(100 * 20 * more)


def test_a_shared_mill_of_the_shelf_is_said_of_suppliers(tmp_path):
    with small_book(tmp_path / "book") as store:
        assert "same mill" not in " ".join(words.notes(ask(store, SuppliersParameters())))
        mill = Supplier("Alder", same_mill=(SharedMill("Cedar"),))
        keep_material(store, mill, source="test")
        assert "same mill" in " ".join(words.notes(ask(store, SuppliersParameters())))
        found = causes(store, FactorsParameters(defect="any"))
        assert "same mill" in " ".join(notes_on_causes(found))
