"""Logging the run at hand once, and taking it back."""

from __future__ import annotations

import re
import time
from html import escape
from urllib.parse import quote

import streamlit as st

from dashboards.marks_form import can_be_marked, marks_form
from dashboards.run_entry.change import start_changed
from dashboards.run_entry.drawn import of_this_design
from dashboards.run_entry.elsewhere import SOURCE
from dashboards.run_entry.held import device, photos_words, say_lacking
from dashboards.run_entry.kept import clear_form, take_along, write_draft
from dashboards.run_entry.photos import keep_photos
from dashboards.run_entry.reference import new_reference
from dashboards.run_entry.setup import WHICH_MACHINE, lacking_machine
from dashboards.run_entry.setup_words import setup_in_words
from dashboards.run_entry.starting import start_next
from dashboards.run_entry.typed import (
    KEPT,
    inspected,
    is_clean,
    keep_typed,
    key,
    missing,
    pieces_words,
    put,
    told,
    typed,
)
from dashboards.shared import column_of, explain
from dashboards.showing import plain_markdown
from logbook.book.drafts import draft_of, forget_draft
from logbook.book.photos import photos_of
from logbook.book.runs import Logged, log_run, now_at, withdraw_run
from logbook.errors import LogbookError, RecordError, RunConflict
from logbook.runs.columns import columns_with
from logbook.store import Store
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD
from logbook.wording import number

TAKEN_BACK = "entered by mistake"
SHORTEST_RUN_SECONDS = 1.0
"""A tap sooner than this after the form was opened was meant for what stood there before."""


def log(store: Store) -> None:
    """Log the run at hand; a second tap on the same run does nothing.

    The reference was made when the form was started and the finish is fixed here, so the very
    same run that comes twice is known to the book and skipped.
    """
    if typed("logged") is not None or _slipped():
        return
    put("lacks", missing(store) | lacking_machine(store))
    put("problem", None)
    if typed("lacks"):
        put("refused", (typed("refused") or 0) + 1)
        return
    run = of_this_design(store, {"finished_at": _finish(store), **told(store)})
    # Before it is sent: should the answer be lost, the page knows the run again by its reference.
    write_draft(store)
    try:
        logged = log_run(store, run, source=SOURCE)
    except RecordError as problem:
        put("settled_at", None)
        put("lacks", {name: in_labels(store, says) for name, says in problem.reasons.items()})
    except LogbookError as problem:
        put("problem", problem)
    else:
        put("logged", logged)
        put("logged_at", now_at(store))
        # First: until the draft says that the run is logged, its photos are looked for.
        keep_photos(store, logged.run_ref)
        write_draft(store, logged=True)
        _remember()
        if typed("changing_setup") and not logged.held:
            start_changed(logged)


def _slipped() -> bool:
    started = typed("started_at")
    return started is not None and time.monotonic() - started < SHORTEST_RUN_SECONDS


def _finish(store: Store) -> object:
    if typed("settled_at") is None:
        put("settled_at", _finish_elsewhere(store) or now_at(store))
    return typed("settled_at")


def _finish_elsewhere(store: Store) -> object:
    """The finish with which another window logged this very run."""
    draft = draft_of(store, typed("run_ref"), device=device())
    return draft.typed.get("settled_at") if draft is not None and draft.logged else None


def _remember() -> None:
    for name in ("machine", "operator"):
        if typed(name):
            st.query_params[name] = typed(name)


def in_labels(store: Store, sentence: str) -> str:
    """Say a rule's sentence with the labels of the fields in place of the columns' names."""
    labels = {each.name: each.label.lower() for each in columns_with(store.shop.own)}
    said = re.sub(r"\b[a-z]+(_[a-z0-9]+)*\b", lambda word: labels.get(word[0], word[0]), sentence)
    return said[:1].upper() + said[1:]


def show_lacks(store: Store) -> None:
    """Say what still stands in the way of logging the run, field by field."""
    for name, says in (typed("lacks") or {}).items():
        if says == WHICH_MACHINE:
            continue  # it stands beside its field
        names = [part.strip() for part in name.split(",")]
        labels = ", ".join(column_of(each, store.shop.own).label for each in names)
        st.error(f"**{plain_markdown(labels)}.** {plain_markdown(says)}")
    problem = typed("problem")
    if isinstance(problem, RunConflict):
        _say_logged_elsewhere(store)
    elif problem is not None:
        explain(problem)


def _say_logged_elsewhere(store: Store) -> None:
    """The same form was sent from another window, and other numbers stand in this one."""
    run_ref = typed("run_ref")
    address = quote(run_ref, safe="")
    with_it = photos_of(store, run_ref)
    photos = f" The photos are with run {plain_markdown(run_ref)}." if with_it else ""
    st.error(
        f"**Nothing was logged a second time.** Run {plain_markdown(run_ref)} was logged from "
        "another window, and says something else than this page. "
        f"[Open it](/runs?run={address}) to look, and to correct it.{photos}"
    )
    with st.container(horizontal=True, key="elsewhere"):
        st.button("These were other pieces: log them too", on_click=_as_another, args=(store,))
        st.button("Clear what stands here", on_click=clear_form, args=(store,))


