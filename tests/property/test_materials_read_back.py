"""Whatever a material says, its document says again; and no plain values break the reading."""

from __future__ import annotations

import json
from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from logbook.errors import RecordError
from logbook.runs.materials import LOT_UNITS, fabric_from, product_from, supplier_from
from logbook.vocabulary.backings import BACKING_SHADES, BACKINGS

names = st.text(min_size=1, max_size=20).filter(lambda text: text.strip())
amounts = st.floats(0, 1e6)
sizes = st.floats(0.01, 1e4)
texts = st.none() | st.text(max_size=60)
days = st.dates(date(1990, 1, 1), date(2100, 1, 1)).map(date.isoformat)
prices = st.fixed_dictionaries({"since": days, "amount": amounts}) | st.fixed_dictionaries(
    {"since": days, "amount": amounts, "width_cm": sizes, "length_m": sizes}
)
lots = st.fixed_dictionaries(
    {"lot": names},
    optional={"day": days, "quantity": amounts, "unit": st.sampled_from(sorted(LOT_UNITS))},
)
heats = st.fixed_dictionaries(
    {},
    optional={"celsius": st.floats(1, 300), "seconds": st.floats(0.1, 600), "pressure": texts},
)
backings = st.fixed_dictionaries(
    {"supplier": names, "type": st.sampled_from(BACKINGS.values[1:])},
    optional={
        "gsm": st.none() | st.floats(1, 500),
        "shade": st.none() | st.sampled_from(BACKING_SHADES.values),
        "note": texts,
        "directions": texts,
        "heat": st.none() | heats,
        "prices": st.lists(prices, max_size=4, unique_by=lambda step: step["since"]),
        "lots": st.lists(lots, max_size=4, unique_by=lambda lot: " ".join(lot["lot"].split())),
    },
)
anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=6,
)
FIELDS = ["supplier", "type", "gsm", "prices", "lots", "heat", "name", "same_mill", "pile_mm"]


@given(backings)
def test_a_backing_says_again_what_its_document_says(told):
    product = product_from("backing", told)
    assert product_from("backing", json.loads(json.dumps(product.plain()))) == product
    begun = [step.since for step in product.prices]
    assert begun == sorted(begun)
    for step in product.prices:
        assert product.price_on(step.since) == step
        assert step.per_m2 >= 0


@given(st.dictionaries(st.sampled_from(FIELDS), anything))
def test_plain_values_are_read_or_refused_in_words(told):
    for reader in (lambda told: product_from("backing", told), fabric_from, supplier_from):
        refusal = None
        try:
            read = reader(told)
        except RecordError as error:
            refusal = error
        if refusal is None:
            assert reader(read.plain()) == read
        else:
            assert refusal.message.endswith(".")
            assert len(refusal.reasons) == 1
