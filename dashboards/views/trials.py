"""Trials: one change tried fairly, planned, sewn, judged; what each one said."""

from __future__ import annotations

from typing import Any

import streamlit as st

from dashboards import question_page, trial_parts, trial_planning
from dashboards.css import heading
from dashboards.narrowing import Narrowing
from dashboards.remembered import answer_of
from dashboards.shared import book
from dashboards.showing import empty_book, plain_markdown, show_figure
from logbook.questions.answer import Answer
from logbook.questions.trials import QUESTION
from logbook.report.tables import table_html
from logbook.store import Store


def page(store: Store) -> None:
    """Draw the chosen trial, then the place to plan another one."""
    heading(QUESTION.title)
    if not store.count():
        empty_book(QUESTION.when_empty)
        return
    trial_parts.tell()
    ref = trial_parts.choose(store)
    if ref is None:
        st.markdown(
            "Change **one** thing, sew loads both ways in turn, and compare. The tool draws the "
            "order, the form offers each load, and this page says *take it*, *leave it* or *cannot "
            "tell*."
        )
    else:
        _one(store, ref)
    trial_planning.ask(store, unfolded=ref is None)


def _one(store: Store, ref: str) -> None:
    asked = (("trial", ref),)
    answer = answer_of(question_page.answered, store, name=QUESTION.name, asked=asked)
    judged = answer.result.judged
    st.caption(plain_markdown(judged.kept.trial.title))
    st.markdown(f"##### {plain_markdown(answer.headline)}")
    for warning in answer.pressing:
        st.warning(plain_markdown(warning))
    if judged.kept.trial.state != "planned":
        show_figure(_drawn, answer, key=f"trial-{ref}")
    st.markdown("\n".join(f"- {plain_markdown(each)}" for each in answer.sentences))
    trial_parts.steps(store, judged)
    if judged.kinds:
        st.html(table_html(answer.tables[0]))
        st.caption(plain_markdown(answer.tables[0].legend))
    question_page.sections_of(answer)
    trial_parts.card(store, judged)
    trial_parts.order(judged)
    question_page.evidence_of(answer, Narrowing())
    question_page.notes_of(answer)


def _drawn(answer: Answer[Any], *, dark: bool) -> Any:
    return answer.figure(dark=dark)


page(book())
