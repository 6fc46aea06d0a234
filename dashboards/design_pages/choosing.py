"""Which design is looked at, and a new stitch file for it."""

from __future__ import annotations

from collections import Counter

import streamlit as st

from dashboards.shared import explain, for_reviewers
from dashboards.showing import plain_markdown, remembered
from logbook.book.defect_locations import COLLECTION
from logbook.book.design_files import Added, add_design_file
from logbook.book.designs import designs
from logbook.errors import LogbookError
from logbook.stitches.formats import FORMATS
from logbook.store import Store
from logbook.wording import number

SOURCE = "form"
_TOLD, _LACKING, _PROBLEM = "design added", "design lacking", "design problem"
_TURN = "design turn"
"""Counted up when a file is kept, so that the fields are empty again; a refused one stays."""


def names(store: Store) -> list[str]:
    """Every design by name: those with a file first, then those that runs alone name."""
    drawn = [each.name for each in designs(store)]
    return sorted(drawn, key=str.casefold) + [
        each for each in store.known("design") if each not in drawn
    ]


def chosen_design(store: Store, known: list[str]) -> str:
    """Ask for the design; the address remembers it."""
    drawn = {each.name for each in designs(store)}
    name = st.selectbox(
        "Design",
        known,
        index=_first_shown(store, known, drawn),
        format_func=lambda each: each if each in drawn else f"{each} (no stitch file yet)",
    )
    st.query_params["design"] = name
    return name


def _first_shown(store: Store, known: list[str], drawn: set[str]) -> int:
    """The place of the design that the address names, else of the one with most to be seen on it.

    That is where most defects were marked; of those alike the one that is sewn most.
    """
    if st.query_params.get("design") in known:
        return remembered("design", known)
    marked: Counter[str | None] = Counter()
    for document in store.documents(COLLECTION):
        marked[document.about] += len(document.content.get("places") or ())
    sewn = dict(store.totals(by=("design",)).select("design", "pieces_sewn").iter_rows())
    first = max(known, key=lambda name: (marked[name], name in drawn, sewn.get(name) or 0))
    return known.index(first)


def ask_for_file(store: Store, name: str | None) -> None:
    """Take a stitch file for a design; its runs are filled from it from then on."""
    title = "Add a stitch file" if name is None else "Add a stitch file, or a new version"
    with st.expander(title, expanded=name is None):
        if not for_reviewers("Adding stitch files"):
            return
        turn = f"{name} {st.session_state.get(_TURN, 0)}"
        with st.form("stitch file"):
            st.text_input(
                "Name of the design", value=name or "", max_chars=200, key=f"design name {turn}"
            )
            st.file_uploader(
                "The file that the machine sews",
                type=list(FORMATS),
                max_upload_size=50,
                key=f"design file {turn}",
            )
            st.form_submit_button(
                "Measure and keep it", type="primary", on_click=_add, args=(store, turn)
            )
        if st.session_state.pop(_LACKING, False):
            st.info("Choose a file, and give the design its name.")
        if problem := st.session_state.pop(_PROBLEM, None):
            explain(problem)
    if told := st.session_state.pop(_TOLD, None):
        _say(told)


def _add(store: Store, turn: str) -> None:
    name = str(st.session_state[f"design name {turn}"])
    file = st.session_state[f"design file {turn}"]
    if file is None or not name.strip():
        st.session_state[_LACKING] = True
        return
    try:
        added = add_design_file(store, name, file.getvalue(), file_name=file.name, source=SOURCE)
    except LogbookError as problem:
        st.session_state[_PROBLEM] = problem
        return
    st.session_state[_TOLD] = added
    st.session_state[_TURN] = st.session_state.get(_TURN, 0) + 1
    st.query_params["design"] = added.design.name


def _say(added: Added) -> None:
    name = plain_markdown(added.design.name)
    if not added.is_new:
        st.info(f"{name}: this very file is in use already.")
        return
    versions = len(added.design.versions)
    what = "its first file" if versions == 1 else f"version {versions}"
    st.success(
        f"**{name}: {what} is kept.** {number(added.measurement.stitches)} stitches. Runs that "
        "finish from now on take their density and stitches from it."
    )
