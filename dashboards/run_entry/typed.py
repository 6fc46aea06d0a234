"""What has been typed of the run at hand, kept until it is logged.

Every field lives in Streamlit's session state as ``run.COLUMN``. The values are the page's own:
they outlive a reconnect and a look at another page.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from dashboards.remembered import answer_of
from logbook.runs.column import ASIDE_GROUP, SETUP_GROUPS
from logbook.runs.columns import COLUMNS
from logbook.store import Store
from logbook.vocabulary.defects import DefectKind
from logbook.wording import number

PREFIX = "run."

KEPT: tuple[str, ...] = tuple(each.name for each in COLUMNS if each.form in SETUP_GROUPS)
"""What the next run on a machine starts from; counts never are."""

_WHERE_USED = frozenset(each.name for each in COLUMNS if each.where_used)
ASIDE: tuple[str, ...] = tuple(each.name for each in COLUMNS if each.form == ASIDE_GROUP)
"""Told of one run only, besides its counts."""

OUTCOME: tuple[str, ...] = ("pieces_defective", "pieces_spoiled", "pieces_reworked")
"""Pieces counted whatever the kind."""


def kept(store: Store) -> tuple[str, ...]:
    """What the next run on a machine starts from, the shop's own columns among it."""
    return (*KEPT, *(each.name for each in store.shop.own_columns))


def left_out(store: Store) -> frozenset[str]:
    """Columns that the form does not ask for: the shop does not use them, or makes them."""
    used = {*answer_of(_in_use, store), *store.shop.asked}
    made = {"shift"} - {*store.shop.asked} if store.shop.shifts else set()
    return (_WHERE_USED - used) | made


def _in_use(store: Store) -> tuple[str, ...]:
    return store.in_use()


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


def empty_aside() -> None:
    """Empty what stands on the form whether or not something went wrong.

    Written, since the browser goes on showing what it has of a field that nobody writes. Counts
    are not: what the server writes into a field undoes taps made meanwhile.
    """
    for name in (*ASIDE, "pieces_inspected"):
        put(name, None)
    put("notes", "")


def inspected(of: Callable[[str], Any] = typed) -> int | None:
    """Pieces inspected: all that were sewn, unless told otherwise."""
    told: int | None = of("pieces_inspected")
    return of("pieces_sewn") if told is None else told


def count(name: str, of: Callable[[str], Any] = typed) -> int:
    """How often a kind was counted; 0 until it is."""
    return int(of(name) or 0)


def largest_kind(kinds: tuple[DefectKind, ...], of: Callable[[str], Any] = typed) -> int:
    """The largest count of one kind charged to the setup: at least so many pieces show one."""
    return max((count(each.name, of) for each in kinds if _on_pieces(each)), default=0)


def defective(kinds: tuple[DefectKind, ...], of: Callable[[str], Any] = typed) -> int:
    """Pieces with any defect: the number told, else the largest count of one kind."""
    return count("pieces_defective", of) if of("defective_told") else largest_kind(kinds, of)


def all_kinds(kinds: tuple[DefectKind, ...]) -> int:
    """The counts of all such kinds together: at most so many pieces show one."""
    return sum(count(each.name) for each in kinds if _on_pieces(each))


def is_clean(kinds: tuple[DefectKind, ...]) -> bool:
    """Whether nothing at all has been counted as wrong."""
    names = (*(each.name for each in kinds), "pieces_spoiled", "pieces_reworked")
    return not any(count(name) for name in names) and not defective(kinds)


def told(store: Store, of: Callable[[str], Any] = typed) -> dict[str, Any]:
    """A run as the run sheet's columns; what is empty is not recorded.

    Every kind of the shop is recorded, 0 where none was seen: the form asks for all of them.

    Parameters
    ----------
    store
        The open book.
    of
        What stands in a field; of the form at hand unless told.
    """
    kinds = store.shop.kinds
    run = {name: of(name) for name in ("run_ref", "machine", *kept(store), *ASIDE)}
    run |= {each.name: count(each.name, of) for each in kinds}
    run |= {name: count(name, of) for name in ("pieces_spoiled", "pieces_reworked")}
    run["pieces_defective"] = defective(kinds, of)
    run |= {"pieces_sewn": of("pieces_sewn"), "pieces_inspected": inspected(of)}
    if count("pieces_reworked", of):
        run["rework_minutes"] = of("rework_minutes")
    if count("needle_breaks", of):
        run["needle_parts_found"] = of("needle_parts_found")
    return {name: value for name, value in run.items() if value is not None}


def pieces_words(pieces: int | None) -> str:
    """Say so many pieces: ``24 pieces``, ``1 piece``."""
    return f"{number(pieces or 0)} {'piece' if pieces == 1 else 'pieces'}"


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
