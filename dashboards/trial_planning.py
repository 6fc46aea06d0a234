"""The place to plan a trial: what is tried, on which work, what it takes, and keeping it."""

from __future__ import annotations

from typing import Any

import streamlit as st

from dashboards.shared import for_reviewers
from dashboards.showing import plain_markdown
from dashboards.trial_parts import PROBLEM, SOURCE, TOLD
from logbook.errors import LogbookError
from logbook.questions.trials.keeping import plan_and_keep
from logbook.questions.trials.plan_words import finding, plan_notes
from logbook.questions.trials.planning import PlannedTrial
from logbook.questions.trials.wishes import CHANGEABLE
from logbook.runs.columns import COLUMNS, Column
from logbook.store import Store
from logbook.vocabulary.defects import ANY

DRAWN_UP = "trials-drawn-up"
ALL = ""
BY_HAND, ADVISED = "By hand", "A suggestion of Plan a setup"
WORTH = {"Leave it to the record": None, "In points": "points", "In money": "money"}
_COLUMNS = {each.name: each for each in COLUMNS}


def ask(store: Store, *, unfolded: bool) -> None:
    """Ask what is to be tried, say what that takes, and keep it on a second tap."""
    asked = "suggestion" in st.query_params or "factor" in st.query_params
    with st.expander("Plan a trial", expanded=unfolded or asked, key="plan-a-trial"):
        if not for_reviewers("Planning a trial"):
            return
        fabrics = store.known("fabric")
        if not fabrics:
            st.info("No run names its fabric yet: name it on **Log a run** first.")
            return
        wanted = _wanted(store, fabrics)
        st.button(
            "Say what it takes",
            width="stretch",
            on_click=_draw_up,
            args=(store, wanted),
            key="draw-up",
        )
        drawn: tuple[PlannedTrial, dict[str, Any]] | None = st.session_state.get(DRAWN_UP)
        if drawn is not None:
            _say(store, *drawn)


def _wanted(store: Store, fabrics: tuple[str, ...]) -> dict[str, Any]:
    first, second = st.columns(2)
    known = st.query_params.get("fabric")
    fabric = first.selectbox(
        "On which fabric?",
        fabrics,
        index=fabrics.index(known) if known in fabrics else 0,
        key="plan-fabric",
    )
    designs = (ALL, *store.known("design"))
    asked = st.query_params.get("design", ALL)
    design = second.selectbox(
        "One design only?",
        designs,
        index=designs.index(asked) if asked in designs else 0,
        format_func=lambda name: name or "Any design",
        key="plan-design",
    )
    scope = {"fabric": fabric, **({"design": design} if design else {})}
    how = st.radio(
        "What is tried?",
        (BY_HAND, ADVISED),
        index=int("suggestion" in st.query_params),
        horizontal=True,
        key="plan-how",
    )
    wanted = {"scope": scope, **(_by_hand(store) if how == BY_HAND else _advised())}
    return wanted | _sizes(store)


def _by_hand(store: Store) -> dict[str, Any]:
    asked = st.query_params.get("factor", "topping")
    factor = st.selectbox(
        "What is changed?",
        CHANGEABLE,
        index=CHANGEABLE.index(asked if asked in CHANGEABLE else "topping"),
        format_func=lambda name: _COLUMNS[name].label,
        key="plan-factor",
    )
    first, second = st.columns(2)
    before = _value(store, _COLUMNS[factor], first, "As now", "before", 0)
    after = _value(store, _COLUMNS[factor], second, "Changed to", "after", 1)
    return {"factor": factor, "before": before, "after": after}


def _value(store: Store, column: Column, place: Any, words: str, side: str, index: int) -> str:
    key = f"plan-{side}-{column.name}"
    asked = st.query_params.get(side, "") if st.query_params.get("factor") == column.name else ""
    if column.choices is not None:
        values = column.choices.values
        label_of = column.choices.label_of
    elif column.open_list and store.known(column.name):
        values, label_of = store.known(column.name), _as_it_is
    else:
        typed: str = place.text_input(
            f"{words}{f' ({column.unit_beside})' if column.unit_beside else ''}",
            key=key,
            value=asked,
        )
        return typed.strip()
    index = values.index(asked) if asked in values else min(index, len(values) - 1)
    chosen: str = place.selectbox(words, values, index=index, format_func=label_of, key=key)
    return chosen


def _as_it_is(value: str) -> str:
    return value


def _advised() -> dict[str, Any]:
    told = st.query_params.get("suggestion", "1")
    number = st.number_input(
        "Which of its suggestions?",
        min_value=1,
        max_value=20,
        value=int(told) if told.isdigit() and 0 < int(told) <= 20 else 1,
        key="plan-suggestion",
    )
    return {"suggestion": int(number)}


def _sizes(store: Store) -> dict[str, Any]:
    kinds = {ANY.name: ANY.label}
    kinds |= {
        each.name: each.label
        for each in store.shop.kinds
        if each.measure == "pieces" and each.charged_to_setup
    }
    defect = st.selectbox(
        "Which defect decides?", list(kinds), format_func=kinds.__getitem__, key="plan-defect"
    )
    how = st.radio("Smallest fall worth having", list(WORTH), horizontal=True, key="plan-worth")
    told: dict[str, Any] = {"defect": defect}
    if WORTH[how] == "points":
        fall = st.number_input("Points", min_value=0.1, value=2.0, step=0.5, key="plan-points")
        told["smallest_difference"] = fall / 100
    elif WORTH[how] == "money":
        told["worth"] = st.number_input(
            f"{store.shop.currency} in 100 pieces", min_value=0.5, value=10.0, key="plan-money"
        )
    pieces = st.number_input(
        "Pieces of a load",
        min_value=1,
        max_value=1000,
        value=None,
        placeholder="half a usual run",
        key="plan-pieces",
    )
    return told | ({"pieces_per_arm": int(pieces)} if pieces else {})


def _draw_up(store: Store, wanted: dict[str, Any]) -> None:
    st.session_state.pop(DRAWN_UP, None)
    try:
        planned, _ = plan_and_keep(store, source=SOURCE, keep=False, **wanted)
    except LogbookError as problem:
        st.session_state[PROBLEM] = problem
        return
    if planned.trial is not None:
        wanted = wanted | {"seed": planned.trial.seed}
    st.session_state[DRAWN_UP] = (planned, wanted)


def _say(store: Store, planned: PlannedTrial, wanted: dict[str, Any]) -> None:
    said = plain_markdown(finding(planned))
    if planned.trial is None:
        st.warning(said)
    else:
        st.markdown(f"**{said}**")
        st.markdown(
            "\n".join(
                f"- {plain_markdown(planned.trial.arm_words(arm))}" for arm in ("as now", "changed")
            )
        )
    for note in plan_notes(planned):
        st.caption(plain_markdown(note))
    if planned.trial is not None:
        st.button(
            "Keep this trial",
            type="primary",
            width="stretch",
            on_click=_keep,
            args=(store, wanted),
            key="keep-trial",
        )


def _keep(store: Store, wanted: dict[str, Any]) -> None:
    st.session_state.pop(DRAWN_UP, None)
    try:
        _, kept = plan_and_keep(store, source=SOURCE, **wanted)
    except LogbookError as problem:
        st.session_state[PROBLEM] = problem
        return
    if kept is not None:
        st.query_params.from_dict({"trial": kept.ref})
        st.session_state.pop("trials-asked", None)
        st.session_state[TOLD] = f"Kept as trial {kept.ref}. Print its card, then start it."
