"""Defect guide: each kind with drawings, how to judge it, what it is counted against, remedies."""

from __future__ import annotations

import streamlit as st

from dashboards import guide_parts
from dashboards.css import heading
from dashboards.shared import book
from dashboards.showing import answer_follows, remembered
from logbook.vocabulary import kind

EVERY = ""


def page() -> None:
    """Draw the kind that the address names, else all of them side by side."""
    kinds = book().shop.kinds
    labels = {EVERY: "All kinds, side by side"} | {each.name: each.label for each in kinds}
    heading("Defect guide")
    chosen = st.selectbox(
        "Kind of defect",
        list(labels),
        index=remembered("kind", list(labels)),
        format_func=labels.__getitem__,
        key="guide-kind",
    )
    st.query_params.from_dict({"kind": chosen} if chosen else {})
    answer_follows("Looking the defect up…")
    if chosen:
        guide_parts.entry(kind(chosen, kinds), kinds)
    else:
        guide_parts.gallery(kinds)


page()
