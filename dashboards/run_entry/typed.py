"""What has been typed of the run at hand, kept until it is logged.

Every field lives in Streamlit's session state as ``run.COLUMN``. The values are the page's own:
they outlive a reconnect and a look at another page.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from typing import Any

import streamlit as st

from logbook.records.columns import COLUMNS
from logbook.store import Store
from logbook.vocabulary.defects import DefectKind

PREFIX = "run."
_LETTERS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Digits and letters that are not taken for one another when read aloud."""

KEPT: tuple[str, ...] = (
    *(each.name for each in COLUMNS if each.part in ("job", "fabric", "backing", "setup")),
    "site",
    "operator",
    "stitches_per_piece",
    "seen_at",
)
"""What the next run on a machine starts from; counts never are."""

ASIDE: tuple[str, ...] = ("finished_at", "run_minutes", "pucker_grade", "notes")
"""Told of one run only, besides its counts."""


def key(name: str) -> str:
    """Name the session's place of one field."""
    return PREFIX + name


def typed(name: str) -> Any:
    """What stands in a field; None where nothing does."""
    value = st.session_state.get(key(name))
    return None if value == "" else value


def put(name: str, value: Any) -> None:
    """Fill a field; None empties it."""
    st.session_state[key(name)] = value


def keep_typed() -> None:
    """Hold on to what was typed, wherever the form is not on the screen.

    Streamlit forgets a field that is not drawn, unless the page claims its value. On the form
    itself nothing may be claimed: what the server writes into a field goes back to the browser,
    and would undo taps made in the meantime.
    """
    for name in list(st.session_state):
        if isinstance(name, str) and name.startswith(PREFIX):
            st.session_state[name] = st.session_state[name]


def begin(store: Store) -> None:
    """Start a run where none is at hand, from the last one of the remembered machine."""
    if typed("run_ref") is not None:
        return
    machines = store.known("machine")
    last = store.last_run()
    asked = st.query_params.get("machine")
    machine = asked if asked in machines else (last or {}).get("machine")
    put("machine", machine)
    refill(store, machine)
    start_afresh()


def start_afresh() -> None:
    """Give the run at hand a reference of its own and empty what belongs to one run only."""
    # Once: a field that was plain text is a list from the second run on, and must not lose its
    # value with its shape.
    keep_typed()
    if typed("logged") is not None:
        put("describing", False)
    put("run_ref", new_reference())
    put("pieces_last_time", typed("pieces_sewn") or typed("pieces_last_time"))
    for name in list(st.session_state):
        if isinstance(name, str) and name.startswith(PREFIX) and _of_one_run(name):
            del st.session_state[name]


def refill(store: Store, machine: str | None) -> None:
    """Take the setup of a machine's last run; the shop's last run where it has none.

    Who sews is remembered by the device, since machines pass from hand to hand.
    """
    last = store.last_run(machine=machine) if machine else store.last_run()
    setup: Mapping[str, Any] = last or {}
    for name in KEPT:
        put(name, setup.get(name))
    if operator := st.query_params.get("operator"):
        put("operator", operator)
    put("pieces_last_time", setup.get("pieces_sewn"))
    # Asked once: the fields must not fold away while the first of them is being filled in.
    put("describing", last is None)


def new_reference() -> str:
    """Make a reference that no other run has, short enough to be read out: ``F-7K2M-9QXD``."""
    letters = "".join(secrets.choice(_LETTERS) for _ in range(8))
    return f"F-{letters[:4]}-{letters[4:]}"


def inspected() -> int | None:
    """Pieces inspected: all that were sewn, unless told otherwise."""
    told: int | None = typed("pieces_inspected")
    return typed("pieces_sewn") if told is None else told


def count(name: str) -> int:
    """How often a kind was counted; 0 until it is."""
    return int(typed(name) or 0)


def largest_kind(kinds: tuple[DefectKind, ...]) -> int:
    """The largest count of one kind charged to the setup: at least so many pieces show one."""
    return max((count(each.name) for each in kinds if _on_pieces(each)), default=0)


def defective(kinds: tuple[DefectKind, ...]) -> int:
    """Pieces with any defect: the number told, else the largest count of one kind."""
    return count("pieces_defective") if typed("defective_told") else largest_kind(kinds)


def all_kinds(kinds: tuple[DefectKind, ...]) -> int:
    """The counts of all such kinds together: at most so many pieces show one."""
    return sum(count(each.name) for each in kinds if _on_pieces(each))


def is_clean(kinds: tuple[DefectKind, ...]) -> bool:
    """Whether nothing at all has been counted as wrong."""
    names = (*(each.name for each in kinds), "pieces_spoiled", "pieces_reworked")
    return not any(count(name) for name in names) and not defective(kinds)


def told(store: Store) -> dict[str, Any]:
    """The run at hand as the run sheet's columns; what is empty is not recorded.

    Every kind of the shop is recorded, 0 where none was seen: the form asks for all of them.
    """
    kinds = store.shop.kinds
    run = {name: typed(name) for name in ("run_ref", "machine", *KEPT, *ASIDE)}
    run |= {each.name: count(each.name) for each in kinds}
    run |= {name: count(name) for name in ("pieces_spoiled", "pieces_reworked")}
    run["pieces_defective"] = defective(kinds)
    run |= {"pieces_sewn": typed("pieces_sewn"), "pieces_inspected": inspected()}
    if count("pieces_reworked"):
        run["rework_minutes"] = typed("rework_minutes")
    if count("needle_breaks"):
        run["needle_parts_found"] = typed("needle_parts_found")
    return {name: value for name, value in run.items() if value is not None}


def missing(store: Store) -> dict[str, str]:
    """What must be filled in before the run can be logged, with a sentence for each field."""
    lacks: dict[str, str] = {}
    if not typed("pieces_sewn"):
        lacks["pieces_sewn"] = "How many pieces were sewn? Fill in the number."
    if count("needle_breaks") and typed("needle_parts_found") is None:
        lacks["needle_parts_found"] = (
            "A needle broke: say whether every part of it was found. Answer no if in doubt."
        )
    most = all_kinds(store.shop.kinds)
    if defective(store.shop.kinds) < largest_kind(store.shop.kinds):
        lacks["pieces_defective"] = (
            f"At least {largest_kind(store.shop.kinds)} pieces show a defect (the largest count "
            f"of one kind), and at most {most}."
        )
    return lacks


def _on_pieces(kind: DefectKind) -> bool:
    return kind.measure == "pieces" and kind.charged_to_setup


def _of_one_run(name: str) -> bool:
    stays = {key(each) for each in (*KEPT, "machine", "run_ref", "pieces_last_time", "describing")}
    return name not in stays
