"""Today: what needs somebody now, how the last weeks went, what runs on which machine."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from dashboards.css import heading
from dashboards.question_page import answered
from dashboards.remembered import answer_of
from dashboards.review_parts import run_address
from dashboards.shared import book, day_words
from dashboards.showing import plain_markdown, show_figure
from logbook.questions.answer import Answer
from logbook.questions.today import figure
from logbook.questions.today.result import Need, TodayResult
from logbook.questions.watch.result import WatchResult
from logbook.questions.watch.words.findings import short
from logbook.report.tables import table_html
from logbook.store import Store

DOORS = (
    ("log", "Log a run"),
    ("weekly_review", "Weekly review"),
    ("plan_setup", "Plan a setup"),
    ("bring", "Bring in a sheet"),
)
BEGIN = """
Two ways to begin:

- **Log a run**: one tap logs a clean one; the setup is remembered for the next.
- **Bring in a sheet**: your own spreadsheet, as it is.

Then this page shows what needs somebody, the last weeks as small pictures, and what was sewn
last on each machine.
"""


def page(store: Store) -> None:
    """Draw the day: headline, doors, what waits beside the pictures."""
    answer: Answer[TodayResult] = answer_of(answered, store, name="today", asked=())
    result = answer.result
    heading(f"Today, {day_words(result.day)}")
    st.markdown(f"##### {plain_markdown(answer.headline)}")
    with st.container(horizontal=True, key="doors"):
        for script, label in DOORS:
            st.page_link(f"views/{script}.py", label=label, width="stretch")
    if result.week is None:
        st.markdown(BEGIN)
        return
    left, right = st.columns(2, gap="large")
    with left:
        waiting = st.container()
        show_figure(figure.draw, result, key="today")
        with st.expander("What the band means"):
            for note in answer.notes:
                st.caption(plain_markdown(note))
    with right:
        for each in answer.tables:
            st.subheader(each.caption)
            st.html(table_html(each))
    # Last, since the whole record is looked through: the rest is read meanwhile.
    with waiting:
        _needs(result, _found(store))


def _found(store: Store) -> list[str]:
    """What is new and different in the newest week, surely so."""
    watched: Answer[WatchResult] = answer_of(answered, store, name="watch", asked=())
    return [short(each) for each in watched.result.news if each.grade == "found"]


def _needs(result: TodayResult, found: Sequence[str]) -> None:
    """List what waits; held runs stand above every page already."""
    lines = [
        *(f"[{plain_markdown(each)}](/review#different)" for each in found),
        *(_linked(each) for each in result.needs if each.sort != "held"),
    ]
    st.subheader("Needs somebody")
    if not lines:
        st.markdown("Nothing else." if result.needs else "Nothing.")
        return
    st.markdown("\n".join(f"- {each}" for each in lines))


def _linked(need: Need) -> str:
    address = run_address(need.about) if need.sort == "held" else "/review#last-actions"
    return f"[{plain_markdown(need.says)}]({address})"


page(book())
