"""Log a run: what was sewn, with what, and what went wrong."""

from __future__ import annotations

import streamlit as st

from dashboards.look import heading
from dashboards.run_entry import counts, saving, setup
from dashboards.run_entry.aside import ask_aside
from dashboards.run_entry.typed import begin, is_clean, put, typed
from dashboards.shared import book
from dashboards.showing import plain_markdown
from logbook.store import Store


def page(store: Store) -> None:
    """Draw the form, or the confirmation of the run just logged."""
    heading("Log a run")
    begin(store)
    if typed("logged") is not None:
        saving.show_logged(store)
        return
    if typed("taken_back"):
        st.info(
            f"Run {plain_markdown(typed('taken_back'))} was taken back. "
            "What was typed is still here."
        )
    if not store.count():
        st.info(
            "This book is empty. Describe the first run once; the next one starts from it, and "
            "a clean run is then a single tap."
        )
    setup.choose_machine(store)
    setup.setup_summary(store)
    counts.ask_pieces()
    if typed("trouble"):
        counts.ask_trouble(store)
    ask_to_log(store)
    ask_aside()


def ask_to_log(store: Store) -> None:
    """Draw the one big button, whose words say what will be logged."""
    clean = is_clean(store.shop.kinds)
    saving.show_lacks(store)
    counted = plain_markdown(saving.counted(store)) or "as counted"
    words = "Clean run: log it" if clean else f"Log it: {counted}"
    with st.container(key="log"):
        st.button(words, type="primary", width="stretch", on_click=saving.log, args=(store,))
    if not typed("trouble"):
        st.button("Something went wrong", width="stretch", on_click=put, args=("trouble", True))
    elif clean:
        st.button("Nothing after all", width="stretch", on_click=put, args=("trouble", False))


page(book())
