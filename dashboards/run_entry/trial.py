"""The load of a trial that is next, offered where a run is of the trial's work: one tap."""

from __future__ import annotations

from html import escape

import streamlit as st

from dashboards.remembered import answer_of
from dashboards.run_entry.typed import KEPT, pieces_words, put, typed
from dashboards.showing import plain_markdown
from logbook.book.trials import sewn_of, trial_named, trials
from logbook.runs.columns import COLUMNS
from logbook.runs.trial_pairs import NextLoad, SewnTrial, next_load
from logbook.runs.trials import KeptTrial, arm_named
from logbook.store import Store

ADDRESS = "trial"
"""What the address calls the trial that a card opened the form for."""
_FILLED = {each.name for each in COLUMNS}


def offer_trial(store: Store) -> None:
    """Say which load the run at hand is, or offer the next one of a trial that it belongs to."""
    if (ref := typed("trial")) is not None:
        _say_load(store, ref)
        return
    for kept in _meant(store):
        if kept.trial.state == "planned":
            st.info(f"Trial {kept.ref} is planned, not started: a reviewer starts it on *Trials*.")
            continue
        load = next_load(kept.trial, _sewn(store, kept.ref), typed("machine"))
        if load is None:
            st.info(f"Trial {kept.ref}: all pairs are sewn. *Trials* says what came of it.")
        else:
            _offer(kept, load)


def _meant(store: Store) -> tuple[KeptTrial, ...]:
    """The trial that the address names, else running ones of this work."""
    kept = answer_of(_trials, store)
    asked = st.query_params.get(ADDRESS, "").casefold()
    named = tuple(
        each for each in kept if each.ref.casefold() == asked and each.trial.state != "ended"
    )
    run = {name: typed(name) for name in ("machine", *KEPT)}
    return named or tuple(
        each for each in kept if each.trial.state == "running" and each.trial.is_of(run)
    )


def _offer(kept: KeptTrial, load: NextLoad) -> None:
    half = 2 if load.second else 1
    st.html(
        f'<div class="trial-card"><p class="work">Trial {escape(kept.ref)} · pair {load.pair}, '
        f"load {half} of 2</p><p>{escape(pieces_words(load.pieces))} "
        f"<strong>{escape(kept.trial.arm_words(load.arm))}</strong></p></div>"
    )
    # By its key it stays the same button whatever load is next.
    st.button(
        f"Sew this load: {load.arm}",
        key=f"take_load_{kept.ref}",
        width="stretch",
        on_click=_take,
        args=(kept, load),
    )


def _take(kept: KeptTrial, load: NextLoad) -> None:
    for name, value in {**kept.trial.scope, **kept.trial.setting(load.arm)}.items():
        if name in _FILLED:
            put(name, value)
    put("trial", kept.ref)
    put("trial_arm", load.arm)
    put("pieces_sewn", load.pieces)


def _say_load(store: Store, ref: str) -> None:
    arm = arm_named(typed("trial_arm"))
    known = [each for each in answer_of(_trials, store) if each.ref == ref]
    words = known[0].trial.arm_words(arm) if known and arm else str(typed("trial_arm") or "")
    with st.container(key="in-trial"):
        st.html(
            f'<div class="trial-card taken"><p class="work">In trial {escape(ref)}</p>'
            f"<p><strong>{escape(words)}</strong></p></div>"
        )
        st.button("Not in the trial", on_click=leave_trial, key="leave_trial")
    if not known or arm is None:
        return
    run = {name: typed(name) for name in ("machine", *KEPT)}
    shows = known[0].trial.arm_sewn(run)
    if shows not in (None, arm):
        says = "is of neither arm" if shows == "neither" else f"is “{shows}”"
        st.warning(
            f"The setup on this form {says}, the load is “{plain_markdown(arm)}”. What was really "
            "sewn counts: mend the setup, or leave the trial."
        )


def leave_trial() -> None:
    """Log the run at hand as any other."""
    put("trial", None)
    put("trial_arm", None)


def _trials(store: Store) -> tuple[KeptTrial, ...]:
    return trials(store)


def _sewn(store: Store, ref: str) -> SewnTrial:
    return answer_of(_sewn_of, store, ref=ref)


def _sewn_of(store: Store, *, ref: str) -> SewnTrial:
    return sewn_of(store, trial_named(store, ref))
