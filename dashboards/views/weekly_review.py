"""The weekly review: runs the meeting from its headline to this week's action."""

from __future__ import annotations

from html import escape

import streamlit as st

from dashboards import (
    review_actions,
    review_charts,
    review_different,
    review_parts,
    review_print,
    review_titles,
)
from dashboards.css import heading
from dashboards.question_page import answered
from dashboards.remembered import answer_of
from dashboards.shared import book
from dashboards.showing import answer_follows, empty_book, plain_markdown, remembered
from logbook.book.weeks import weeks_with_runs
from logbook.report import RECORD_ONLY, answer_page
from logbook.store import Store


def page(store: Store) -> None:
    """Draw the meeting in its order: what happened, what to look at, what was and will be done."""
    heading("Weekly review")
    found = weeks_with_runs(store)
    weeks = found.every
    if not weeks:
        empty_book("Once runs are logged, the week's defects are reviewed here.")
        return
    head = st.container(key="screen-only-head")
    with head:
        choosing, printing, saving = st.columns([2, 1, 1], vertical_alignment="bottom")
        week = choosing.selectbox(
            "Week",
            weeks,
            index=remembered("week", weeks),
            key="week-chosen",
            format_func=lambda each: review_titles.week_choice(each, later=each in found.later),
        )
    st.query_params["week"] = week
    answer_follows("Reviewing the week…")
    answer = answer_of(answered, store, name="review", asked=(("week", week),))
    result = answer.result
    printed = answer_page(answer)
    with printing:
        review_print.print_button(printed)
    saving.download_button(
        "Save as HTML file",
        printed,
        file_name=f"review-{result.week}.html",
        mime="text/html",
        width="stretch",
    )
    with head:
        review_parts.ways(result)
    st.html(f'<p class="print-only">{escape(store.shop.name)}, week {escape(week)}</p>')
    st.markdown(f"##### {plain_markdown(answer.headline)}")
    review_different.what_is_different(store, result.different)
    review_parts.in_figures(result)
    review_parts.how_much(result)
    review_parts.standing_out(result)
    review_parts.changed(result)
    review_charts.what_cost_most(result.costs)
    review_charts.over_the_weeks(result)
    review_parts.runs_to_look_at(result)
    review_actions.earlier(result)
    review_parts.where_to_look(result)
    review_actions.this_week(store, result)
    review_parts.to_keep_in_mind(answer.notes, RECORD_ONLY)


page(book())
