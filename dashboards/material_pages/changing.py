"""Changing materials: what is typed becomes a new version, unless somebody else was faster."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from dashboards.material_pages.shelves import SINGLE, close, open_one
from dashboards.shared import explain
from dashboards.showing import plain_markdown
from logbook.book.materials import (
    Kept,
    keep_material,
    take_off,
)
from logbook.errors import LogbookError
from logbook.runs.materials import Product, ShelfFabric, Supplier
from logbook.store import Store

SOURCE = "Materials page"
TOLD = "materials-told"
MAY = "Changing materials"

Material = Product | ShelfFabric | Supplier


def tell() -> None:
    """Say once what became of the last change."""
    outcome = st.session_state.pop(TOLD, None)
    if isinstance(outcome, LogbookError):
        explain(outcome)
    elif outcome is not None:
        st.success(plain_markdown(outcome))


def field_keys(shelf: str, seen: Kept[Any] | None, part: str) -> Callable[[str], str]:
    """Name the fields of a form: anew for each version, so that what was kept empties them.

    A form for what is new is emptied when something new was kept.
    """
    of = f"new{st.session_state.get(_count(shelf), 0)}" if seen is None else ""
    version = "" if seen is None else f"{seen.ref}-{seen.version}"
    return lambda name: f"{shelf}-{part}-{of}{version}-{name}"


def typed(key: str) -> Any:
    """What stands in a field; an empty text is nothing."""
    value = st.session_state.get(key)
    return None if value == "" else value


def save(
    store: Store,
    shelf: str,
    seen: Kept[Any] | None,
    made: Callable[[], Material],
    said: str,
) -> None:
    """Keep what is typed in place of what was on the screen; for the callback of a button.

    Parameters
    ----------
    store
        The open book.
    shelf
        The collection.
    seen
        What was on the screen; None for something new.
    made
        Reads the fields.
    said
        What to tell afterwards; ``{}`` stands for the name.
    """
    try:
        kept = keep_material(store, made(), source=SOURCE, seen=seen)
    except LogbookError as problem:
        st.session_state[TOLD] = problem
        return
    st.session_state[TOLD] = said.format(kept.material.name)
    if seen is None:
        st.session_state[_count(shelf)] = st.session_state.get(_count(shelf), 0) + 1
        open_one(kept.ref)


def ask_take_off(store: Store, shelf: str, seen: Kept[Any]) -> None:
    """Offer to take a material off the shelf."""
    key = field_keys(shelf, seen, "off")("why")
    with st.expander(f"Take this {SINGLE[shelf]} off the list"):
        st.write("It is no longer listed, and its price no longer counts. Its history stays.")
        st.text_input("Why?", key=key, placeholder="Such as: not sold any more")
        st.button("Take it off", on_click=_take_off, args=(store, shelf, seen, key))


def describe(store: Store, describe_all: Callable[..., int], words: str) -> None:
    """List at once what runs name; for the callback of a button."""
    try:
        count = describe_all(store, source=SOURCE)
    except LogbookError as problem:
        st.session_state[TOLD] = problem
        return
    st.session_state[TOLD] = f"{count} {words} listed. Open each to add what you know of it."


def _take_off(store: Store, shelf: str, seen: Kept[Any], key: str) -> None:
    try:
        take_off(store, shelf, seen, why=typed(key) or "", source=SOURCE)
    except LogbookError as problem:
        st.session_state[TOLD] = problem
        return
    st.session_state[TOLD] = f"{seen.material.name} is off the list."
    close()


def _count(shelf: str) -> str:
    return f"materials-new-{shelf}"
