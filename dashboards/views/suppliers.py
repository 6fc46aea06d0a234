"""Suppliers: the answer for the buyer first, the evidence one click away."""

from __future__ import annotations

import streamlit as st

from dashboards.css import heading
from dashboards.question_page import asked_and_answered, figure_of, notes_of, tables_of
from dashboards.shared import book
from dashboards.showing import empty_book, plain_markdown
from logbook.questions.suppliers import QUESTION
from logbook.questions.suppliers.words import headlines

heading(QUESTION.title)
store = book()
if not store.count():
    empty_book(QUESTION.when_empty)
    st.stop()
answer, narrowing = asked_and_answered(QUESTION, store)
for headline in headlines(answer.result):
    st.markdown(f"##### {plain_markdown(headline)}")
if answer.result.kind.measure == "pieces":
    st.caption("A point is one piece in 100: one point above is one more defective in 100.")
if any(row.on_same_jobs for row in answer.result.suppliers):
    figure_of(answer, narrowing)
for warning in answer.pressing:
    st.warning(plain_markdown(warning))
if answer.sentences:
    st.subheader("Supplier by supplier")
    st.markdown("\n".join(f"- {plain_markdown(each)}" for each in answer.sentences))
tables_of(answer, narrowing)
notes_of(answer)