def _as_another(store: Store) -> None:
    before, settled_at = typed("run_ref"), typed("settled_at")
    put("run_ref", new_reference())
    put("settled_at", None)
    if take_along(store, before):
        log(store)
        return
    # Without its photos nothing is logged: the form stays what it was, to be tried again.
    forget_draft(store, typed("run_ref"))
    put("run_ref", before)
    put("settled_at", settled_at)


def show_logged(store: Store) -> None:
    """Confirm the run, and offer the next one or to take it back."""
    keep_typed()
    logged: Logged = typed("logged")
    if logged.held:
        _say_held(logged)
    else:
        run_ref = plain_markdown(logged.run_ref)
        st.success(f"**Logged.** Run {run_ref}: {plain_markdown(_outcome(store))}.")
    present = {name: typed(name) for name in KEPT}
    st.html(
        f'<div class="setup-card"><p class="work">{escape(typed("machine") or "")}</p>'
        f"<p>{escape(setup_in_words(present))}</p></div>"
    )
    if with_it := len(photos_of(store, logged.run_ref)):
        st.markdown(f"{photos_words(with_it)} kept with it.")
    for note in logged.notes:
        st.info(plain_markdown(in_labels(store, note)))
    say_lacking(store)
    if typed("changing_setup"):
        words, then, args = "Change the setup and go on", start_changed, (logged,)
        st.button(words, type="primary", width="stretch", on_click=then, args=args)
    else:
        words = "Log the next run"
        st.button(words, type="primary", width="stretch", on_click=start_next)
    _ask_places(store, logged)
    _ask_take_back(store, logged)


def _ask_places(store: Store, logged: Logged) -> None:
    """Where it showed: asked after the run is safe, so that nobody has to."""
    found = store.runs(refs=[logged.run_ref])
    if found.is_empty():
        return
    run = found.row(0, named=True)
    design = run["design"]
    seen = any(run[each.name] for each in store.shop.kinds if each.measure == "pieces")
    if seen and design is not None and run["design_version"] is None:
        st.caption(
            f"Places can be marked once {plain_markdown(design)} has a stitch file: add it on "
            "*Designs*."
        )
    if can_be_marked(store, run):
        with st.expander(
            "If there is time: where on the design was it?", expanded=True, key="where"
        ):
            marks_form(store, run)


def _say_held(logged: Logged) -> None:
    run_ref = plain_markdown(logged.run_ref)
    address = quote(logged.run_ref, safe="")
    st.error(f"**Run {run_ref} is logged and held.** {BROKEN_NEEDLE_HELD}")
    st.markdown(
        "**Now:**\n"
        "1. Leave the machine stopped, and the pieces and the hoop where they are.\n"
        "2. Tell the manager, and search until every part is found.\n"
        f"3. Then a reviewer releases the run: [open run {run_ref}](/runs?run={address}), "
        "*Every needle part is found: release the run*."
    )


def say_before() -> None:
    """Above the form, where it has to be known: what became of the run before this one."""
    logged: Logged | None = typed("logged_before")
    if logged is None:
        return
    run_ref = plain_markdown(logged.run_ref)
    if logged.held:
        st.error(f"Run {run_ref} is logged and held until every needle part is found.")
    elif not logged.added or typed("asked_what_changes"):
        st.success(f"Run {run_ref} is logged. This is the next one.")


def show_before(store: Store) -> None:
    """Below the form: the run logged before this one can still be taken back."""
    logged: Logged | None = typed("logged_before")
    if logged is not None and logged.added:
        _ask_take_back(store, logged)


def _outcome(store: Store) -> str:
    pieces = typed("pieces_sewn")
    sewn = f"{pieces_words(pieces)} sewn"
    if inspected() != pieces:
        sewn += f", {number(inspected() or 0)} inspected"
    return f"{sewn}, nothing wrong" if is_clean(store.shop.kinds) else f"{sewn}; {counted(store)}"


def counted(store: Store) -> str:
    """Say what was counted as wrong: ``puckering 2, thread breaks 1``."""
    found = [(each.label, typed(each.name)) for each in store.shop.kinds if typed(each.name)]
    return ", ".join(f"{label.lower()} {number(amount)}" for label, amount in found)


def _ask_take_back(store: Store, logged: Logged) -> None:
    run_ref = plain_markdown(logged.run_ref)
    present = typed("logged") is not None
    words = "This was a mistake: take it back" if present else f"The run before: {run_ref}"
    with st.expander(words):
        st.write("The run leaves every count. It stays in the history, with the reason.")
        st.session_state.setdefault(key("why"), TAKEN_BACK)
        st.text_input("Why", key=key("why"))
        st.button(f"Take run {run_ref} back", on_click=_take_back, args=(store, logged))
        if typed("problem") is not None:
            explain(typed("problem"))


def _take_back(store: Store, logged: Logged) -> None:
    try:
        withdraw_run(store, logged.run_ref, why=typed("why") or "", source=SOURCE)
    except LogbookError as problem:
        put("problem", problem)
        return
    put("problem", None)
    put("taken_back", logged.run_ref)
    if typed("logged") is None:
        forget_draft(store, logged.run_ref)
        put("logged_before", None)
        return
    # What was typed stays, so that it can be put right and logged anew.
    for name in ("logged", "settled_at"):
        put(name, None)
    put("run_ref", new_reference())
    take_along(store, logged.run_ref, of_the_run=True)
