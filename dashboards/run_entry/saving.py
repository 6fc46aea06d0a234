"""Logging the run at hand once, and taking it back."""

from __future__ import annotations

import re
from html import escape

import streamlit as st

from dashboards.run_entry.setup_words import setup_in_words
from dashboards.run_entry.typed import (
    KEPT,
    inspected,
    is_clean,
    keep_typed,
    key,
    missing,
    new_reference,
    put,
    start_afresh,
    told,
    typed,
)
from dashboards.shared import column_of, explain
from dashboards.showing import plain_markdown
from logbook.answers.runs import Logged, log_run, now_at, withdraw_run
from logbook.errors import LogbookError, RecordError
from logbook.records.columns import columns_with
from logbook.store import Store
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD
from logbook.wording import number

SOURCE = "form"
TAKEN_BACK = "entered by mistake"


def log(store: Store) -> None:
    """Log the run at hand; a second tap on the same run does nothing.

    The reference was made when the form was started and the finish is fixed here, so the very
    same run that comes twice is known to the book and skipped.
    """
    if typed("logged") is not None:
        return
    put("lacks", missing(store))
    put("problem", None)
    if typed("lacks"):
        return
    run = {"finished_at": _finish(store), **told(store)}
    try:
        logged = log_run(store, run, source=SOURCE)
    except RecordError as problem:
        put("settled_at", None)
        put("lacks", {name: in_labels(store, says) for name, says in problem.reasons.items()})
    except LogbookError as problem:
        put("problem", problem)
    else:
        put("logged", logged)
        _remember()


def _finish(store: Store) -> object:
    if typed("settled_at") is None:
        put("settled_at", now_at(store))
    return typed("settled_at")


def _remember() -> None:
    for name in ("machine", "operator"):
        if typed(name):
            st.query_params[name] = typed(name)


def in_labels(store: Store, sentence: str) -> str:
    """Say a rule's sentence with the labels of the fields in place of the columns' names."""
    labels = {each.name: each.label.lower() for each in columns_with(store.shop.own_kinds)}
    said = re.sub(r"\b[a-z]+(_[a-z0-9]+)*\b", lambda word: labels.get(word[0], word[0]), sentence)
    return said[:1].upper() + said[1:]


def show_lacks(store: Store) -> None:
    """Say what still stands in the way of logging the run, field by field."""
    for name, says in (typed("lacks") or {}).items():
        names = [part.strip() for part in name.split(",")]
        labels = ", ".join(column_of(each, store.shop.own_kinds).label for each in names)
        st.error(f"**{plain_markdown(labels)}.** {plain_markdown(says)}")
    if typed("problem") is not None:
        explain(typed("problem"))


def show_logged(store: Store) -> None:
    """Confirm the run, and offer the next one or to take it back."""
    keep_typed()
    logged: Logged = typed("logged")
    run_ref = plain_markdown(logged.run_ref)
    if logged.held:
        st.error(f"**Run {run_ref} is logged and held.** {BROKEN_NEEDLE_HELD}")
    else:
        st.success(f"**Logged.** Run {run_ref}: {plain_markdown(_outcome(store))}.")
    present = {name: typed(name) for name in KEPT}
    st.html(
        f'<div class="setup-card"><p class="work">{escape(typed("machine") or "")}</p>'
        f"<p>{escape(setup_in_words(present))}</p></div>"
    )
    for note in logged.notes:
        st.info(plain_markdown(in_labels(store, note)))
    st.button("Log the next run", type="primary", width="stretch", on_click=start_afresh)
    _ask_take_back(store, logged)


def _outcome(store: Store) -> str:
    pieces = typed("pieces_sewn")
    sewn = f"{number(pieces)} {'piece' if pieces == 1 else 'pieces'} sewn"
    if inspected() != pieces:
        sewn += f", {number(inspected() or 0)} inspected"
    return f"{sewn}, nothing wrong" if is_clean(store.shop.kinds) else f"{sewn}; {counted(store)}"


def counted(store: Store) -> str:
    """Say what was counted as wrong: ``puckering 2, thread breaks 1``."""
    found = [(each.label, typed(each.name)) for each in store.shop.kinds if typed(each.name)]
    return ", ".join(f"{label.lower()} {number(amount)}" for label, amount in found)


def _ask_take_back(store: Store, logged: Logged) -> None:
    with st.expander("This was a mistake: take it back"):
        st.write("The run leaves every count. It stays in the history, with the reason.")
        st.session_state.setdefault(key("why"), TAKEN_BACK)
        st.text_input("Why", key=key("why"))
        st.button(
            f"Take run {plain_markdown(logged.run_ref)} back",
            on_click=_take_back,
            args=(store, logged),
        )
        if typed("problem") is not None:
            explain(typed("problem"))


def _take_back(store: Store, logged: Logged) -> None:
    try:
        withdraw_run(store, logged.run_ref, why=typed("why") or "", source=SOURCE)
    except LogbookError as problem:
        put("problem", problem)
        return
    # What was typed stays, so that it can be put right and logged anew.
    for name in ("logged", "settled_at", "problem"):
        put(name, None)
    put("run_ref", new_reference())
    put("taken_back", logged.run_ref)
