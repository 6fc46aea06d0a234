"""What may be told besides of one run: when it ended, how long it took, remarks."""

from __future__ import annotations

import streamlit as st

from dashboards.run_entry.fields import field
from dashboards.run_entry.typed import ASIDE, left_out
from logbook.store import Store


def ask_aside(store: Store) -> None:
    """Finish, duration, grade and notes, each of which may stay empty."""
    with st.expander("Time, grade and notes", key="aside"):
        unused = left_out(store)
        for name in (each for each in ASIDE if each not in unused):
            field(store, name)
