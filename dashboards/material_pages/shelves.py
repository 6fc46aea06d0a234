"""The four shelves, the material that is open, and cards side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from html import escape

import streamlit as st

from dashboards.showing import plain_markdown
from logbook.book.materials_in_use import Used
from logbook.wording import number

SHELVES: Mapping[str, str] = {
    "backings": "Backings",
    "toppings": "Toppings",
    "fabrics": "Fabrics",
    "suppliers": "Suppliers",
}
"""Drawer → what the page calls it."""
SINGLE: Mapping[str, str] = {
    "backings": "backing",
    "toppings": "topping",
    "fabrics": "fabric",
    "suppliers": "supplier",
}
_CHOSEN = "materials-shelf"


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a card: its words, and whether it leads, stands back or warns."""

    words: str
    kind: str = ""
    """``lead`` (beside the name), ``quiet``, ``watch``, two of them, or nothing."""


def chosen_shelf() -> str:
    """Ask which shelf; the address remembers it."""
    told = st.query_params.get("shelf")
    first = told if told in SHELVES else next(iter(SHELVES))
    # Filled from the address once; from then on the field itself knows.
    default = None if _CHOSEN in st.session_state else first
    chosen = st.segmented_control(
        "Shelf",
        list(SHELVES),
        default=default,
        required=True,
        format_func=SHELVES.__getitem__,
        key=_CHOSEN,
        label_visibility="collapsed",
        on_change=close,
    )
    shelf = str(chosen or first)
    st.query_params["shelf"] = shelf
    return shelf


def opened() -> str | None:
    """The material that the address names; None for the whole shelf."""
    return st.query_params.get("material")


def open_one(ref: str) -> None:
    """Open a material."""
    st.query_params["material"] = ref


def close() -> None:
    """Go back to the whole shelf."""
    st.query_params.pop("material", None)


def back(shelf: str) -> None:
    """Offer the way back to the shelf."""
    st.button(f"← All {SHELVES[shelf].lower()}", on_click=close, type="tertiary")


def cards(shelf: str, found: Sequence[tuple[str, str, Sequence[Line]]]) -> None:
    """Put materials side by side, one below the other on a phone; each opens.

    Parameters
    ----------
    shelf
        The collection.
    found
        Reference, what the card is called, and its lines.
    """
    with st.container(key=f"shelf_{shelf}_{_group(found)}"):
        for ref, words, lines in found:
            with st.container(border=True, key=f"material_{shelf}_{_mark(ref)}"):
                lead = [line for line in lines if line.kind.startswith("lead")]
                with st.container(
                    horizontal=True,
                    horizontal_alignment="distribute",
                    vertical_alignment="center",
                    wrap=True,
                ):
                    st.button(
                        plain_markdown(words),
                        key=f"open-{shelf}-{ref}",
                        type="tertiary",
                        on_click=open_one,
                        args=(ref,),
                    )
                    for line in lead:
                        st.html(_said(line), width="content")
                st.html("".join(_said(line) for line in lines if line not in lead))


def used_words(used: Used) -> str:
    """Say what the runs did with a material."""
    if not used.runs:
        return "In no run yet"
    runs = f"{number(used.runs)} run{'' if used.runs == 1 else 's'}"
    pieces = f"{number(used.pieces)} piece{'' if used.pieces == 1 else 's'}"
    last = "" if used.last is None else f"; last {short_day(used.last)}"
    return f"{runs}, {pieces}{last}"


def short_day(day: date) -> str:
    """Say a day where room is dear: ``5 Oct 2026``."""
    return f"{day.day} {day:%b %Y}"


def _said(line: Line) -> str:
    return f'<p class="on-card {line.kind}">{escape(line.words)}</p>'


def _group(found: Sequence[tuple[str, str, Sequence[Line]]]) -> str:
    return _mark(found[0][0]) if found else "none"


def _mark(ref: str) -> str:
    """A name for the style sheet: letters and digits only, and no two alike."""
    return "".join(
        each if each.isascii() and each.isalnum() else f"_{ord(each):x}_" for each in ref
    )
