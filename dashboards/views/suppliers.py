"""Suppliers: the answer for the buyer first, the evidence one click away."""

from __future__ import annotations

import streamlit as st

from dashboards import supplier_parts
from dashboards.look import heading
from dashboards.narrowing import answering, narrowing_asked
from dashboards.remembered import answer_of
from dashboards.shared import book
from dashboards.showing import empty_book, remembered
from logbook.questions.asking import compare_suppliers
from logbook.vocabulary import ANY
from logbook.vocabulary.backings import BACKINGS

ALL = "all"

heading("Suppliers")
store = book()
if not store.count():
    empty_book("Once runs name their backing's supplier, suppliers are compared here.")
    st.stop()
kinds = {each.name: each.label for each in (ANY, *store.shop.kinds)}
backings = {ALL: "All backings"} | {
    choice.value: choice.label for choice in BACKINGS.choices if choice.value != "none"
}
suppliers = ["", *store.known("backing_supplier")]
first, second, third = st.columns(3)
defect = first.selectbox(
    "Defect", list(kinds), format_func=kinds.__getitem__, index=remembered("defect", list(kinds))
)
backing = second.selectbox(
    "Backing",
    list(backings),
    format_func=backings.__getitem__,
    index=remembered("backing", list(backings)),
)
reference = third.selectbox(
    "Compare with",
    suppliers,
    format_func=lambda name: name or "The most used",
    index=remembered("reference", suppliers),
)
narrowing = narrowing_asked(store, page="suppliers")
st.query_params.from_dict(
    {"defect": defect, "backing": backing, "reference": reference} | narrowing.in_address()
)
with answering(narrowing), st.spinner("Comparing like jobs…"):
    result = answer_of(
        compare_suppliers,
        store,
        kind=defect,
        backing=None if backing == ALL else backing,
        reference=reference or None,
        window=narrowing.window(),
    )
supplier_parts.answer(result)
supplier_parts.differences(result, narrowing)
supplier_parts.by_supplier(result, narrowing)
supplier_parts.evidence(result)
