"""The shelf of fabrics, and one fabric."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from dashboards.material_pages.changing import MAY, ask_take_off, describe, field_keys, save, typed
from dashboards.material_pages.shelves import Line, back, cards, used_words
from dashboards.shared import for_reviewers, role
from dashboards.showing import plain_markdown
from logbook.book.materials import Kept
from logbook.book.materials_in_use import FabricOnShelf, describe_fabrics, fabric_shelf
from logbook.runs.materials import ShelfFabric, fabric_from
from logbook.runs.materials.shop_lists import SHEERNESSES, STRETCHES
from logbook.shop import FabricFacts
from logbook.store import Store
from logbook.vocabulary.choices import ChoiceList

SHELF = "fabrics"
EMPTY = "not recorded"
NAMED_AT_MOST = 8


def fabric_list(store: Store) -> None:
    """Draw the fabrics, and the form for a new one."""
    found = fabric_shelf(store)
    if not found.fabrics:
        st.info(
            "No fabric is described yet. Say how far each stretches, how long its pile is and "
            "whether a hand behind it is seen: rules of thumb and advice go by that."
        )
    if found.not_described:
        _only_in_runs(store, found.not_described)
    cards(SHELF, [_card(each) for each in found.fabrics])
    if for_reviewers(MAY):
        with st.expander("Add a fabric", expanded=not (found.fabrics or found.not_described)):
            _form(store, None)


def fabric_page(store: Store, ref: str) -> None:
    """Draw one fabric."""
    back(SHELF)
    each = next((one for one in fabric_shelf(store).fabrics if one.kept.ref == ref), None)
    if each is None:
        st.info("This fabric is not on the list any more.")
        return
    fabric = each.kept.material
    st.header(plain_markdown(fabric.name), anchor=False)
    st.markdown(plain_markdown(f"{attribute_words(fabric.facts)}. {used_words(each.used)}."))
    if fabric.note:
        st.markdown(plain_markdown(fabric.note))
    words = "" if each.in_settings is None else attribute_words(each.in_settings)
    if words and words != attribute_words(fabric.facts):
        st.caption(
            plain_markdown(
                f"shop.toml says: {words}. What is written here comes first; what is not "
                "recorded here is taken from there."
            )
        )
    if for_reviewers(MAY):
        with st.expander("Change what is known of it"):
            _form(store, each.kept)
        ask_take_off(store, SHELF, each.kept)


def attribute_words(facts: FabricFacts) -> str:
    """Say what is known of a fabric: ``Low stretch, no pile, half sheer, 210 g/m²``."""
    parts = []
    if facts.stretch is not None:
        parts.append(STRETCHES.label_of(facts.stretch).lower())
    if facts.pile_mm is not None:
        parts.append("no pile" if facts.pile_mm == 0 else f"pile of {facts.pile_mm:g} mm")
    if facts.sheerness is not None:
        parts.append(SHEERNESSES.label_of(facts.sheerness).lower())
    if facts.gsm is not None:
        parts.append(f"{facts.gsm:g} g/m²")
    said = ", ".join(parts) or "nothing recorded of it yet"
    return said[:1].upper() + said[1:]


def _only_in_runs(store: Store, names: tuple[str, ...]) -> None:
    count = len(names)
    shown = ", ".join(names[:NAMED_AT_MOST])
    more = f" and {count - NAMED_AT_MOST} more" if count > NAMED_AT_MOST else ""
    st.info(
        f"**{count} fabric{' is' if count == 1 else 's are'} named in your runs or in shop.toml "
        f"and not described yet.** {plain_markdown(f'{shown}{more}.')}"
    )
    if role() == "reviewer":
        st.button(
            "List it" if count == 1 else f"List all {count}",
            type="primary",
            on_click=describe,
            args=(store, describe_fabrics, "fabric" if count == 1 else "fabrics"),
        )


def _card(each: FabricOnShelf) -> tuple[str, str, list[Line]]:
    fabric = each.kept.material
    lines = [Line(attribute_words(fabric.facts)), Line(used_words(each.used), "quiet")]
    return each.kept.ref, fabric.name, lines


def _form(store: Store, seen: Kept[ShelfFabric] | None) -> None:
    key = field_keys(SHELF, seen, "details")
    now = None if seen is None else seen.material
    with st.form(key("form"), border=False):
        st.text_input("Name, as in the runs", value=now.name if now else "", key=key("name"))
        first, second = st.columns(2)
        _choice(first, STRETCHES, now.stretch if now else None, key("stretch"))
        _choice(second, SHEERNESSES, now.sheerness if now else None, key("sheerness"))
        first, second = st.columns(2)
        _number(first, "Pile (mm)", now.pile_mm if now else None, key("pile_mm"), 0.5)
        _number(second, "Weight (g/m²)", now.gsm if now else None, key("gsm"), 5.0)
        st.text_input("Note", value=(now.note if now else None) or "", key=key("note"))
        st.form_submit_button(
            "Add this fabric" if now is None else "Save the fabric",
            type="primary",
            on_click=save,
            args=(store, SHELF, seen, lambda: _made(key), "{} is kept."),
        )


def _made(key: Callable[[str], str]) -> ShelfFabric:
    return fabric_from({name: typed(key(name)) for name in ShelfFabric.__dataclass_fields__})


def _choice(place: Any, choices: ChoiceList, now: str | None, key: str) -> None:
    place.selectbox(
        choices.label,
        choices.values,
        index=None if now is None else choices.values.index(now),
        format_func=choices.label_of,
        key=key,
        placeholder=EMPTY,
        help="  \n".join(f"**{each.label}**: {each.says}" for each in choices.choices),
    )


def _number(place: Any, words: str, value: float | None, key: str, step: float) -> None:
    place.number_input(
        words,
        min_value=0.0,
        value=value,
        step=step,
        format="%.6g",
        key=key,
        placeholder=EMPTY,
    )
