"""How a sheet would be read: its first rows, what is open, what is not understood."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, time
from html import escape
from typing import Any

import streamlit as st

from dashboards.bringing.sent import Sent
from dashboards.run_pages.words import said
from dashboards.shared import day_words
from dashboards.showing import plain_markdown
from logbook.book.bringing_in import Look, ShownRow
from logbook.book.run_words import outcome
from logbook.runs.columns import columns_with
from logbook.runs.sheet_matching.asking import Question
from logbook.store import Store
from logbook.wording import number

SHOWN_ROWS = 3
SHOWN_TEXTS = 8
IN_NOTES = ""


def rows(store: Store, look: Look) -> None:
    """Show the first rows as they stand beside the runs that they would become."""
    cards = "".join(_card(store, row) for row in look.first_rows(SHOWN_ROWS))
    st.html(f'<div class="sheet-rows">{cards}</div>')


def _card(store: Store, row: ShownRow) -> str:
    stands = "".join(_pair(heading, text) for heading, text in row.stands if text)
    if row.run is None:
        becomes = f'<p class="alarm">Not taken: {escape(row.why)}</p>'
    else:
        becomes = f"<dl>{_run(store, row.run)}</dl>"
    return (
        f'<section class="sheet-row"><div><h3>Row {row.number} as it stands</h3>'
        f"<dl>{stands}</dl></div><div><h3>The run that it becomes</h3>{becomes}</div></section>"
    )


def _run(store: Store, run: Mapping[str, Any]) -> str:
    """What a run records, the kinds of defect in a few words."""
    kinds = {kind.name for kind in store.shop.kinds}
    pairs = []
    for column in columns_with(store.shop.own):
        if column.name not in run or column.name == "run_ref" or column.name in kinds:
            continue
        value = run[column.name]
        day_alone = isinstance(value, datetime) and value.time() == time()
        pairs.append(_pair(column.label, day_words(value) if day_alone else said(column, value)))
    return "".join([*pairs, _pair("Counted", outcome(run, store.shop.kinds))])


def _pair(name: str, value: str) -> str:
    return f"<div><dt>{escape(name)}</dt> <dd>{escape(value)}</dd></div>"


def questions(look: Look, sent: Sent) -> bool:
    """Ask what is open, what has fewest answers first; whether nothing is open any more."""
    found = () if look.match is None else look.match.matched.questions
    for question in sorted(found, key=lambda each: len(each.choices)):
        _ask(question, sent)
    if sent.answers:
        given = f"{len(sent.answers)} answer{'s' if len(sent.answers) > 1 else ''} given."
        with st.container(horizontal=True, vertical_alignment="center"):
            st.caption(given)
            if st.button("Ask again"):
                sent.answers.clear()
                st.rerun()
    return not found


def _ask(question: Question, sent: Sent) -> None:
    st.markdown(f"**{plain_markdown(question.asks)}**")
    taken = st.pills(
        question.asks,
        question.choices,
        format_func=lambda choice: plain_markdown(question.said(choice)),
        label_visibility="collapsed",
        key=f"bring {sent.mark} {question.id}",
    )
    if question.free:
        other = st.text_input("Or in your words", key=f"bring {sent.mark} {question.id} words")
        taken = taken or other.strip() or None
    if taken is not None:
        sent.answers[question.id] = taken
        st.rerun()


def not_understood(store: Store, look: Look, sent: Sent) -> None:
    """Ask what words mean that say nothing to the reading; unanswered they stay in the notes."""
    if look.match is None:
        return
    matched = look.match.matched
    means = {column.heading: column.means for column in matched.reading.columns}
    texts = matched.prepared.not_understood
    if not texts:
        return
    kinds = {kind.name: kind.label for kind in store.shop.kinds}
    lists = {c.name: c.choices for c in columns_with(store.shop.own) if c.choices is not None}
    words = "1 wording was" if len(texts) == 1 else f"{number(len(texts))} wordings were"
    with st.expander(f"{words} not understood and would stay in the notes"):
        for text in texts[:SHOWN_TEXTS]:
            column = means.get(text.column) or ""
            choices = lists.get(column)
            labels = {each.value: each.label for each in choices.choices} if choices else kinds
            asked = f"{text.column}: “{text.text}” ({number(text.rows)} rows)"
            if choices is None and column != "reasons":
                st.markdown(plain_markdown(asked))
                continue
            labels = {IN_NOTES: "Stays in the notes"} | labels
            name = f"{column}.{text.text}"
            taken = st.selectbox(
                plain_markdown(asked), list(labels), format_func=labels.__getitem__, key=name
            )
            if taken:
                sent.answers[name] = taken
                st.rerun()
        if len(texts) > SHOWN_TEXTS:
            st.caption(f"And {number(len(texts) - SHOWN_TEXTS)} more.")
