"""What the pages' own fields leave out in the browser: words not entered, a line that is down.

Streamlit hears of a typed field when it is left, and drops a new name in a list that is left
without Enter. A small script enters what is typed as soon as the typing pauses, and hands over
the name that would be dropped. When a lost line is back it asks for the page anew, so that a
service started meanwhile takes up the run. It draws nothing.
"""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from dashboards.css import component_file

_HEARS = st.components.v2.component("what_is_typed", js=component_file("hear_typing.js"))
_BEGINS_AT_THE_TOP = st.components.v2.component(
    "begins_at_the_top", js=component_file("begin_at_top.js")
)


def begin_at_the_top(place: str) -> None:
    """Show the page from its top whenever ``place`` is another one than before.

    The browser stays where it was: below the words that a held run is to be seen by.
    """
    _BEGINS_AT_THE_TOP(key="begins_at_the_top", data={"place": place})


def listen(left: Callable[[str, str], None]) -> None:
    """Hear what is typed on this page.

    Parameters
    ----------
    left
        Told the label of a list and the new name with which it was left.
    """

    def told() -> None:
        state = st.session_state.get("what_is_typed")
        words = None if state is None else state.get("left")
        if words is not None:
            left(str(words[0]), str(words[1]))

    _HEARS(key="what_is_typed", on_left_change=told, on_back_change=_nothing)


def _nothing() -> None:
    """Being asked is enough: the page is drawn anew."""
