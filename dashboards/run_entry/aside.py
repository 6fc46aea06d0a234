"""What may be told besides of one run: when it ended, how long it took, remarks."""

from __future__ import annotations

import streamlit as st

from dashboards.run_entry.fields import EMPTY
from dashboards.run_entry.typed import key


def ask_aside() -> None:
    """Finish, duration, grade and notes, each of which may stay empty."""
    with st.expander("Time, grade and notes", key="aside"):
        st.datetime_input(
            "Finished", None, key=key("finished_at"), help="Empty: just now, in the shop's time."
        )
        st.number_input(
            "Run time (minutes)",
            0.0,
            None,
            None,
            step=5.0,
            format="%.6g",
            key=key("run_minutes"),
            placeholder=EMPTY,
        )
        st.number_input(
            "Pucker grade (1 to 5, in halves)",
            1.0,
            5.0,
            None,
            step=0.5,
            format="%.1f",
            key=key("pucker_grade"),
            placeholder=EMPTY,
            help="The worst piece by the shop's own scale, 5 smooth. It follows the scale of "
            "ISO 7770 and AATCC TM 88B, which grade seams, not embroidery.",
        )
        st.text_area("Notes", key=key("notes"), placeholder="anything worth knowing")
