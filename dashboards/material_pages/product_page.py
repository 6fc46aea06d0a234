"""One backing or topping: price, use, directions, heat, lots, and its changes."""

from __future__ import annotations

import streamlit as st

from dashboards.material_pages import product_forms
from dashboards.material_pages.changing import MAY, ask_take_off
from dashboards.material_pages.product_words import (
    HEATED,
    cautions_of,
    heat_words,
    price_words,
    quantity_words,
)
from dashboards.material_pages.shelves import back, short_day, used_words
from dashboards.shared import for_reviewers
from dashboards.showing import plain_markdown, show_figure
from dashboards.tables import Heading, table
from logbook.book.materials_in_use import ProductOnShelf, product_shelf
from logbook.charts import prices
from logbook.charts.prices import PriceHistory
from logbook.good_piece import same_word
from logbook.runs.materials import Product, Sort
from logbook.store import Store
from logbook.vocabulary.backings import BACKING_FACTS
from logbook.wording import money

FEWEST_DRAWN = 2
"""One price is said, not drawn."""


def product_page(store: Store, shelf: str, sort: Sort, ref: str) -> None:
    """Draw what is known of one product; the readable first, its changes below."""
    back(shelf)
    found = product_shelf(store, sort)
    each = next((one for one in found.products if one.kept.ref == ref), None)
    if each is None:
        st.info("This is not on the list any more: it was taken off, or never stood there.")
        return
    product = each.kept.material
    st.header(plain_markdown(product.name), anchor=False)
    if len(product.prices) < FEWEST_DRAWN:
        _price(store, each)
    else:
        said, drawn = st.columns([2, 3])
        with said:
            _price(store, each)
        with drawn:
            history = PriceHistory(product, found.day, store.shop.currency)
            show_figure(prices.draw, history, key=f"prices-{ref}")
    _use(product)
    _lots(each)
    if for_reviewers(MAY):
        _changes(store, shelf, sort, each)


def _price(store: Store, each: ProductOnShelf) -> None:
    currency = store.shop.currency
    if each.price is not None:
        said = f"**{plain_markdown(price_words(each.price, currency))}.**"
        counts = " It counts in the cost of a good piece and in the advice on setups."
        if each.kept.material.sort == "topping":
            counts = " It counts in the advice on setups."
        st.markdown(said + counts)
    elif each.in_settings is not None:
        per_m2 = money(each.in_settings.per_m2, currency)
        st.markdown(
            f"**{plain_markdown(per_m2)} per m²**, from shop.toml. A price written here takes "
            "its place from its day on."
        )
    else:
        st.markdown("**No price yet.** What rests on its price cannot be said.")
    st.markdown(plain_markdown(f"{used_words(each.used)}."))
    if each.kept.material.note:
        st.markdown(plain_markdown(each.kept.material.note))


def _use(product: Product) -> None:
    st.subheader("Directions", anchor=False)
    for caution in cautions_of(product):
        st.warning(plain_markdown(caution))
    if product.directions:
        # A line that the maker began anew begins anew.
        st.markdown(plain_markdown(product.directions).replace("\n", "  \n"))
    else:
        st.markdown("The maker's directions are not written down yet.")
    if product.heat is not None or product.type in HEATED:
        st.markdown(plain_markdown(heat_words(product.heat)))
    facts = BACKING_FACTS.get(product.type)
    if facts is not None:
        with st.expander(f"What the trade says of {product.type_label.lower()}"):
            said = [facts.definition, *facts.cautions, f"Afterwards: {facts.removal}."]
            st.markdown("\n".join(f"- {plain_markdown(line)}" for line in said))
            st.caption(plain_markdown(f"Common practice: {facts.source}."))


def _lots(each: ProductOnShelf) -> None:
    product = each.kept.material
    if not product.lots and not each.lots_not_listed:
        return
    st.subheader("Lots", anchor=False)
    if each.lots_not_listed:
        count = len(each.lots_not_listed)
        named = ", ".join(each.lots_not_listed)
        st.info(
            plain_markdown(
                f"{count} lot{' is' if count == 1 else 's are'} in runs and not in this list: "
                f"{named}."
            )
        )
    if product.lots:
        table(
            (
                Heading("Lot"),
                Heading("Came in"),
                Heading("How much", figures=True),
                Heading("In runs"),
            ),
            [
                [
                    lot.lot,
                    "not recorded" if lot.day is None else short_day(lot.day),
                    quantity_words(lot),
                    "yes" if any(same_word(lot.lot, one) for one in each.used.lots) else "no",
                ]
                for lot in reversed(product.lots)
            ],
            caption="Lots that came in, newest first",
        )


def _changes(store: Store, shelf: str, sort: Sort, each: ProductOnShelf) -> None:
    st.subheader("Changes", anchor=False)
    with st.expander("A new price"):
        product_forms.new_price(store, shelf, each.kept)
    with st.expander("A lot that came in"):
        product_forms.new_lot(store, shelf, each)
    with st.expander("Directions, heat setting and details"):
        product_forms.details(store, shelf, sort, each.kept)
    if each.kept.material.prices or each.kept.material.lots:
        with st.expander("Take out a price or lot that is wrong"):
            product_forms.take_out(store, shelf, each.kept)
    ask_take_off(store, shelf, each.kept)
