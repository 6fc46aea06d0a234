"""Trials: what a fair one is; keeping and judging them here is still to come."""

from __future__ import annotations

import streamlit as st

from dashboards.css import heading

heading("Trials")
st.info("Keeping a trial here, and judging it, is coming in a later version.")
st.markdown(
    """
**What you can do now.** *Plan a setup* draws up a fair trial wherever the record is too thin to
settle a change: how many pairs of runs, how many pieces, what to do in which order.

**What makes a trial fair**

1. Change one thing. Two changes at once cannot be told apart.
2. Sew both setups on the same job: same fabric, same design, same machine, on the same day.
3. Go in pairs of runs, and toss a coin for which setup goes first in each pair.
4. Count every piece of both, by the same eyes, before anybody looks at who is ahead.
5. Sew as many pairs as were planned. Stopping when it looks good finds differences that are not
   there.

Log every run of the trial as usual; the record keeps them for the day when they are judged.
"""
)
st.page_link("views/plan_setup.py", label="Plan a setup", width="content")
