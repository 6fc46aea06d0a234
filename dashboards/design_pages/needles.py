"""Which needle sews which colour step: said once, it lets breaks be held against needles."""

from __future__ import annotations

from html import escape

import streamlit as st

from dashboards.shared import explain, for_reviewers
from logbook.book.design_files import set_needles
from logbook.errors import LogbookError
from logbook.runs.defect_locations import LARGEST
from logbook.runs.designs import Design, DesignVersion
from logbook.store import Store
from logbook.wording import number

MOST_STEPS = 30
"""More fields than that nobody fills in."""
_KEPT, _PROBLEM = "needles kept", "needles problem"


def ask_needles(store: Store, design: Design) -> None:
    """Show the colour steps of the version in use, and take the needle of each."""
    version = design.newest
    if len(version.step_stitches) > MOST_STEPS:
        return
    with st.expander("Colour steps and their needles"):
        st.caption(
            "With the needles said here, thread breaks are held against what each needle sewed."
        )
        if not for_reviewers("Saying which needle sews which colour"):
            return
        with st.form("needles"):
            for step in range(1, len(version.step_stitches) + 1):
                _ask_step(version, step)
            st.form_submit_button(
                "Keep the needles", on_click=_keep, args=(store, design.name, version)
            )
        if st.session_state.pop(_KEPT, False):
            st.success("The needles are kept.")
        if problem := st.session_state.pop(_PROBLEM, None):
            explain(problem)


def _ask_step(version: DesignVersion, step: int) -> None:
    colour = version.colours[step - 1] if step <= len(version.colours) else ""
    swatch, field = st.columns([1, 2], vertical_alignment="center")
    shown = colour if colour.startswith("#") else "transparent"
    swatch.html(
        f'<span style="display:inline-block;width:1.6rem;height:1.6rem;vertical-align:middle;'
        f'border:1px solid var(--quiet);border-radius:4px;background:{escape(shown)}"></span> '
        f"Step {step}, {number(version.step_stitches[step - 1])} stitches"
    )
    before = version.needles[step - 1] if version.needles else None
    field.number_input(
        f"Needle of step {step}",
        min_value=1,
        max_value=LARGEST["needle"],
        value=before,
        step=1,
        key=_key(version, step),
    )


def _keep(store: Store, name: str, version: DesignVersion) -> None:
    steps = range(1, len(version.step_stitches) + 1)
    told = {step: st.session_state[_key(version, step)] for step in steps}
    needles = {step: needle for step, needle in told.items() if needle is not None}
    try:
        set_needles(store, name, needles, digest=version.digest, source="form")
    except LogbookError as problem:
        st.session_state[_PROBLEM] = problem
    else:
        st.session_state[_KEPT] = True


def _key(version: DesignVersion, step: int) -> str:
    return f"needle {version.digest} {step}"
