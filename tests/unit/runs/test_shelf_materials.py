"""Materials as they are written down: what they are called, cost, and what cannot be."""

from __future__ import annotations

import json
from datetime import date

import pytest

from logbook.errors import RecordError
from logbook.runs.materials import (
    HeatSetting,
    LotReceived,
    PriceStep,
    Product,
    Roll,
    SharedMill,
    fabric_from,
    product_from,
    supplier_from,
)

BACKING = {"supplier": "Alder", "type": "cut_away", "gsm": 60.0}


def refused(told, sort="backing") -> RecordError:
    with pytest.raises(RecordError) as caught:
        product_from(sort, told)
    return caught.value


def test_a_backing_is_read_back_from_the_plain_values_of_a_card():
    product = Product(
        "backing",
        "Alder",
        "fusible_sheer_mesh",
        50.0,
        "black",
        note="soft",
        prices=(
            PriceStep(date(2025, 1, 1), 1.4),
            PriceStep(date(2026, 1, 1), 219.0, Roll(150.0, 100.0)),
        ),
        lots=(LotReceived("A1"), LotReceived("A2", date(2026, 2, 3), 4.0, "rolls")),
        directions="Rough side down.\nLet it cool.",
        heat=HeatSetting(140.0, 10.0, "medium"),
    )
    assert product_from("backing", json.loads(json.dumps(product.plain()))) == product
    assert product.name == "Alder fusible sheer mesh, 50 g/m², black"


def test_a_price_for_a_roll_is_one_for_its_square_metres():
    assert PriceStep(date(2026, 1, 1), 129.0, Roll(150.0, 100.0)).per_m2 == 0.86


def test_the_price_of_a_day_is_the_newest_that_has_begun():
    told = BACKING | {
        "prices": [
            {"since": "2026-03-01", "amount": 1.2},
            {"since": date(2025, 3, 1), "amount": 1.0},
        ]
    }
    product = product_from("backing", told)
    on = {
        day: step and step.per_m2
        for day in (date(2025, 2, 28), date(2025, 3, 1), date(2026, 2, 28), date(2026, 3, 1))
        for step in [product.price_on(day)]
    }
    assert list(on.values()) == [None, 1.0, 1.0, 1.2]


def test_spellings_of_the_trade_are_understood():
    product = product_from("backing", {"supplier": " Alder  Mill ", "type": "no-show mesh"})
    assert (product.supplier, product.type) == ("Alder Mill", "sheer_mesh")
    assert product_from("topping", {"supplier": "Alder", "type": "film"}).type == (
        "water_soluble_film"
    )


@pytest.mark.parametrize(
    ("change", "field", "says"),
    [
        ({"supplier": "  "}, "supplier", "The supplier is missing."),
        ({"type": "felt"}, "type", "The backing is 'felt', which is not known."),
        ({"type": "none"}, "type", "The type of backing is missing."),
        ({"gsm": -60}, "gsm", "it cannot be below zero"),
        ({"gsm": 0}, "gsm", "it must be above zero"),
        ({"gsm": "60"}, "gsm", "must be a number"),
        ({"gsm": True}, "gsm", "must be a number"),
        ({"gsm": float("nan")}, "gsm", "must be a number"),
        ({"shade": "mauve"}, "shade", "not known"),
        ({"colour": "red"}, "colour", "'colour' is not understood"),
        ({"prices": [{"since": "31.10.2026", "amount": 1}]}, "since", "which is no day"),
        ({"prices": [{"since": "2026-02-30", "amount": 1}]}, "since", "which is no day"),
        ({"prices": [{"amount": 1}]}, "since", "holds is missing"),
        ({"prices": [{"since": "2026-02-03"}]}, "amount", "The price is missing."),
        ({"prices": [{"since": "2026-02-03", "amount": -1}]}, "amount", "below zero"),
        (
            {"prices": [{"since": "2026-02-03", "amount": 1, "width_cm": 150}]},
            "length_m",
            "needs the roll's width and its length",
        ),
        (
            {"prices": [{"since": "2026-02-03", "amount": n} for n in (1, 2)]},
            "prices",
            "Two prices begin on 2026-02-03.",
        ),
        ({"prices": "1.20"}, "prices", "must be a list"),
        ({"lots": [{"lot": ""}]}, "lot", "The lot is missing."),
        ({"lots": [{"lot": "A1", "quantity": 2, "unit": "ells"}]}, "unit", "'ells'"),
        ({"lots": [{"lot": "A1"}, {"lot": "A1"}]}, "lots", "told twice"),
        ({"heat": {"celsius": 320}}, "celsius", "hotter than any press"),
        ({"heat": {"seconds": 0}}, "seconds", "above zero"),
        ({"directions": "x" * 5000}, "directions", "longer than 4,000 characters"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(change, field, says):
    error = refused(BACKING | change)
    assert says in error.message
    assert list(error.reasons) == [field]


def test_a_topping_has_no_shade_and_only_toppings_types():
    film = {"supplier": "Alder", "type": "water_soluble_film"}
    assert "no shade" in refused(film | {"shade": "white"}, "topping").message
    assert "not known" in refused(film | {"type": "cut_away"}, "topping").message


def test_no_heat_setting_stays_none():
    assert product_from("backing", BACKING).heat is None
    empty = {"celsius": None, "seconds": None, "pressure": " "}
    assert product_from("backing", BACKING | {"heat": empty}).heat is None


def test_a_fabric_has_the_attributes_of_the_trade():
    fabric = fabric_from({"name": "pique polo", "stretch": "little", "pile_mm": 0.0})
    assert (fabric.stretch, fabric.pile_mm, fabric.sheerness) == ("low", 0.0, None)
    assert fabric_from(fabric.plain()) == fabric
    assert fabric.facts.stretch == "low"
    for told, field in (
        ({"stretch": "low"}, "name"),
        ({"name": "x", "pile_mm": 400}, "pile_mm"),
        ({"name": "x", "sheerness": "very"}, "sheerness"),
    ):
        with pytest.raises(RecordError) as caught:
            fabric_from(told)
        assert list(caught.value.reasons) == [field]


def test_a_supplier_shares_a_mill_with_another_but_not_with_itself():
    told = {"name": "Birch", "same_mill": [{"supplier": "Dogwood", "backing": "tear-away"}]}
    birch = supplier_from(told)
    assert birch.same_mill == (SharedMill("Dogwood", "tear_away"),)
    assert [(mill.suppliers, mill.backing) for mill in birch.mills] == [
        (("Birch", "Dogwood"), "tear_away")
    ]
    assert supplier_from(birch.plain()) == birch
    with pytest.raises(RecordError, match="with itself"):
        supplier_from({"name": "Birch", "same_mill": [{"supplier": "birch"}]})
