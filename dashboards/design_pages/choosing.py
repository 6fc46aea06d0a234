"""Which design is looked at, and a new stitch file for it."""

from __future__ import annotations

import streamlit as st

from dashboards.shared import explain, for_reviewers
from dashboards.showing import plain_markdown, remembered
from logbook.answers.design_files import Added, add_design_file
from logbook.answers.designs import designs
from logbook.errors import LogbookError
from logbook.stitches.formats import FORMATS
from logbook.store import Store
from logbook.wording import number

SOURCE = "form"
_TOLD = "design added"


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
        index=remembered("design", known),
        format_func=lambda each: each if each in drawn else f"{each} (no stitch file yet)",
    )
    st.query_params["design"] = name
    return name


def ask_for_file(store: Store, name: str | None) -> None:
    """Take a stitch file for a design; its runs are filled from it from then on."""
    title = "Add a stitch file" if name is None else "Add a stitch file, or a new version"
    with st.expander(title, expanded=name is None):
        if not for_reviewers("Adding stitch files"):
            return
        with st.form("stitch file", clear_on_submit=True):
            named = st.text_input("Name of the design", value=name or "", max_chars=200)
            file = st.file_uploader(
                "The file that the machine sews", type=list(FORMATS), max_upload_size=50
            )
            if st.form_submit_button("Measure and keep it", type="primary"):
                if file is None or not named.strip():
                    st.info("Choose a file, and give the design its name.")
                else:
                    _add(store, named, file.name, file.getvalue())
    if told := st.session_state.pop(_TOLD, None):
        _say(told)


def _add(store: Store, name: str, file_name: str, content: bytes) -> None:
    try:
        added = add_design_file(store, name, content, file_name=file_name, source=SOURCE)
    except LogbookError as problem:
        explain(problem)
        return
    st.session_state[_TOLD] = added
    st.query_params["design"] = added.design.name
    st.rerun()


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
