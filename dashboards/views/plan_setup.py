"""Plan a setup: what the record favours for a job, by how much, on what evidence."""

from __future__ import annotations

from typing import Any

import streamlit as st

from dashboards import plan_parts
from dashboards.look import heading
from dashboards.narrowing import answering, narrowing_asked
from dashboards.remembered import answer_of
from dashboards.shared import book
from dashboards.showing import empty_book
from logbook.questions.advice.analyse import AdviceResult
from logbook.questions.advice.asking import advise
from logbook.store import Store


def advised(store: Store, *, setup: tuple[tuple[str, str], ...], **job: Any) -> AdviceResult:
    """Ask for advice with the setup as plain values, which can be remembered."""
    return advise(store, setup=dict(setup), **job)


heading("Plan a setup")
store = book()
fabrics = store.known("fabric")
if not store.count():
    empty_book("Once runs name their fabric, setups are suggested here from your own record.")
    st.stop()
if not fabrics:
    st.info(
        "No run in this book names its fabric yet. Once runs do, setups are suggested here from "
        "your own record: name the fabric on **Log a run**, or correct runs on **Runs**."
    )
    st.stop()
asked = plan_parts.asked_for(store, fabrics)
narrowing = narrowing_asked(store, page="plan")
st.query_params.from_dict(plan_parts.in_address(asked) | narrowing.in_address())
with answering(narrowing), st.spinner("Looking at like jobs…"):
    result = answer_of(
        advised,
        store,
        fabric=asked.fabric,
        design=asked.design,
        density=asked.density,
        fabric_shade=asked.fabric_shade,
        setup=tuple(sorted(asked.setup.items())),
        window=narrowing.window(),
    )
plan_parts.answer(result)
plan_parts.suggestions(result, narrowing)
plan_parts.rules(result)
plan_parts.doubts(result)
