"""The parts of the page of trials: which one, its steps, its card, its loads."""

from __future__ import annotations

from html import escape

import streamlit as st

from dashboards.review_print import print_button
from dashboards.shared import explain, for_reviewers
from dashboards.showing import plain_markdown
from logbook.book.trials import start_trial, trials
from logbook.errors import LogbookError
from logbook.questions.trials.keeping import judge_and_end
from logbook.questions.trials.result import TrialJudged
from logbook.report.trial_card import card_page
from logbook.runs.trials import ARMS, LONGEST_WHY, KeptTrial
from logbook.store import Store

SOURCE = "Trials page"
TOLD, PROBLEM = "trials-told", "trials-problem"
STATES = ("running", "planned", "ended")


def tell() -> None:
    """Say what the last tap did, or why it could not."""
    if (told := st.session_state.pop(TOLD, None)) is not None:
        st.success(plain_markdown(told))
    if (problem := st.session_state.pop(PROBLEM, None)) is not None:
        explain(problem)


def choose(store: Store) -> str | None:
    """Ask which trial to show; those that run come first. None where there is none."""
    newest = trials(store)[::-1]
    kept = [each for state in STATES for each in newest if each.trial.state == state]
    if not kept:
        return None
    words = {each.ref: f"{each.ref}, {each.trial.state}: {each.trial.title}" for each in kept}
    asked = st.query_params.get("trial")
    if asked in words and st.session_state.get("trials-asked") != asked:
        st.session_state["trials-trial"] = asked
    if st.session_state.get("trials-trial") not in words:
        st.session_state["trials-trial"] = kept[0].ref
    chosen: str = st.selectbox(
        "Trial", list(words), format_func=words.__getitem__, key="trials-trial"
    )
    st.query_params["trial"] = st.session_state["trials-asked"] = chosen
    return chosen


def steps(store: Store, judged: TrialJudged) -> None:
    """Start it, or end it."""
    kept = judged.kept
    if kept.trial.state == "ended" or not for_reviewers("Starting or ending a trial"):
        return
    if kept.trial.state == "planned":
        st.button(
            f"Start trial {kept.ref}",
            type="primary",
            width="stretch",
            on_click=_start,
            args=(store, kept),
            key="start-trial",
        )
        return
    with st.expander(f"End trial {kept.ref}", expanded=judged.may_end):
        if not judged.may_end:
            st.caption("It is not decided yet: ended now, it stays open what the change does.")
        st.text_input("What is to be said of it?", max_chars=LONGEST_WHY, key="end-why")
        st.button(
            "End it and keep the verdict",
            width="stretch",
            on_click=_end,
            args=(store, kept),
            key="end-trial",
        )


def card(store: Store, judged: TrialJudged) -> None:
    """Offer the card for the machine, to print or to keep."""
    kept = judged.kept
    if kept.trial.state == "ended":
        return
    page = card_page(kept, shop=store.shop, address=_address())
    with st.container(key="trial-card-ways", horizontal=True, vertical_alignment="center"):
        st.markdown("**Card for the machine**")
        print_button(page, key="print-the-card")
        st.download_button(
            "Save the card",
            page,
            file_name=f"trial-{kept.ref}.html",
            mime="text/html",
            key="save-the-card",
            on_click="ignore",
        )


def order(judged: TrialJudged) -> None:
    """List the loads in the drawn order, what is sewn struck off."""
    trial = judged.kept.trial
    sewn = {each.number: each for each in judged.sewn.pairs}
    rows = []
    for number, first in enumerate(trial.first, start=1):
        second = next(arm for arm in ARMS if arm != first)
        there = sewn.get(number)
        mark, told = ("", "") if there is None else ("sewn", "✓") if there.counts else ("lost", "✗")
        loads = "".join(f"<span>{escape(arm)}</span>" for arm in (first, second))
        rows.append(f'<li class="{mark}"><b>{number}</b>{loads}<i>{told}</i></li>')
    with st.expander(f"Order of the loads, {trial.pieces_per_arm} pieces each"):
        st.html(f'<ul class="load-order">{"".join(rows)}</ul>')
        st.caption(f"Drawn by chance from the number {trial.seed}. ✗: sewn, does not count.")


def _start(store: Store, kept: KeptTrial) -> None:
    try:
        started = start_trial(store, kept, source=SOURCE)
    except LogbookError as problem:
        st.session_state[PROBLEM] = problem
        return
    first = started.trial.arm_words(started.trial.first[0])
    st.session_state[TOLD] = f"{kept.ref} is running. Its loads are offered on Log a run: {first}"


def _end(store: Store, kept: KeptTrial) -> None:
    try:
        ended, _ = judge_and_end(store, kept, why=st.session_state.get("end-why"), source=SOURCE)
    except LogbookError as problem:
        st.session_state[PROBLEM] = problem
        return
    st.session_state[TOLD] = f"{kept.ref} has ended. {ended.trial.says}"


def _address() -> str | None:
    """Where the browser has the pages from; a phone in the shop finds them there too."""
    here = st.context.url
    return None if not here else here.split("/trials")[0].rstrip("/")
