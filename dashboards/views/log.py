"""Log a run: what was sewn, with what, and what went wrong."""

from __future__ import annotations

import streamlit as st

from dashboards.css import heading
from dashboards.run_entry import change, check, counts, held, kept, photos, saving, setup
from dashboards.run_entry.aside import ask_aside
from dashboards.run_entry.fields import take_left
from dashboards.run_entry.listening import begin_at_the_top, listen
from dashboards.run_entry.starting import begin
from dashboards.run_entry.trial import offer_trial
from dashboards.run_entry.typed import inspected, is_clean, pieces_words, put, typed
from dashboards.shared import book
from dashboards.showing import plain_markdown
from logbook.store import Store


def page(store: Store) -> None:
    """Draw the form, or the confirmation of the run just logged."""
    heading("Log a run")
    begin(store)
    begin_at_the_top(f"{typed('run_ref')} {typed('logged') is not None}")
    if typed("logged") is not None:
        saving.show_logged(store)
        return
    kept.refill_resumed()
    if typed("tapped"):
        put("tapped", None)
        saving.log(store)
        st.rerun()
    kept.keep(store)
    say_first(store)
    setup.choose_machine(store)
    offer_trial(store)
    asked = change.ask_what_changes(store) if typed("asked_what_changes") else ()
    setup.setup_summary(store, asked)
    check.show_rules(store)
    if typed("changing_setup"):
        change.say_change()
    counts.ask_pieces()
    if typed("trouble"):
        counts.ask_trouble(store)
    if typed("trouble") or held.held(store) or typed("photos_refused"):
        photos.ask_photos(store)
    ask_to_log(store)
    ask_aside(store)
    saving.show_before(store)
    listen(lambda label, words: take_left(store, label, words))
    kept.settle_resumed()


def say_first(store: Store) -> None:
    """What has to be known before anything is typed."""
    kept.show_kept(store)
    saving.say_before()
    held.say_lacking(store)
    if typed("taken_back"):
        st.info(
            f"Run {plain_markdown(typed('taken_back'))} was taken back. "
            "What was typed is still here."
        )
    if not store.count():
        st.info(
            "This book is empty. Describe the first run once; the next one starts from it, and "
            "a clean run is then a single tap."
        )


def ask_to_log(store: Store) -> None:
    """Draw the one big button, whose words say what will be logged."""
    clean = is_clean(store.shop.kinds)
    saving.show_lacks(store)
    # By its key it stays the same button whatever its words: a tap is never lost to a new one.
    with st.container(key="log"):
        tapped = st.button(
            words_to_log(store),
            type="primary",
            width="stretch",
            on_click=saving.log,
            args=(store,),
            key="log_it",
        )
    # A service that was started anew hears of the tap before it has taken up the run.
    if tapped and typed("resuming") is not None:
        put("tapped", True)
    if not typed("trouble"):
        st.button("Something went wrong", width="stretch", on_click=put, args=("trouble", True))
    elif clean:
        st.button("Nothing after all", width="stretch", on_click=put, args=("trouble", False))
    if not typed("changing_setup") and store.count():
        change.offer_change()


def words_to_log(store: Store) -> str:
    """Say what a tap will log."""
    pieces = typed("pieces_sewn")
    if typed("changing_setup"):
        return change.change_words()
    if not is_clean(store.shop.kinds):
        counted = plain_markdown(saving.counted(store)) or "as counted"
        return f"{'Log and hold' if typed('needle_parts_found') is False else 'Log it'}: {counted}"
    if not pieces:
        return "Clean run: log it"
    seen = ", all inspected" if typed("sampled_last_time") and inspected() == pieces else ""
    return f"Clean run: log {pieces_words(pieces)}{seen}"


page(book())
