"""Correcting, releasing and withdrawing a run: for reviewers, with a reason.

Every change goes through the one door, with the version that was on the screen: where somebody
else changed the run meanwhile, nothing is written.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import streamlit as st

from dashboards.in_sight import bring_into_sight
from dashboards.run_entry.fields import EMPTY, label
from dashboards.run_entry.saving import in_labels
from dashboards.run_pages.words import said
from dashboards.shared import column_of, explain, for_reviewers
from dashboards.showing import plain_markdown
from logbook.book.run_search import Version, recorded
from logbook.book.runs import amend_run, withdraw_run
from logbook.errors import LogbookError, RecordError, RunChanged
from logbook.runs.columns import Column, columns_with
from logbook.store import Store
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD

SOURCE = "Runs page"
TOLD = "runs-told"
TIMES = "runs-times-told"
Place = Literal["correcting", "withdrawing", "releasing"]
"""Which of the buttons was pressed."""

MOST_AT_ONCE = 12
"""Fields of one correction; with a limit, the list does not offer to choose all of them."""
LACKS_REASON = "Say why: the reason stays in the history of the run."


@dataclass(frozen=True, slots=True)
class Told:
    """What became of a change, to be said where it was asked for."""

    run_ref: str
    place: Place
    outcome: LogbookError | str


def tell(run_ref: str, *places: Place) -> None:
    """Say once what became of the last change, beside the button that asked for it."""
    key = f"told-{places[0]}"
    with st.container(key=key):
        told = st.session_state.get(TOLD)
        if told is None or told.place not in places:
            return
        del st.session_state[TOLD]
        if told.run_ref != run_ref:
            return
        if isinstance(told.outcome, LogbookError):
            explain(told.outcome)
        else:
            st.success(plain_markdown(told.outcome))
    # The page may have become shorter or longer above it.
    st.session_state[TIMES] = st.session_state.get(TIMES, 0) + 1
    bring_into_sight(f".st-key-{key}", moment=st.session_state[TIMES])


def correct(store: Store, run_ref: str, version: Version) -> None:
    """Offer to correct values of the run, and to withdraw it."""
    if not for_reviewers("Correcting a run"):
        return
    _say_if_changed(run_ref, version)
    # With keys of their own they stay open whatever is said above them.
    turn = f"{run_ref}-{version.change.version}"
    with st.expander("Correct something", key=f"correcting-{turn}"):
        _ask_corrections(store, run_ref, version)
    tell(run_ref, "correcting")
    with st.expander("Withdraw the run", key=f"withdrawing-{turn}"):
        st.write("The run leaves every count. It stays in the history, with the reason.")
        key = f"withdraw-{turn}"
        st.text_input("Why is it withdrawn?", key=key, placeholder="Such as: entered twice")
        st.button("Withdraw it", on_click=_withdraw, args=(store, run_ref, version, key))
    tell(run_ref, "withdrawing")


def release(store: Store, run_ref: str, version: Version) -> None:
    """Offer to release a held run, once every needle part is found."""
    if not for_reviewers("Releasing a held run"):
        return
    key = f"release-{run_ref}-{version.change.version}"
    with st.expander("Every needle part is found: release the run", key=f"releasing-{key}"):
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
    columns = {each.name: each for each in columns_with(store.shop.own)}
    names = st.multiselect(
        "What is wrong?",
        _counts_first(store, tuple(columns)),
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


def _counts_first(store: Store, names: tuple[str, ...]) -> list[str]:
    """What was miscounted is what is put right most: defects, then pieces, then all the rest."""
    kinds = {kind.name for kind in store.shop.kinds}

    def rank(name: str) -> int:
        return 0 if name in kinds else 1 if name.startswith("pieces_") else 2

    return sorted((name for name in names if name != "run_ref"), key=rank)


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
    own = store.shop.own
    before = {name: recorded(version.change.content, column_of(name, own)) for name in names}
    typed = {name: st.session_state[_key(run_ref, version, name)] for name in names}
    said_now = {name: None if value == "" else value for name, value in typed.items()}
    changes = {name: value for name, value in said_now.items() if value != before[name]}
    if not changes:
        nothing = "Nothing was changed: every field says what is recorded already."
        _say(run_ref, "correcting", RecordError(nothing, reasons={}))
        return
    _say(run_ref, "correcting", _change(store, run_ref, version, changes, why))


def _release(store: Store, run_ref: str, version: Version, key: str) -> None:
    outcome = _change(store, run_ref, version, {"needle_parts_found": True}, key)
    _say(run_ref, "releasing", outcome)


def _change(
    store: Store, run_ref: str, version: Version, changes: dict[str, Any], why: str
) -> LogbookError | str:
    reason = str(st.session_state.get(why) or "").strip()
    if not reason:
        return RecordError(LACKS_REASON, reasons={"why": LACKS_REASON})
    seen = version.change.version
    try:
        amended = amend_run(store, run_ref, changes, why=reason, source=SOURCE, seen=seen)
    except LogbookError as problem:
        return _in_words(store, problem, changes)
    _drawn(run_ref, seen + 1)
    told = f"The run {run_ref} is corrected."
    if amended.held:
        told += f" {BROKEN_NEEDLE_HELD}"
    notes = (f"{in_labels(store, note).rstrip('.')}." for note in amended.notes)
    return " ".join([told, *notes])


def _withdraw(store: Store, run_ref: str, version: Version, key: str) -> None:
    reason = str(st.session_state.get(key) or "").strip()
    if not reason:
        _say(run_ref, "withdrawing", RecordError(LACKS_REASON, reasons={"why": LACKS_REASON}))
        return
    try:
        withdraw_run(store, run_ref, why=reason, source=SOURCE, seen=version.change.version)
    except LogbookError as problem:
        _say(run_ref, "withdrawing", problem)
    else:
        _say(run_ref, "withdrawing", f"The run {run_ref} is withdrawn.")


def _say(run_ref: str, place: Place, outcome: LogbookError | str) -> None:
    st.session_state[TOLD] = Told(run_ref, place, outcome)


def _drawn(run_ref: str, version: int) -> None:
    st.session_state["runs-drawn"] = (run_ref, version)


def _in_words(store: Store, problem: LogbookError, changes: dict[str, Any]) -> LogbookError:
    if isinstance(problem, RunChanged):
        columns = ((column_of(name, store.shop.own), to) for name, to in changes.items())
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
