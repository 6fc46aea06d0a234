"""The weekly review: runs the meeting from its headline to the page for the wall."""

from __future__ import annotations

import streamlit as st

from dashboards import review_parts
from dashboards.look import heading
from dashboards.shared import book
from dashboards.showing import empty_book, plain_markdown, remembered, weeks_with_runs
from logbook.answers.questions import review_charts, weekly_review
from logbook.report import review_page

heading("Weekly review")
store = book()
weeks = weeks_with_runs(store)
if not weeks:
    empty_book("Once runs are logged, the week's defects are reviewed here.")
    st.stop()
left, right = st.columns([3, 2], vertical_alignment="bottom")
week = left.selectbox("Week", weeks, index=remembered("week", weeks), key="week-chosen")
st.query_params["week"] = week
result = weekly_review(store, week=week)
charts = review_charts(store, result)
right.download_button(
    "Download as one page",
    review_page(result, charts, store.shop),
    file_name=f"review-{week}.html",
    mime="text/html",
    width="stretch",
)
st.markdown(f"##### {plain_markdown(result.summary())}")
review_parts.held(result)
st.markdown(plain_markdown(result.headline))
review_parts.how_much(result)
review_parts.sentences(result)
review_parts.charts(charts)
review_parts.runs_and_actions(result)
for note in result.notes:
    st.caption(plain_markdown(note))
