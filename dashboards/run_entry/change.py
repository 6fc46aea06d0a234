"""Another setup in the middle of a job: what was sewn so far is a run, the rest is the next."""

from __future__ import annotations

import streamlit as st

from dashboards.run_entry.fields import field
from dashboards.run_entry.starting import start_next
from dashboards.run_entry.typed import key, left_out, pieces_words, put, typed
from logbook.book.runs import Logged
from logbook.runs.columns import COLUMNS
from logbook.store import Store

_USUAL: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Backing lot", ("backing_lot",)),
    ("Backing", ("backing", "backing_gsm", "backing_layers", "backing_shade", "backing_supplier")),
    ("Needle", ("needle_nm", "needle_point")),
    ("Speed", ("speed_spm",)),
    ("Topping", ("topping",)),
    ("Hooping", ("hooping",)),
    ("Thread", ("thread",)),
    ("Operator", ("operator",)),
    ("Design", ("design", "density", "row_spacing_mm", "stitches_per_piece")),
)
PARTS = (
    *_USUAL,
    *(
        (each.label, (each.name,))
        for each in COLUMNS
        if each.role == "setup" and each.form and not any(each.name in names for _, names in _USUAL)
    ),
)
"""What changes while a job is on the machine, in the order of how often it does."""


def offer_change() -> None:
    """A button for a change of setup before the job is done."""
    st.button(
        "Change the setup now",
        width="stretch",
        on_click=_begin_change,
        key="change_now",
        help="In the middle of a job: what was sewn so far becomes a run of its own.",
    )


def _begin_change() -> None:
    # The pieces of last time are those of a whole job: so far it is fewer, and nobody else knows.
    put("changing_setup", True)
    put("pieces_whole", typed("pieces_sewn"))
    put("pieces_sewn", None)


def say_change() -> None:
    """Say what is asked now, and how to go back."""
    st.info(
        "**Changing the setup.** What was sewn so far is logged as a run of its own; the next one "
        "has the same job. How many pieces were sewn **so far**, and what went wrong with them?"
    )
    st.button("No change after all", on_click=_end_change, key="no_change")


def _end_change() -> None:
    put("changing_setup", False)
    put("pieces_sewn", typed("pieces_whole"))


def change_words() -> str:
    """What the button that logs says meanwhile."""
    pieces = typed("pieces_sewn")
    so_far = f"Log {pieces_words(pieces)} so far" if pieces else "Log the pieces so far"
    return f"{so_far}, then change"


def start_changed(logged: Logged) -> None:
    """Open the next run with the same job and setup, and ask what changes."""
    whole, sewn = typed("pieces_whole") or 0, typed("pieces_sewn") or 0
    of_all = typed("pieces_rest_of") or whole
    start_next()
    rest = whole - sewn
    put("pieces_sewn", rest if rest > 0 else None)
    put("pieces_rest_of", of_all if rest > 0 else None)
    put("asked_what_changes", True)
    put("logged_before", logged)


def ask_what_changes(store: Store) -> tuple[str, ...]:
    """Ask only for the parts that become others; return the fields that it asked for."""
    unused = left_out(store)
    parts = [(part, fields) for part, fields in PARTS if not unused.issuperset(fields)]
    chosen = st.pills(
        "What changes?",
        [name for name, _ in parts],
        selection_mode="multi",
        key=key("parts_changing"),
        width="stretch",
    )
    names = tuple(each for part, fields in parts if part in chosen for each in fields)
    if names:
        with st.container(horizontal=True, vertical_alignment="bottom", key="fields_changing"):
            for name in names:
                field(store, name)
    return names
