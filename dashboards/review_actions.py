"""What was decided: earlier actions with what came of them, and the place to write this week's."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

import streamlit as st

from dashboards import review_titles
from dashboards.shared import explain, for_reviewers
from dashboards.showing import plain_markdown
from logbook.book.actions import end_action, write_action
from logbook.book.runs import now_at
from logbook.calendar_weeks import iso_week
from logbook.errors import LogbookError
from logbook.questions.review.decided import NOT_A_TRIAL, Decided
from logbook.questions.review.reviewed import ReviewedWeek
from logbook.runs.actions import (
    ABOUT,
    LONGEST_NAME,
    LONGEST_WHAT,
    KeptAction,
    State,
    action_from,
)
from logbook.runs.columns import COLUMNS, Column
from logbook.store import Store
from logbook.vocabulary import ANY

SOURCE = "Weekly review page"
TOLD, TURN, PROBLEM = "review-told", "review-turn", "review-problem"
ALL = ""
WEEKS_TO_DO_IT = 8
ACTIONS_IN_SIGHT = 3
ENDS: dict[State, str] = {"done": "It is done", "dropped": "It is dropped"}


def earlier(result: ReviewedWeek) -> None:
    """List what earlier reviews decided on, and whether it worked."""
    st.subheader("Last actions, and whether they worked", anchor="last-actions")
    if not result.decided_before:
        st.write("No action of an earlier week is written down.")
        return
    newest = result.decided_before[::-1]
    # One alone is not worth folding.
    seen = ACTIONS_IN_SIGHT if len(newest) > ACTIONS_IN_SIGHT + 1 else len(newest)
    st.markdown("\n".join(_line(each) for each in newest[:seen]))
    if rest := newest[seen:]:
        with st.expander(plain_markdown(review_titles.actions_before(rest))):
            st.markdown("\n".join(_line(each) for each in rest))
    if any(each.outcome is not None for each in result.decided_before):
        st.caption(NOT_A_TRIAL)


def this_week(store: Store, result: ReviewedWeek) -> None:
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


def _ask_action(store: Store, result: ReviewedWeek) -> None:
    turn = st.session_state.get(TURN, 0)
    with st.form(f"action-{turn}"):
        st.text_area(
            "What will be done?",
            key=f"action-what-{turn}",
            height=96,
            max_chars=LONGEST_WHAT,
            placeholder="Such as: hoop terry towels again when they slip, and put film on top",
        )
        with st.container(key="action-by-when"):
            first, second = st.columns(2, vertical_alignment="bottom")
        first.text_input("By whom?", key=f"action-by-{turn}", max_chars=LONGEST_NAME)
        second.selectbox(
            "Done by end of week",
            [ALL, *_weeks_to_come(result)],
            format_func=lambda week: week or "Not said",
            key=f"action-due-{turn}",
        )
        kinds = {ALL: "None in particular", ANY.name: ANY.label}
        kinds |= {each.name: each.label for each in store.shop.kinds}
        st.selectbox(
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
            for column in COLUMNS:
                if column.name in ABOUT:
                    _ask_value(store, column, turn)
        # By a callback: a button that the page itself reads is missed where the page is drawn
        # anew before it came so far.
        st.form_submit_button(
            "Write it down",
            type="primary",
            width="stretch",
            on_click=_write,
            args=(store, result.week, turn),
        )


def _ask_value(store: Store, column: Column, turn: int) -> None:
    choices = column.choices
    values = store.known(column.name) if choices is None else choices.values
    words = {ALL: "All"}
    words |= {each: each if choices is None else choices.label_of(each) for each in values}
    st.selectbox(
        column.label,
        list(words),
        format_func=words.__getitem__,
        key=f"action-{column.name}-{turn}",
    )


def _ask_end(store: Store, result: ReviewedWeek, unfinished: Sequence[Decided]) -> None:
    turn = st.session_state.get(TURN, 0)
    with st.expander("An action is done, or dropped"), st.form(f"ended-{turn}"):
        st.selectbox(
            "Which action?",
            range(len(unfinished)),
            format_func=lambda place: unfinished[place].action.what,
            key=f"ended-which-{turn}",
        )
        st.radio(
            "What became of it?",
            list(ENDS),
            format_func=ENDS.__getitem__,
            horizontal=True,
            key=f"ended-state-{turn}",
        )
        st.date_input(
            "On which day?",
            value=max(now_at(store).date(), result.monday),
            format="DD/MM/YYYY",
            key=f"ended-on-{turn}",
        )
        st.text_input(
            "What is to be said of it? Where it is dropped: why?",
            max_chars=LONGEST_WHAT,
            key=f"ended-why-{turn}",
        )
        st.form_submit_button(
            "Keep it",
            width="stretch",
            on_click=_end,
            args=(store, [each.kept for each in unfinished], turn),
        )


def _write(store: Store, week: str, turn: int) -> None:
    fields = ("what", "by", "due", "kind", *ABOUT)
    told = {name: st.session_state[f"action-{name}-{turn}"] for name in fields}
    try:
        kept = write_action(store, action_from(told | {"decided": week}), source=SOURCE)
    except LogbookError as problem:
        st.session_state[PROBLEM] = problem
        return
    _begin_anew(f"Written down: {kept.action.what}")


def _end(store: Store, unfinished: Sequence[KeptAction], turn: int) -> None:
    told = {
        name: st.session_state[f"ended-{name}-{turn}"] for name in ("which", "state", "on", "why")
    }
    seen, state = unfinished[told["which"]], told["state"]
    try:
        end_action(store, seen, state=state, why=told["why"], source=SOURCE, on=told["on"])
    except LogbookError as problem:
        st.session_state[PROBLEM] = problem
        return
    _begin_anew(f"{ENDS[state]}: {seen.action.what}")


def _begin_anew(told: str) -> None:
    """Draw the fields empty; what was typed stays where something was refused."""
    st.session_state[TOLD] = told
    st.session_state[TURN] = st.session_state.get(TURN, 0) + 1


def _tell() -> None:
    if (told := st.session_state.pop(TOLD, None)) is not None:
        st.success(plain_markdown(told))
    if (problem := st.session_state.pop(PROBLEM, None)) is not None:
        explain(problem)


def _weeks_to_come(result: ReviewedWeek) -> list[str]:
    return [iso_week(result.monday + timedelta(weeks=each)) for each in range(WEEKS_TO_DO_IT + 1)]
