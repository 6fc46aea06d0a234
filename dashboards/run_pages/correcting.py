"""Correcting, releasing and withdrawing a run: for reviewers, with a reason.

Every change goes through the one door, with the version that was on the screen: where somebody
else changed the run meanwhile, nothing is written.
"""

from __future__ import annotations

from typing import Any

import streamlit as st

from dashboards.run_entry.fields import EMPTY, label
from dashboards.run_entry.saving import in_labels
from dashboards.run_pages.words import said
from dashboards.shared import column_of, explain, for_reviewers
from dashboards.showing import plain_markdown
from logbook.answers.finding_runs import Version, pieces_that_follow, recorded
from logbook.answers.runs import amend_run, withdraw_run
from logbook.errors import LogbookError, RecordError, RunChanged
from logbook.records.columns import Column, columns_with
from logbook.store import Store
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD
from logbook.wording import number

SOURCE = "Runs page"
TOLD = "runs-told"
MOST_AT_ONCE = 12
"""Fields of one correction; with a limit, the list does not offer to choose all of them."""
LACKS_REASON = "Say why: the reason stays in the history of the run."


def tell() -> None:
    """Say once what became of the last change."""
    outcome = st.session_state.pop(TOLD, None)
    if isinstance(outcome, LogbookError):
        explain(outcome)
    elif outcome is not None:
        st.success(plain_markdown(outcome))


def correct(store: Store, run_ref: str, version: Version) -> None:
    """Offer to correct values of the run, and to withdraw it."""
    if not for_reviewers("Correcting a run"):
        return
    _say_if_changed(run_ref, version)
    with st.expander("Correct something"):
        _ask_corrections(store, run_ref, version)
    with st.expander("Withdraw the run"):
        st.write("The run leaves every count. It stays in the history, with the reason.")
        key = f"withdraw-{run_ref}-{version.change.version}"
        st.text_input("Why is it withdrawn?", key=key, placeholder="Such as: entered twice")
        st.button("Withdraw it", on_click=_withdraw, args=(store, run_ref, version, key))


def release(store: Store, run_ref: str, version: Version) -> None:
    """Offer to release a held run, once every needle part is found."""
    if not for_reviewers("Releasing a held run"):
        return
    key = f"release-{run_ref}-{version.change.version}"
    with st.expander("Every needle part is found: release the run"):
        found = st.checkbox(
            "I have seen every part of the broken needle, and the parts make one whole needle.",
            key=f"{key}-found",
        )
        st.text_input("Where were the parts, and who found them?", key=key)
        st.button(
            "Release the run",
            disabled=not found,
            on_click=_release,
            args=(store, run_ref, version, key),
        )


def _say_if_changed(run_ref: str, version: Version) -> None:
    drawn = (run_ref, version.change.version)
    before = st.session_state.get("runs-drawn", drawn)
    st.session_state["runs-drawn"] = drawn
    if before[0] == run_ref and before[1] != version.change.version:
        st.info("This run was changed since this page was last drawn: it shows the run as it is.")


def _ask_corrections(store: Store, run_ref: str, version: Version) -> None:
    columns = {each.name: each for each in columns_with(store.shop.own_kinds)}
    names = st.multiselect(
        "What is wrong?",
        [name for name in columns if name != "run_ref"],
        format_func=lambda name: columns[name].label,
        key=f"fix-{run_ref}-{version.change.version}",
        placeholder="Choose the fields to correct",
        max_selections=MOST_AT_ONCE,
    )
    if not names:
        return
    for name in names:
        column = columns[name]
        now = recorded(version.change.content, column)
        _field(column, now, _key(run_ref, version, name))
        st.caption(plain_markdown(f"Recorded now: {said(column, now)}"))
    why = f"why-{run_ref}-{version.change.version}"
    st.text_input("Why is it corrected?", key=why, placeholder="Such as: counted again")
    st.button(
        "Save the correction",
        type="primary",
        on_click=_amend,
        args=(store, run_ref, version, tuple(names), why),
    )


def _key(run_ref: str, version: Version, name: str) -> str:
    return f"to-{run_ref}-{version.change.version}-{name}"


