"""The setup of the run at hand: the machine, the summary in words, and the fields behind it."""

from __future__ import annotations

from html import escape

import streamlit as st

from dashboards.in_sight import bring_into_sight
from dashboards.run_entry.fields import field
from dashboards.run_entry.setup_words import setup_in_words, work_in_words
from dashboards.run_entry.starting import refill, take_job
from dashboards.run_entry.typed import KEPT, key, left_out, put, typed
from dashboards.showing import plain_markdown
from logbook.runs.column import SETUP_GROUPS
from logbook.runs.columns import COLUMNS
from logbook.store import Store

OWN_GROUP = "Who and what"
"""Where the shop's own columns are asked for."""
ANOTHER = "another machine"
WHICH_MACHINE = "Which machine is it? Type its name or number, or tap a machine above."
FEW_MACHINES = 6
"""So many stand side by side as buttons; more are chosen from a list."""

_FORM = sorted(COLUMNS, key=lambda each: each.role == "surroundings")
GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = tuple(
    (group, tuple(each.name for each in _FORM if each.form == group)) for group in SETUP_GROUPS
)
"""The fields of the setup, in the order in which a job is set up."""


def choose_machine(store: Store) -> None:
    """Ask for the machine; the setup of its last run follows it."""
    machines = _machines(store)
    if not machines:
        st.text_input("Machine", key=key("machine"), placeholder="its name or number")
    elif len(machines) > FEW_MACHINES:
        st.selectbox(
            "Machine",
            machines,
            index=None,
            key=key("machine"),
            on_change=_machine_changed,
            args=(store,),
            accept_new_options=True,
            placeholder="choose, or type and press Enter",
        )
    else:
        _machine_buttons(store, machines)


def _machines(store: Store) -> list[str]:
    known = list(store.known("machine"))
    present = typed("machine")
    return sorted(known if present is None or present in known or not known else [*known, present])


def _machine_buttons(store: Store, machines: list[str]) -> None:
    if typed("machine_button") is None:
        put("machine_button", typed("machine") or ANOTHER)
    st.pills(
        "Machine",
        [*machines, ANOTHER],
        required=True,
        format_func=lambda name: "Another machine" if name == ANOTHER else plain_markdown(name),
        key=key("machine_button"),
        on_change=_button_pressed,
        args=(store,),
        width="stretch",
    )
    if typed("machine_button") == ANOTHER:
        with st.container(key="other_machine"):
            st.text_input(
                "Name of the other machine", key=key("machine"), placeholder="name or number"
            )
            if "machine" in (typed("lacks") or {}) and _unnamed():
                st.error(WHICH_MACHINE)
                bring_into_sight(".st-key-other_machine", moment=typed("refused") or 0)


def lacking_machine(store: Store) -> dict[str, str]:
    """Ask for the name, where another machine than the known ones is said and left unnamed."""
    buttons = 0 < len(_machines(store)) <= FEW_MACHINES
    other = buttons and typed("machine_button") == ANOTHER
    return {"machine": WHICH_MACHINE} if other and _unnamed() else {}


def _unnamed() -> bool:
    return not (typed("machine") or "").strip()


def _button_pressed(store: Store) -> None:
    pressed = typed("machine_button")
    put("machine", None if pressed == ANOTHER else pressed)
    _machine_changed(store)


def _machine_changed(store: Store) -> None:
    if (machine := typed("machine")) in store.known("machine"):
        refill(store, machine)


def setup_summary(store: Store, asked: tuple[str, ...] = ()) -> None:
    """Say the setup in words, and open its fields on demand; those ``asked`` stand elsewhere."""
    present = {name: typed(name) for name in KEPT}
    work, setup = work_in_words(present), setup_in_words(present)
    if work or setup:
        st.html(
            '<div class="setup-card">'
            f'<p class="work">{escape(work)}</p><p>{escape(setup)}</p></div>'
        )
    describing = bool(typed("describing"))
    words = "Describe the setup" if describing else "Setup of this run"
    with st.expander(words, expanded=describing, key="setup_fields"):
        setup_fields(store, asked)


def setup_fields(store: Store, asked: tuple[str, ...]) -> None:
    """Every field of the setup, in groups."""
    elsewhere = {*asked, *left_out(store)}
    own = tuple(each.name for each in store.shop.own_columns)
    for title, every in GROUPS:
        asked_here = (*every, *own) if title == OWN_GROUP else every
        names = [name for name in asked_here if name not in elsewhere]
        if not names:
            continue
        st.markdown(f"**{title}**")
        with st.container(horizontal=True, vertical_alignment="bottom", key=f"fields_{every[0]}"):
            for name in names:
                field(store, name, take_job if name == "job" else None)
