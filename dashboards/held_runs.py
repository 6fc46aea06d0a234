"""Runs held for missing needle parts: red on top of every page until they are released."""

from __future__ import annotations

import streamlit as st

from dashboards.remembered import answer_of
from dashboards.review_parts import run_address
from dashboards.showing import plain_markdown
from logbook.questions.review.reading import held_everywhere
from logbook.store import Store
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD

NAMED = 5
IN_SHORT = "Not every part of a broken needle is recorded as found: release nothing of it."


def say_held_runs(store: Store, *, in_full: bool = False) -> None:
    """Name every held run of the book, each leading to where it is released.

    Parameters
    ----------
    store
        The open book.
    in_full
        Whether the whole caution stands beside the names.
    """
    held = answer_of(held_everywhere, store)
    if not held:
        return
    names = [
        f"[{plain_markdown(each.run_ref)}]({run_address(each.run_ref)}) of {each.day_words()}"
        for each in held
    ]
    if more := names[NAMED:]:
        names = [*names[:NAMED], f"[{len(more)} more](/runs?held=yes)"]
    st.error(f"**Held: {', '.join(names)}.** {BROKEN_NEEDLE_HELD if in_full else IN_SHORT}")
