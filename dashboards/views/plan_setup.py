"""Plan a setup: what the record favours for a job, by how much, on what evidence."""

from __future__ import annotations

import streamlit as st

from dashboards import plan_parts, question_page
from dashboards.css import heading
from dashboards.shared import book
from dashboards.showing import empty_book
from logbook.questions.advice import QUESTION

heading(QUESTION.title)
store = book()
if not store.count():
    empty_book(QUESTION.when_empty)
    st.stop()
if not store.known("fabric"):
    st.info(
        "No run in this book names its fabric yet. Once runs do, setups are suggested here from "
        "your own record: name the fabric on **Log a run**, or correct runs on **Runs**."
    )
    st.stop()
answer, narrowing = question_page.asked_and_answered(QUESTION, store)
plan_parts.answer(answer.result)
plan_parts.suggestions(answer.result, narrowing)
plan_parts.rules(answer.result)
question_page.notes_of(answer)
