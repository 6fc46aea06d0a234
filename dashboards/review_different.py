"""What is different, at the head of the review: each finding with its picture and buttons."""

from __future__ import annotations

from urllib.parse import urlencode

import streamlit as st

from dashboards.shared import explain, role
from dashboards.showing import plain_markdown, show_figure
from logbook.book.actions import write_action
from logbook.book.known_findings import forget_known, keep_known
from logbook.calendar_weeks import iso_week
from logbook.errors import LogbookError
from logbook.questions.trials.wishes import CHANGEABLE
from logbook.questions.watch.figure import course
from logbook.questions.watch.result import Finding, WatchResult
from logbook.questions.watch.words import PRACTICE, grade, headline
from logbook.questions.watch.words.findings import (
    beside,
    cautions,
    figures,
    known,
    look_first,
    news,
    short,
    tells_apart,
)
from logbook.runs.actions import ABOUT, LONGEST_WHAT, action_from
from logbook.runs.known_findings import KnownFinding
from logbook.store import Store

SOURCE = "Weekly review page"
IN_SIGHT = 3
TOLD, PROBLEM = "different-told", "different-problem"


def what_is_different(store: Store, result: WatchResult | None) -> None:
    """Draw the findings, news in the open; what is known and the rest are folded."""
    if result is None or result.looked_at.levels == 0:
        return
    st.subheader("What is different", anchor="different")
    if (told := st.session_state.pop(TOLD, None)) is not None:
        st.success(plain_markdown(told))
    if (problem := st.session_state.pop(PROBLEM, None)) is not None:
        explain(problem)
    if not result.news:
        st.write(plain_markdown(headline(result)))
    for place, each in enumerate(result.news[:IN_SIGHT]):
        _finding(store, result, each, place)
    folded = (*result.news[IN_SIGHT:], *(each for each in result.findings if each.known))
    for place, each in enumerate(folded, start=IN_SIGHT):
        with st.expander(plain_markdown(f"{short(each)} ({grade(each)})")):
            _finding(store, result, each, place)


def _finding(store: Store, result: WatchResult, each: Finding, place: int) -> None:
    with st.container(key=f"different-{place}"):
        st.markdown(f"**{plain_markdown(news(each))}**")
        show_figure(course, each, key=f"different-{result.week}-{place}")
        told = (figures(each, result.currency), known(each), beside(each), tells_apart(each))
        st.caption(plain_markdown(" ".join(line for line in told if line)))
        with st.expander("Where to look first (common practice)"):
            st.markdown("\n".join(f"- {plain_markdown(line)}" for line in look_first(each)))
            st.caption(PRACTICE)
            for caution in cautions(each):
                st.warning(plain_markdown(caution))
        if role() == "reviewer":
            _buttons(store, result, each, place)


def _buttons(store: Store, result: WatchResult, each: Finding, place: int) -> None:
    asked = (store, result, each)
    if each.known is not None:
        if each.known.how == "said":
            st.button(
                "Look for it again", key=f"different-again-{place}", on_click=_again, args=asked
            )
        return
    with st.container(key=f"screen-only-different-{place}", horizontal=True):
        st.button(
            "Make it this week's action",
            key=f"different-action-{place}",
            on_click=_act,
            args=asked,
        )
        st.button("Known", key=f"different-known-{place}", on_click=_know, args=asked)
    if (address := trial_address(each)) is not None:
        st.markdown(f"[Plan a fair trial of another setting]({address})")


def trial_address(each: Finding) -> str | None:
    """Where a trial against what was found is planned; None where no one setting is worse."""
    settings = [name for name in each.level if name in CHANGEABLE]
    if each.direction != "above" or len(settings) != 1 or "backing_lot" in each.level:
        return None
    [factor] = settings
    told = {"factor": factor, "before": str(each.level[factor])}
    told |= {name: str(each.level[name]) for name in ("fabric", "design") if name in each.level}
    return "/trials?" + urlencode(told)


def _act(store: Store, result: WatchResult, each: Finding) -> None:
    about = {name: str(value) for name, value in each.level.items() if name in ABOUT}
    what = f"{short(each)}. {look_first(each)[0]}"[:LONGEST_WHAT]
    plain = {"what": what, "decided": result.week, "kind": each.kind.name, **about}
    try:
        kept = write_action(store, action_from(plain), source=SOURCE)
        keep_known(store, _as_known(result, each, action=kept.ref), source=SOURCE)
    except LogbookError as problem:
        st.session_state[PROBLEM] = problem
        return
    st.session_state[TOLD] = "Written down as this week's action; followed until it is done."


def _know(store: Store, result: WatchResult, each: Finding) -> None:
    try:
        keep_known(store, _as_known(result, each), source=SOURCE)
    except LogbookError as problem:
        st.session_state[PROBLEM] = problem
        return
    st.session_state[TOLD] = f"Known from now on, and followed: {short(each)}."


def _again(store: Store, result: WatchResult, each: Finding) -> None:  # noqa: ARG001 - one shape
    try:
        forget_known(store, each.ref, source=SOURCE)
    except LogbookError as problem:
        st.session_state[PROBLEM] = problem


def _as_known(result: WatchResult, each: Finding, *, action: str | None = None) -> KnownFinding:
    weeks = each.recurrence_weeks
    return KnownFinding(
        kind=each.kind.name,
        direction=each.direction,
        level=each.level,
        since=iso_week(each.since),
        said=result.week,
        action=action,
        grade=each.grade,
        recurrence_weeks=weeks if weeks == weeks else None,
    )
