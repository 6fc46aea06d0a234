"""Holding on to what is typed: through a lost connection, a page loaded anew, a service restarted.

Whatever reaches the service is written to a draft before anything else happens. The reference of
the run is in it and in the page's address, so that the same form is the same run wherever it is
sent from, and twice is once.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

import streamlit as st

from dashboards.run_entry.elsewhere import is_of_another
from dashboards.run_entry.held import device, from_before, keep_with_run, photos_words
from dashboards.run_entry.reference import new_reference
from dashboards.run_entry.typed import PREFIX, empty_aside, put, typed
from dashboards.showing import plain_markdown
from logbook.book.draft_photos import hold_again, photos_of_draft
from logbook.book.drafts import (
    Draft,
    draft_of,
    drafts_of,
    forget_draft,
    forget_old_drafts,
    keep_draft,
)
from logbook.book.photos import photos_of
from logbook.book.runs import Logged, now_at
from logbook.errors import LogbookError
from logbook.store import Store

_PASSING = frozenset(
    PREFIX + name
    for name in (
        "logged",
        "logged_at",
        "logged_before",
        "lacks",
        "problem",
        "taken_back",
        "offered",
        "begun",
        "kept",
        "not_kept",
        "resuming",
        "refill",
        "resumed_from",
        "started_at",
        "kinds_asked",
        "why",
        "cleared",
        "tapped",
        "parts_changing",
        "photos_refused",
        "photos_lacking",
    )
)
"""Of this page only; the rest of the form is kept."""
_FLAGS = ("trouble", "describing", "defective_told", "changing_setup", "machine_button")
"""How the form stands open; what is filled in is the rest."""
_PLAIN = str | int | float | datetime


def form_now() -> dict[str, Any]:
    """Everything that stands in the form, by the names of its fields."""
    held = {
        name.removeprefix(PREFIX): value
        for name, value in st.session_state.items()
        if isinstance(name, str) and name.startswith(PREFIX) and name not in _PASSING
    }
    return {name: value for name, value in held.items() if isinstance(value, _PLAIN)}


def remember_the_start() -> None:
    """Take the form as it stands for one in which nothing is typed yet."""
    put("begun", _filled(form_now()))


def keep(store: Store) -> None:
    """Write down what was typed since the last time, if anything was."""
    if typed("resuming") is not None:
        return
    filled = _filled(form_now())
    if filled in (typed("begun"), typed("kept")):
        return
    write_draft(store)
    if typed("not_kept") is None:
        put("kept", filled)


def nothing_is_typed() -> bool:
    """Whether the form is as it was begun, and nothing of it was ever kept."""
    return typed("kept") is None and _filled(form_now()) == typed("begun")


def write_draft(store: Store, *, logged: bool = False) -> None:
    """Write the form down as it stands; where that fails, say so and go on."""
    now = now_at(store)
    draft = Draft(typed("run_ref"), device(), form_now(), now, logged)
    try:
        keep_draft(store, draft)
    except LogbookError as problem:
        put("not_kept", problem)
    else:
        put("not_kept", None)


def take_along(store: Store, before: str, *, of_the_run: bool = False) -> bool:
    """Keep under the reference at hand what was typed under an earlier one, and its photos.

    Parameters
    ----------
    store
        The open book.
    before
        The reference that the same form had; its draft is forgotten once all of it came along.
    of_the_run
        Whether the photos that were logged with it come along, as when the run was taken back.

    Returns
    -------
    bool
        Whether every photo came along; else the page says why, and they are where they were.
    """
    found = photos_of_draft(store, before, device=device())
    if of_the_run:
        found = (*photos_of(store, before), *found)
    write_draft(store)
    try:
        hold_again(store, found, typed("run_ref"), device=device())
    except LogbookError as problem:
        put("photos_refused", (problem,))
        return False
    put("photos_refused", None)
    if typed("not_kept") is None:
        forget_draft(store, before)
    return True


def _filled(form: Mapping[str, Any]) -> dict[str, Any]:
    """What is told in a form; a count of nothing is none, like an empty field."""
    return {
        name: value
        for name, value in form.items()
        if name not in _FLAGS
        and name not in ("run_ref", "pieces_last_time", "settled_at")
        and (isinstance(value, bool) or value not in ("", 0))
    }


def resumed(store: Store, run_ref: str) -> bool:
    """Take up the run that the page's address names, where this device was typing it.

    Where it is in the book, the page says so and starts another one. What this device typed may
    say something else than the window that logged it: then it is offered.
    """
    draft = draft_of(store, run_ref, device=device())
    if draft is None:
        return False
    if store.history(run_ref):
        if run := store.runs(refs=[run_ref]).to_dicts():
            put("logged_before", Logged(run_ref, False, run[0]["needle_parts_found"] is False))
        if is_of_another(store, draft):
            put("offered", draft)
        elif keep_with_run(store, draft):
            forget_draft(store, run_ref)
        return False
    form = dict(draft.typed)
    put("run_ref", run_ref)
    put("resumed_from", draft.kept_at)
    for name in ("machine", "settled_at", "pieces_last_time", *_FLAGS):
        put(name, form.pop(name, None))
    # The browser may hold newer values than ever reached the service: they are looked at once
    # its fields are drawn, and count before these.
    put("resuming", form)
    return True


def settle_resumed() -> None:
    """Fill in what the browser does not hold itself; after the form is drawn for the first time."""
    form = typed("resuming")
    if form is None:
        return
    present = form_now()
    lacking = {
        name: value
        for name, value in form.items()
        if present.get(name) in (None, "") or (present[name] == 0 and present[name] is not False)
    }
    put("resuming", None)
    put("refill", lacking)
    st.rerun()


def refill_resumed() -> None:
    """Fill in what was found to be lacking; before the form is drawn."""
    for name, value in (typed("refill") or {}).items():
        put(name, value)
    put("refill", None)


def look_for_others(store: Store) -> None:
    """Find what this device left half typed, and take away what nobody came back to."""
    forget_old_drafts(store)
    open_: list[Draft] = []
    for draft in drafts_of(store, device=device()):
        if not store.history(draft.run_ref) or is_of_another(store, draft):
            open_.append(draft)
        else:
            # The service was stopped after the run was logged and before its photos were with it.
            keep_with_run(store, draft)
    # What the page's address names was taken up already.
    put("offered", typed("offered") or (open_[0] if open_ else None))


def show_kept(store: Store) -> None:
    """Say what was typed before and is here again, with the way to be rid of it."""
    if typed("not_kept") is not None:
        st.warning(plain_markdown(str(typed("not_kept"))))
    offered: Draft | None = typed("offered")
    if offered is not None:
        st.info(
            f"What you typed {_when(store, offered.kept_at)} was not logged. "
            f"{_logged_meanwhile(store, offered)}{_short(store, offered)}"
        )
        with st.container(horizontal=True, key="offered"):
            st.button("Go on with it", on_click=_go_on, args=(store, offered), key="go_on")
            st.button("Clear it", on_click=_clear, args=(store, offered), key="clear_offered")
    moment: datetime | None = typed("resumed_from")
    if moment is not None:
        with st.container(horizontal=True, vertical_alignment="center", key="resumed"):
            words = f"What you typed {_when(store, moment)} is here. {from_before(store)}"
            st.caption(words.rstrip(), width="stretch")
            st.button("Clear it", on_click=clear_form, args=(store,), key="clear_resumed")


def _when(store: Store, moment: datetime) -> str:
    day = "" if moment.date() == now_at(store).date() else f" on {moment:%A}"
    return f"at {moment:%H:%M}{day}"


def _logged_meanwhile(store: Store, draft: Draft) -> str:
    if not store.history(draft.run_ref):
        return ""
    run_ref = plain_markdown(draft.run_ref)
    return f"Run {run_ref} was, from another window, and says something else. "


def _short(store: Store, draft: Draft) -> str:
    told = [draft.typed.get(name) for name in ("machine", "job", "design")]
    words = plain_markdown(", ".join(str(each) for each in told if each))
    photos = len(photos_of_draft(store, draft.run_ref, device=device()))
    held = f", with {photos_words(photos)}" if photos else ""
    return f"It is of {words or 'a run'}{held}." if words or held else ""


def _go_on(store: Store, draft: Draft) -> None:
    forget_draft(store, typed("run_ref"))
    _empty()
    empty_aside()
    for name, value in draft.typed.items():
        put(name, value)
    put("run_ref", draft.run_ref)
    put("resumed_from", draft.kept_at)
    if is_of_another(store, draft):
        put("run_ref", new_reference())
        put("settled_at", None)
        take_along(store, draft.run_ref)


def _clear(store: Store, draft: Draft) -> None:
    forget_draft(store, draft.run_ref)
    put("offered", None)


def clear_form(store: Store) -> None:
    """Throw away what was typed and start anew."""
    forget_draft(store, typed("run_ref"))
    _empty()
    put("cleared", True)


def _empty() -> None:
    for name in list(st.session_state):
        if isinstance(name, str) and name.startswith(PREFIX):
            del st.session_state[name]
