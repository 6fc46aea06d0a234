"""One field of the run sheet as a widget, by its type."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from dashboards.run_entry.setup_words import size_words
from dashboards.run_entry.typed import key, put, typed
from dashboards.shared import column_of
from logbook.book.runs import known_spellings
from logbook.runs.columns import Column, columns_with
from logbook.store import Store
from logbook.vocabulary.fabrics import FABRICS
from logbook.vocabulary.needles import NEEDLE_SIZES_NM

EMPTY = "not recorded"


def field(store: Store, name: str, changed: Callable[[Store], None] | None = None) -> None:
    """Draw the widget of one column, filled with what is typed.

    Parameters
    ----------
    store
        The open book.
    name
        Of the column; it is one of an open list where ``changed`` is given.
    changed
        Told when another value is chosen.
    """
    column = column_of(name, store.shop.own)
    if name == "needle_nm":
        _needle_size(column)
    elif column.choices is not None:
        _choice(column)
    elif column.open_list:
        _open_list(store, column, changed)
    elif column.type == "boolean":
        _yes_or_no(column)
    elif column.type == "moment":
        st.datetime_input(column.label, None, key=key(name), help=column.says)
    elif column.role == "note":
        st.text_area(column.label, key=key(name), placeholder="anything worth knowing")
    elif column.type == "text":
        st.text_input(column.label, key=key(name), placeholder=EMPTY)
    else:
        _number(column)


def label(column: Column) -> str:
    """Name a field with its unit."""
    return f"{column.label} ({column.unit_beside})" if column.unit_beside else column.label


def take_left(store: Store, label_: str, words: str) -> None:
    """Take the new name that a list was left with, as if it had been entered."""
    for column in columns_with(store.shop.own):
        if column.open_list and label(column) == label_:
            put(column.name, words[: column.longest])
            return


def _choice(column: Column) -> None:
    assert column.choices is not None
    says = [f"**{each.label}**: {each.says}" for each in column.choices.choices if each.says]
    _select(
        column,
        column.choices.values,
        format_func=column.choices.label_of,
        help="  \n".join(says),
    )


def _needle_size(column: Column) -> None:
    sizes = sorted({*NEEDLE_SIZES_NM, *([typed(column.name)] if typed(column.name) else [])})
    _select(column, sizes, format_func=size_words)


def _yes_or_no(column: Column) -> None:
    _select(column, (True, False), format_func=lambda value: "Yes" if value else "No")


def _open_list(store: Store, column: Column, changed: Callable[[Store], None] | None) -> None:
    then: dict[str, Any] = {} if changed is None else {"on_change": changed, "args": (store,)}
    known = list(known_spellings(store)[column.name])
    if column.name == "fabric":
        known += [each.label for each in FABRICS if each.label.lower() not in map(str.lower, known)]
    if not known:
        # Nothing to choose from: a plain field keeps what is typed even without Enter.
        st.text_input(label(column), key=key(column.name), placeholder=EMPTY, **then)
    else:
        how = "choose, or type a new one"
        _select(column, known, accept_new_options=True, placeholder=how, **then)


def _select(column: Column, options: Any, **how: Any) -> None:
    how = {"placeholder": EMPTY, **how}
    st.selectbox(label(column), options, index=None, key=key(column.name), **how)


def _number(column: Column) -> None:
    whole = column.type == "integer"
    lowest = column.lowest if column.lowest is not None else column.above or 0
    st.number_input(
        label(column),
        min_value=int(lowest) if whole else float(lowest),
        max_value=None if column.highest is None else _as(whole, column.highest),
        value=None,
        step=1 if whole else column.step or 0.1,
        format="%d" if whole else "%.6g",
        key=key(column.name),
        placeholder=EMPTY,
        help=column.says or None,
    )


def _as(whole: bool, value: float) -> float:
    return int(value) if whole else float(value)
