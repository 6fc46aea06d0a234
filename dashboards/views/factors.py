"""Factors: what goes with a defect on like jobs, answer first, evidence one click away."""

from __future__ import annotations

import streamlit as st

from dashboards import factor_parts
from dashboards.look import heading
from dashboards.narrowing import answering, narrowing_asked
from dashboards.remembered import answer_of
from dashboards.shared import book
from dashboards.showing import empty_book, remembered
from logbook.questions.factors.asking import which_factors
from logbook.vocabulary import ANY

heading("Factors")
store = book()
if not store.count():
    empty_book("Once runs are logged, what goes with each kind of defect is looked for here.")
    st.stop()
kinds = {each.name: each.label for each in (*store.shop.kinds, ANY)}
defect = st.selectbox(
    "Defect", list(kinds), format_func=kinds.__getitem__, index=remembered("defect", list(kinds))
)
narrowing = narrowing_asked(store, page="factors")
st.query_params.from_dict({"defect": defect} | narrowing.in_address())
with answering(narrowing), st.spinner("Comparing like jobs…"):
    result = answer_of(which_factors, store, kind=defect, window=narrowing.window())
factor_parts.answer(result)
factor_parts.findings(result, narrowing)
factor_parts.evidence(result, narrowing)
