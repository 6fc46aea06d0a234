"""The shelf of suppliers, and one supplier."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from dashboards.material_pages.changing import MAY, ask_take_off, describe, field_keys, save, typed
from dashboards.material_pages.shelves import Line, back, cards, used_words
from dashboards.shared import for_reviewers, role
from dashboards.showing import plain_markdown
from logbook.book.materials import Kept
from logbook.book.materials_in_use import (
    SupplierOnShelf,
    SupplierShelf,
    describe_suppliers,
    supplier_shelf,
)
from logbook.runs.materials import SharedMill, Supplier, supplier_from
from logbook.store import Store
from logbook.vocabulary.backings import BACKINGS

SHELF = "suppliers"
EMPTY = "not recorded"
EVERY = "every backing"


def supplier_list(store: Store) -> None:
    """Draw the suppliers, and the form for a new one."""
    found = supplier_shelf(store)
    if not found.suppliers:
        st.info(
            "No supplier is described yet. Write down how to reach them, and whose backing comes "
            "from the same mill: comparisons then say so."
        )
    if count := len(found.not_described):
        names = plain_markdown(", ".join(found.not_described))
        st.info(
            f"**{count} supplier{' is' if count == 1 else 's are'} named in your runs or on your "
            f"shelves and not described yet.** {names}."
        )
        if role() == "reviewer":
            st.button(
                "List it" if count == 1 else f"List all {count}",
                type="primary",
                on_click=describe,
                args=(store, describe_suppliers, "supplier" if count == 1 else "suppliers"),
            )
    cards(SHELF, [_card(each) for each in found.suppliers])
    if for_reviewers(MAY):
        with st.expander("Add a supplier", expanded=not (found.suppliers or found.not_described)):
            _form(store, found, None)


def supplier_page(store: Store, ref: str) -> None:
    """Draw one supplier."""
    back(SHELF)
    found = supplier_shelf(store)
    each = next((one for one in found.suppliers if one.kept.ref == ref), None)
    if each is None:
        st.info("This supplier is not on the list any more.")
        return
    supplier = each.kept.material
    st.header(plain_markdown(supplier.name), anchor=False)
    st.markdown(plain_markdown(f"How to reach them: {supplier.contact or EMPTY}."))
    st.markdown(plain_markdown(f"{_listed(each)}. {used_words(each.used)}."))
    for mill in supplier.same_mill:
        st.markdown(plain_markdown(f"{_mill(mill)}."))
    if supplier.note:
        st.markdown(plain_markdown(supplier.note))
    if for_reviewers(MAY):
        with st.expander("Change what is known of them"):
            _form(store, found, each.kept)
        ask_take_off(store, SHELF, each.kept)


def _card(each: SupplierOnShelf) -> tuple[str, str, list[Line]]:
    supplier = each.kept.material
    lines = [Line(supplier.contact or "How to reach them is not recorded")]
    lines += [Line(_mill(mill)) for mill in supplier.same_mill]
    lines += [Line(_listed(each), "quiet"), Line(used_words(each.used), "quiet")]
    return each.kept.ref, supplier.name, lines


def _mill(mill: SharedMill) -> str:
    what = "Backing" if mill.backing is None else BACKINGS.label_of(mill.backing)
    return f"{what} believed to be of the same mill as {mill.supplier}'s"


def _listed(each: SupplierOnShelf) -> str:
    count = each.listed
    return f"{count or 'None'} of their materials {'is' if count == 1 else 'are'} listed"


def _form(store: Store, found: SupplierShelf, seen: Kept[Supplier] | None) -> None:
    key = field_keys(SHELF, seen, "details")
    now = None if seen is None else seen.material
    others = [each.kept.material.name for each in found.suppliers] + list(found.not_described)
    others += [mill.supplier for mill in (now.same_mill if now else ())]
    others = [name for name in dict.fromkeys(others) if now is None or name != now.name]
    told = {mill.supplier: mill.backing for mill in (now.same_mill if now else ())}
    with st.form(key("form"), border=False):
        st.text_input("Name, as in the runs", value=now.name if now else "", key=key("name"))
        st.text_input(
            "How to reach them",
            value=(now.contact if now else None) or "",
            key=key("contact"),
            placeholder="Who, where, when they deliver",
        )
        if others:
            first, second = st.columns(2)
            first.multiselect(
                "Same mill as",
                others,
                default=list(told),
                key=key("mills"),
                placeholder="none that you know of",
            )
            kinds = [value for value in BACKINGS.values if value != "none"]
            shared = next(iter(told.values()), None)
            second.selectbox(
                "For which backing",
                kinds,
                index=None if shared is None else kinds.index(shared),
                format_func=BACKINGS.label_of,
                key=key("mill-backing"),
                placeholder=EVERY,
            )
        st.text_input("Note", value=(now.note if now else None) or "", key=key("note"))
        st.form_submit_button(
            "Add this supplier" if now is None else "Save the supplier",
            type="primary",
            on_click=save,
            args=(store, SHELF, seen, lambda: _made(key, now), "{} is kept."),
        )


def _made(key: Callable[[str], str], now: Supplier | None) -> Supplier:
    told = {name: typed(key(name)) for name in ("name", "contact", "note")}
    backing = typed(key("mill-backing"))
    before = {mill.supplier: mill.backing for mill in (now.same_mill if now else ())}
    first = next(iter(before.values()), None)
    mills = []
    for name in typed(key("mills")) or ():
        # One field serves all: a belief about another backing stays, unless the field was changed.
        kept = before[name] if name in before and backing == first else backing
        mills.append({"supplier": name, "backing": kept})
    return supplier_from(told | {"same_mill": mills})
