"""The forms of a backing or topping: details, prices, lots."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import streamlit as st

from dashboards.material_pages.changing import field_keys, save, typed
from dashboards.material_pages.product_words import price_words, quantity_words
from dashboards.showing import plain_markdown
from logbook.book.materials import Kept, pricing_day, suppliers
from logbook.book.materials_in_use import ProductOnShelf
from logbook.good_piece import same_word
from logbook.runs.materials import (
    LOT_UNITS,
    SORTS,
    LotReceived,
    PriceStep,
    Product,
    Sort,
    product_from,
)
from logbook.store import Store
from logbook.vocabulary.backings import BACKING_SHADES
from logbook.vocabulary.choices import ChoiceList

EMPTY = "not recorded"
DAYS = "DD/MM/YYYY"
PER_M2, PER_ROLL = "a square metre", "a roll"


def details(store: Store, shelf: str, sort: Sort, seen: Kept[Product] | None) -> None:
    """Ask for all but prices and lots; of a new one the first price too."""
    key = field_keys(shelf, seen, "details")
    now = None if seen is None else seen.material
    with st.form(key("form"), border=False):
        _what(store, sort, now, key)
        if now is None:
            st.number_input(
                f"Price today, {store.shop.currency} per m²",
                min_value=0.0,
                value=None,
                step=0.01,
                format="%.6g",
                key=key("price"),
                placeholder=EMPTY,
            )
        _use(now, key)
        st.form_submit_button(
            f"Add this {sort}" if now is None else "Save the details",
            type="primary",
            on_click=save,
            args=(store, shelf, seen, lambda: _made(store, sort, now, key), "{} is kept."),
        )


def new_price(store: Store, shelf: str, seen: Kept[Product]) -> None:
    """Ask for a price and the day from which it holds."""
    key = field_keys(shelf, seen, "price")
    with st.form(key("form"), border=False):
        first, second = st.columns(2)
        first.date_input("From", value=pricing_day(store), format=DAYS, key=key("since"))
        second.number_input(
            f"Price, {store.shop.currency}",
            min_value=0.0,
            value=None,
            step=0.01,
            format="%.6g",
            key=key("amount"),
            placeholder=EMPTY,
        )
        roll = _roll(seen.material)
        by_roll = int(roll != (None, None))
        st.radio("It is for", (PER_M2, PER_ROLL), index=by_roll, horizontal=True, key=key("per"))
        width, length = st.columns(2)
        for place, words, name, value in (
            (width, "Width of the roll (cm)", "width_cm", roll[0]),
            (length, "Length of the roll (m)", "length_m", roll[1]),
        ):
            place.number_input(
                words,
                min_value=0.0,
                value=value,
                step=1.0,
                format="%.6g",
                key=key(name),
                placeholder="for a roll",
            )
        st.form_submit_button(
            "Save the price",
            type="primary",
            on_click=save,
            args=(store, shelf, seen, lambda: _with_price(seen.material, key), "{}: price kept."),
        )


def new_lot(store: Store, shelf: str, each: ProductOnShelf) -> None:
    """Ask for a lot that came in; those that only runs name are offered."""
    seen = each.kept
    key = field_keys(shelf, seen, "lot")
    with st.form(key("form"), border=False):
        first, second = st.columns(2)
        if each.lots_not_listed:
            first.selectbox(
                "Lot",
                each.lots_not_listed,
                index=None,
                accept_new_options=True,
                key=key("lot"),
                placeholder="choose, or type and press Enter",
            )
        else:
            first.text_input("Lot", key=key("lot"), placeholder="as on its label")
        second.date_input("Came in on", value=None, format=DAYS, key=key("day"))
        amount, unit = st.columns(2)
        amount.number_input(
            "How much",
            min_value=0.0,
            value=None,
            step=1.0,
            format="%.6g",
            key=key("quantity"),
            placeholder=EMPTY,
        )
        unit.selectbox("In", list(LOT_UNITS), format_func=LOT_UNITS.__getitem__, key=key("unit"))
        st.form_submit_button(
            "Save the lot",
            type="primary",
            on_click=save,
            args=(store, shelf, seen, lambda: _with_lot(seen.material, key), "{}: lot kept."),
        )


def take_out(store: Store, shelf: str, seen: Kept[Product]) -> None:
    """Offer to take out a price or a lot; earlier versions keep it."""
    product, key = seen.material, field_keys(shelf, seen, "out")
    currency = store.shop.currency
    if product.prices:
        st.selectbox(
            "Price",
            list(reversed(product.prices)),
            format_func=lambda step: price_words(step, currency),
            key=key("price"),
        )
        st.button(
            "Take out this price",
            key=key("price-out"),
            on_click=save,
            args=(store, shelf, seen, lambda: _less_price(product, key), "{}: price taken out."),
        )
    if product.lots:
        st.selectbox("Lot", list(reversed(product.lots)), format_func=_lot_words, key=key("lot"))
        st.button(
            "Take out this lot",
            key=key("lot-out"),
            on_click=save,
            args=(store, shelf, seen, lambda: _less_lot(product, key), "{}: lot taken out."),
        )


def _what(store: Store, sort: Sort, now: Product | None, key: Callable[[str], str]) -> None:
    first, second = st.columns(2)
    known = [each.material.name for each in suppliers(store)]
    known += [name for name in store.known("backing_supplier") if not _among(name, known)]
    if now is not None and now.supplier not in known:
        known.append(now.supplier)
    if known:
        first.selectbox(
            "Supplier",
            known,
            index=None if now is None else known.index(now.supplier),
            accept_new_options=True,
            key=key("supplier"),
            placeholder="choose, or type and press Enter",
        )
    else:
        first.text_input("Supplier", key=key("supplier"))
    _choice(second, SORTS[sort], now.type if now else None, key("type"), without="none")
    first, second = st.columns(2)
    first.number_input(
        "Weight (g/m²)",
        min_value=0.0,
        value=now.gsm if now else None,
        step=5.0,
        format="%.6g",
        key=key("gsm"),
        placeholder="every weight",
    )
    if sort == "backing":
        _choice(
            second, BACKING_SHADES, now.shade if now else None, key("shade"), empty="every shade"
        )


def _use(now: Product | None, key: Callable[[str], str]) -> None:
    st.text_area(
        "The maker's directions",
        value=(now.directions if now else None) or "",
        key=key("directions"),
        placeholder="Word for word, as on the leaflet",
    )
    st.markdown("Heat setting, only as its maker gives it")
    heat = now.heat if now else None
    first, second, third = st.columns(3)
    for place, words, name, value in (
        (first, "Temperature (°C)", "celsius", heat.celsius if heat else None),
        (second, "Time (seconds)", "seconds", heat.seconds if heat else None),
    ):
        place.number_input(
            words,
            min_value=0.0,
            value=value,
            step=1.0,
            format="%.6g",
            key=key(name),
            placeholder=EMPTY,
        )
    third.text_input(
        "Pressure",
        value=(heat.pressure if heat else None) or "",
        key=key("pressure"),
        placeholder=EMPTY,
    )
    st.text_input("Note", value=(now.note if now else None) or "", key=key("note"))


def _choice(
    place: Any,
    choices: ChoiceList,
    now: str | None,
    key: str,
    *,
    without: str | None = None,
    empty: str = EMPTY,
) -> None:
    values = [value for value in choices.values if value != without]
    place.selectbox(
        choices.label,
        values,
        index=None if now is None else values.index(now),
        format_func=choices.label_of,
        key=key,
        placeholder=empty,
    )


def _made(store: Store, sort: Sort, now: Product | None, key: Callable[[str], str]) -> Product:
    told = {name: typed(key(name)) for name in ("supplier", "type", "gsm", "directions", "note")}
    if sort == "backing":
        told["shade"] = typed(key("shade"))
    told["heat"] = {name: typed(key(name)) for name in ("celsius", "seconds", "pressure")}
    before = {} if now is None else now.plain()
    kept = {name: before[name] for name in ("prices", "lots") if name in before}
    if now is None and typed(key("price")) is not None:
        kept["prices"] = [{"since": pricing_day(store), "amount": typed(key("price"))}]
    return product_from(sort, told | kept)


def _with_price(product: Product, key: Callable[[str], str]) -> Product:
    entry = {"since": typed(key("since")), "amount": typed(key("amount"))}
    if typed(key("per")) == PER_ROLL:
        # A roll without a size is refused in words: its width is missing then.
        entry |= {name: typed(key(name)) or 0.0 for name in ("width_cm", "length_m")}
    before = product.plain()
    return product_from(product.sort, before | {"prices": [*before.get("prices", ()), entry]})


def _with_lot(product: Product, key: Callable[[str], str]) -> Product:
    entry = {name: typed(key(name)) for name in ("lot", "day", "quantity", "unit")}
    before = product.plain()
    return product_from(product.sort, before | {"lots": [*before.get("lots", ()), entry]})


def _less_price(product: Product, key: Callable[[str], str]) -> Product:
    out: PriceStep = typed(key("price"))
    return replace(product, prices=tuple(step for step in product.prices if step != out))


def _less_lot(product: Product, key: Callable[[str], str]) -> Product:
    out: LotReceived = typed(key("lot"))
    return replace(product, lots=tuple(lot for lot in product.lots if lot != out))


def _lot_words(lot: LotReceived) -> str:
    return plain_markdown(lot.lot) + ("" if lot.quantity is None else f", {quantity_words(lot)}")


def _roll(product: Product) -> tuple[float | None, float | None]:
    """The size of the roll of the newest price, which most likely stays."""
    newest = product.prices[-1].roll if product.prices else None
    return (None, None) if newest is None else (newest.width_cm, newest.length_m)


def _among(name: str, known: list[str]) -> bool:
    return any(same_word(name, each) for each in known)
