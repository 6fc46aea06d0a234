"""What was decided: earlier actions with what came of them, and the place to write this week's."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

import streamlit as st

from dashboards.shared import explain, for_reviewers
from dashboards.showing import plain_markdown
from logbook.analysis.review import Decided, ReviewResult
from logbook.analysis.review.decided import NOT_A_TRIAL
from logbook.answers.actions import end_action, write_action
from logbook.answers.runs import now_at
from logbook.calendar_weeks import iso_week
from logbook.errors import LogbookError
from logbook.records.actions import (
    ABOUT,
    LONGEST_NAME,
    LONGEST_WHAT,
    KeptAction,
    State,
    action_from,
)
from logbook.records.columns import COLUMNS, Column
from logbook.store import Store
from logbook.vocabulary import ANY

SOURCE = "Weekly review page"
TOLD, TURN = "review-told", "review-turn"
ALL = ""
WEEKS_TO_DO_IT = 8
ENDS: dict[State, str] = {"done": "It is done", "dropped": "It is dropped"}


def earlier(result: ReviewResult) -> None:
    """List what earlier reviews decided on, and whether it worked."""
    st.subheader("Last actions, and whether they worked", anchor="last-actions")
    if not result.decided_before:
        st.write("No action of an earlier week is written down.")
        return
    st.markdown("\n".join(_line(each) for each in reversed(result.decided_before)))
    if any(each.outcome is not None for each in result.decided_before):
        st.caption(NOT_A_TRIAL)


def this_week(store: Store, result: ReviewResult) -> None:
    """List what this review decided on, and give the one place to write it."""
    st.subheader("This week's action", anchor="this-week")
    if result.decided_now:
        st.markdown("\n".join(_line(each) for each in result.decided_now))
    else:
        st.html('<div class="print-only"><div class="lines"></div><div class="lines"></div></div>')
    with st.container(key="screen-only-action"):
        _tell()
        if not for_reviewers("Writing down an action"):
            return
        _ask_action(store, result)
        unfinished = [each for each in result.decided if each.action.state == "open"]
        if unfinished:
            _ask_end(store, result, unfinished)


def _line(each: Decided) -> str:
    lines = [f"- **{plain_markdown(each.action.what)}**{plain_markdown(each.details)}"]
    lines.append(f"    {plain_markdown(each.standing)}")
    if each.outcome is not None:
        lines.append(f"    {plain_markdown(each.outcome.says)}")
    return "  \n".join(lines)


def _ask_action(store: Store, result: ReviewResult) -> None:
    turn = st.session_state.get(TURN, 0)
    with st.form(f"action-{turn}"):
        what = st.text_area(
            "What will be done?",
            key=f"action-what-{turn}",
            height=96,
            max_chars=LONGEST_WHAT,
            placeholder="Such as: hoop terry towels again when they slip, and put film on top",
        )
        first, second = st.columns(2)
        by = first.text_input("By whom?", key=f"action-by-{turn}", max_chars=LONGEST_NAME)
        due = second.selectbox(
            "Done by the end of week",
            [ALL, *_weeks_to_come(result)],
            format_func=lambda week: week or "Not said",
            key=f"action-due-{turn}",
        )
        kinds = {ALL: "None in particular", ANY.name: ANY.label}
        kinds |= {each.name: each.label for each in store.shop.kinds}
        kind = st.selectbox(
            "Against which defect? Its rate before and since then tells whether it worked",
            list(kinds),
            format_func=kinds.__getitem__,
            key=f"action-kind-{turn}",
        )
        with st.expander("Only one machine, fabric, backing, supplier or design"):
            st.caption(
                "The rates are then taken from these runs alone. Name what stays, not what is "
                "changed."
            )
            where = _ask_about(store, turn)
        if st.form_submit_button("Write it down", type="primary", width="stretch"):
            told = {"what": what, "by": by, "due": due, "kind": kind, **where}
            _write(store, told | {"decided": result.week})


def _ask_about(store: Store, turn: int) -> dict[str, str]:
    columns = {each.name: each for each in COLUMNS}
    return {name: _ask_value(store, columns[name], turn) for name in ABOUT}


def _ask_value(store: Store, column: Column, turn: int) -> str:
    choices = column.choices
    values = store.known(column.name) if choices is None else choices.values
    words = {ALL: "All"}
    words |= {each: each if choices is None else choices.label_of(each) for each in values}
    chosen = st.selectbox(
        column.label,
        list(words),
        format_func=words.__getitem__,
        key=f"action-{column.name}-{turn}",
    )
    return str(chosen)


def _ask_end(store: Store, result: ReviewResult, unfinished: Sequence[Decided]) -> None:
    turn = st.session_state.get(TURN, 0)
    with st.expander("An action is done, or dropped"), st.form(f"ended-{turn}"):
        chosen = st.selectbox(
            "Which action?",
            range(len(unfinished)),
            format_func=lambda place: unfinished[place].action.what,
            key=f"ended-which-{turn}",
        )
        state = st.radio(
            "What became of it?",
            list(ENDS),
            format_func=ENDS.__getitem__,
            horizontal=True,
            key=f"ended-state-{turn}",
        )
        on = st.date_input(
            "On which day?",
            value=max(now_at(store).date(), result.monday),
            format="DD/MM/YYYY",
            key=f"ended-on-{turn}",
        )
        why = st.text_input(
            "What is to be said of it? Where it is dropped: why?",
            max_chars=LONGEST_WHAT,
            key=f"ended-why-{turn}",
        )
        if st.form_submit_button("Keep it", width="stretch"):
            _end(store, unfinished[chosen].kept, state, why, on)


def _write(store: Store, told: Mapping[str, object]) -> None:
    try:
        kept = write_action(store, action_from(told), source=SOURCE)
    except LogbookError as problem:
        explain(problem)
        return
    _begin_anew(f"Written down: {kept.action.what}")


def _end(store: Store, seen: KeptAction, state: State, why: str, on: date) -> None:
    try:
        end_action(store, seen, state=state, why=why, source=SOURCE, on=on)
    except LogbookError as problem:
        explain(problem)
        return
    _begin_anew(f"{ENDS[state]}: {seen.action.what}")


def _begin_anew(told: str) -> None:
    """Draw the page again with empty fields; what was typed stays where something was refused."""
    st.session_state[TOLD] = told
    st.session_state[TURN] = st.session_state.get(TURN, 0) + 1
    st.rerun()


def _tell() -> None:
    told = st.session_state.pop(TOLD, None)
    if told is not None:
        st.success(plain_markdown(told))


def _weeks_to_come(result: ReviewResult) -> list[str]:
    return [iso_week(result.monday + timedelta(weeks=each)) for each in range(WEEKS_TO_DO_IT + 1)]
