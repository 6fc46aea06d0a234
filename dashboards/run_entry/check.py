"""The setup held against common practice, before a stitch is sewn."""

from __future__ import annotations

from html import escape

import streamlit as st

from dashboards.run_entry.typed import KEPT, typed
from logbook.questions.advice.setup_check import rules_broken
from logbook.store import Store
from logbook.vocabulary.rules import RuleOfThumb

STATUS_WORDS = {
    "strong": "sources agree",
    "usual": "most sources agree",
    "contested": "sources contradict each other",
}


def show_rules(store: Store) -> None:
    """One line for each rule of thumb that the setup goes against; nothing where there is none."""
    setup = {name: typed(name) for name in KEPT}
    broken = rules_broken(setup, shop=store.shop)
    if not broken:
        return
    lines = "".join(map(_line, broken))
    if len(broken) > 1:
        says = f"{len(broken)} rules of thumb speak against this setup"
        lines = f"<details><summary>{says}</summary>{lines}</details>"
    st.html(f'<div class="rules">{lines}</div>')


def _line(rule: RuleOfThumb) -> str:
    practice = f"Common practice ({STATUS_WORDS[rule.status]}), from {rule.source}."
    return (
        f"<details><summary>Rule of thumb: {escape(rule.if_text)}</summary>"
        f"<p>{escape(rule.then_text)} {escape(rule.why)}</p>"
        f'<p class="source">{escape(practice)} The shop’s own record counts for more.</p></details>'
    )
