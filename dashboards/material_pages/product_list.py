"""The shelf of backings, and that of toppings."""

from __future__ import annotations

from itertools import groupby

import streamlit as st

from dashboards.material_pages import product_forms
from dashboards.material_pages.changing import MAY, describe
from dashboards.material_pages.product_words import price_today, short_name
from dashboards.material_pages.shelves import Line, cards, used_words
from dashboards.shared import for_reviewers, role
from dashboards.showing import plain_markdown
from logbook.book.materials_in_use import (
    ProductOnShelf,
    ProductShelf,
    describe_backings,
    product_shelf,
)
from logbook.runs.materials import SORTS, Sort
from logbook.store import Store
from logbook.wording import number

NAMED_AT_MOST = 6


def product_list(store: Store, shelf: str, sort: Sort) -> None:
    """Draw a shelf: what runs name and nobody described, the cards, the form for a new one."""
    found = product_shelf(store, sort)
    if not found.products:
        _empty(store, found)
    _only_in_runs(store, found)
    for kind, products in groupby(found.products, key=lambda each: each.kept.material.type_label):
        st.subheader(kind)
        cards(shelf, [_card(store, each) for each in products])
    if found.unclear_runs:
        st.caption(
            f"{_runs(found.unclear_runs)} could be of several of these, as the weight, shade or "
            "supplier is not recorded: counted for none."
        )
    if for_reviewers(MAY):
        with st.expander(f"Add a {sort}", expanded=not (found.products or found.not_described)):
            product_forms.details(store, shelf, sort, None)


def _empty(store: Store, found: ProductShelf) -> None:
    st.info(
        f"No {found.sort} is described yet. Write down who sells it and what it costs: the price "
        "then counts in the cost of a good piece and in the advice on setups; the maker's "
        "directions stand where they are needed."
        + (
            ""
            if store.count() or found.sort == "topping"
            else " Once runs name their backing, the list can be started from them in one tap."
        )
    )


def _only_in_runs(store: Store, found: ProductShelf) -> None:
    if found.types_not_described:
        types = ", ".join(
            SORTS[found.sort].label_of(each).lower() for each in found.types_not_described
        )
        st.info(plain_markdown(f"Your runs use {types}; who sells it is not described yet."))
    if not found.not_described:
        return
    count = len(found.not_described)
    one = count == 1
    names = "; ".join(each.name for each in found.not_described[:NAMED_AT_MOST])
    more = f"; and {count - NAMED_AT_MOST} more" if count > NAMED_AT_MOST else ""
    st.info(
        f"**{count} backing{' is' if one else 's are'} named in your runs and not described yet.** "
        + plain_markdown(f"{names}{more}.")
    )
    if role() == "reviewer":
        st.button(
            f"List {'it' if one else f'all {count}'}",
            type="primary",
            on_click=describe,
            args=(store, describe_backings, "backing" if one else "backings"),
        )


def _card(store: Store, each: ProductOnShelf) -> tuple[str, str, list[Line]]:
    product = each.kept.material
    lines = [price_today(each, store.shop.currency), Line(used_words(each.used))]
    if each.in_settings is not None:
        lines.append(Line("The price is that of shop.toml", "quiet"))
    if product.lots:
        count = len(product.lots)
        lines.append(Line(f"{count} lot{'' if count == 1 else 's'} came in", "quiet"))
    if each.lots_not_listed:
        count = len(each.lots_not_listed)
        lines.append(
            Line(f"{count} lot{'' if count == 1 else 's'} in runs and not in the list", "watch")
        )
    return each.kept.ref, short_name(product), lines


def _runs(count: int) -> str:
    return f"{number(count)} run{'' if count == 1 else 's'}"
