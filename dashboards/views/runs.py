"""Runs: find one again, see all that was recorded of it, put it right."""

from __future__ import annotations

import streamlit as st

from dashboards.css import heading
from dashboards.run_pages.asked import asked_for, shown_page
from dashboards.run_pages.listing import listing
from dashboards.run_pages.one_run import one_run
from dashboards.shared import book
from dashboards.showing import answer_follows, empty_book
from logbook.book.photos import runs_with_photos
from logbook.book.run_search import find_runs
from logbook.store import Store


def page(store: Store) -> None:
    """Draw the run that the address names, else the list."""
    if run_ref := st.query_params.get("run"):
        one_run(store, run_ref)
        return
    heading("Runs")
    if not store.count():
        empty_book("Once runs are logged, they are found again here.")
        return
    asked = asked_for(store)
    answer_follows("Looking for runs…")
    only = runs_with_photos(store) if asked.photos else None
    found = find_runs(store, asked.window(), page=shown_page(), only=only)
    page_told = {"page": str(found.page)} if found.page > 1 else {}
    st.query_params.from_dict(asked.in_address() | page_told)
    listing(store, found, asked)


page(book())