def _field(column: Column, now: Any, key: str) -> None:
    words = label(column)
    if column.choices is not None:
        options = ["", *column.choices.values]
        name_of = column.choices.label_of
        st.selectbox(
            words,
            options,
            index=options.index(now or ""),
            format_func=lambda value: name_of(value) if value else EMPTY,
            key=key,
        )
    elif column.type == "boolean":
        answers = {None: EMPTY, True: "Yes", False: "No"}
        options_here = list(answers)
        st.selectbox(
            words,
            options_here,
            index=options_here.index(now),
            format_func=answers.__getitem__,
            key=key,
        )
    elif column.type in ("integer", "number"):
        whole = column.type == "integer"
        st.number_input(
            words,
            value=now,
            step=1 if whole else 0.1,
            format="%d" if whole else "%.10g",
            key=key,
            placeholder=EMPTY,
        )
    elif column.type == "moment":
        st.datetime_input(words, value=now, step=60, key=key)
    elif column.name == "notes":
        st.text_area(words, value=now or "", key=key, placeholder=EMPTY)
    else:
        st.text_input(words, value=now or "", key=key, placeholder=EMPTY)


def _amend(store: Store, run_ref: str, version: Version, names: tuple[str, ...], why: str) -> None:
    own = store.shop.own_kinds
    before = {name: recorded(version.change.content, column_of(name, own)) for name in names}
    typed = {name: st.session_state[_key(run_ref, version, name)] for name in names}
    said_now = {name: None if value == "" else value for name, value in typed.items()}
    changes = {name: value for name, value in said_now.items() if value != before[name]}
    if not changes:
        st.session_state[TOLD] = RecordError(
            "Nothing was changed: every field says what is recorded already.", reasons={}
        )
        return
    follows = pieces_that_follow(version.change.content, changes, store.shop.kinds)
    if follows is not None:
        changes["pieces_defective"] = follows
    if _change(store, run_ref, version, changes, why) and follows is not None:
        words = f"Pieces with any defect went along: {number(follows)} now."
        st.session_state[TOLD] = f"{st.session_state[TOLD]} {words}"


def _release(store: Store, run_ref: str, version: Version, key: str) -> None:
    _change(store, run_ref, version, {"needle_parts_found": True}, key)


def _change(
    store: Store, run_ref: str, version: Version, changes: dict[str, Any], why: str
) -> bool:
    reason = str(st.session_state.get(why) or "").strip()
    if not reason:
        st.session_state[TOLD] = RecordError(LACKS_REASON, reasons={"why": LACKS_REASON})
        return False
    seen = version.change.version
    try:
        amended = amend_run(store, run_ref, changes, why=reason, source=SOURCE, seen=seen)
    except LogbookError as problem:
        st.session_state[TOLD] = _in_words(store, problem, changes)
        return False
    _drawn(run_ref, seen + 1)
    told = f"The run {run_ref} is corrected."
    if amended.held:
        told += f" {BROKEN_NEEDLE_HELD}"
    st.session_state[TOLD] = " ".join([told, *(in_labels(store, note) for note in amended.notes)])
    return True


def _withdraw(store: Store, run_ref: str, version: Version, key: str) -> None:
    reason = str(st.session_state.get(key) or "").strip()
    if not reason:
        st.session_state[TOLD] = RecordError(LACKS_REASON, reasons={"why": LACKS_REASON})
        return
    try:
        withdraw_run(store, run_ref, why=reason, source=SOURCE, seen=version.change.version)
    except LogbookError as problem:
        st.session_state[TOLD] = problem


def _drawn(run_ref: str, version: int) -> None:
    st.session_state["runs-drawn"] = (run_ref, version)


def _in_words(store: Store, problem: LogbookError, changes: dict[str, Any]) -> LogbookError:
    if isinstance(problem, RunChanged):
        columns = ((column_of(name, store.shop.own_kinds), to) for name, to in changes.items())
        typed = ", ".join(f"{column.label.lower()} {said(column, to)}" for column, to in columns)
        return RunChanged(
            "Somebody else changed this run while it was open here. Nothing was overwritten; you "
            f"had typed: {typed}.",
            "look at the run as it stands now and at its history below, then correct it again",
        )
    if isinstance(problem, RecordError):
        says = "; ".join(in_labels(store, each) for each in problem.reasons.values())
        return RecordError(f"The run was not changed. {says}.", reasons=problem.reasons)
    return problem
