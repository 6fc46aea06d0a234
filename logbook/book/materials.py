"""What is on the shop's shelf: read, kept and taken off; and the settings with its prices.

Each sort of material is a collection of documents. A document's key is the name that the material
had when it was first kept; it stays when the name is corrected.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from typing import Any, Generic, TypeVar

from logbook.book.runs import now_at
from logbook.errors import DocumentChanged, DocumentNotFound, RecordError
from logbook.good_piece import same_word
from logbook.runs.materials import (
    Product,
    ShelfFabric,
    Sort,
    Supplier,
    fabric_from,
    product_from,
    supplier_from,
)
from logbook.shop import FabricFacts, Price, SameMill, Shop, ToppingPrice
from logbook.store import Store
from logbook.vocabulary.choices import normalise

COLLECTIONS: Mapping[Sort, str] = {"backing": "backings", "topping": "toppings"}
FABRICS = "fabrics"
SUPPLIERS = "suppliers"
READERS: Mapping[str, Callable[[Mapping[str, Any]], Any]] = {
    "backings": partial(product_from, "backing"),
    "toppings": partial(product_from, "topping"),
    FABRICS: fabric_from,
    SUPPLIERS: supplier_from,
}
"""How the documents of each collection are read; each refuses what cannot be."""
M = TypeVar("M", bound=Product | ShelfFabric | Supplier)


@dataclass(frozen=True, slots=True)
class Kept(Generic[M]):
    """A material as it stands in its collection, and the version that was read."""

    ref: str
    version: int
    material: M


def products(store: Store, sort: Sort) -> tuple[Kept[Product], ...]:
    """Every backing, or every topping, in the order in which they were first kept."""
    return materials(store, COLLECTIONS[sort])


def fabrics(store: Store) -> tuple[Kept[ShelfFabric], ...]:
    """Every fabric that the shop has described."""
    return materials(store, FABRICS)


def suppliers(store: Store) -> tuple[Kept[Supplier], ...]:
    """Every supplier that the shop has described."""
    return materials(store, SUPPLIERS)


def materials(store: Store, collection: str) -> tuple[Kept[Any], ...]:
    """Every material of a collection, in the order in which they were first kept."""
    read = READERS[collection]
    return tuple(
        Kept(document.key, document.version, read(document.content))
        for document in store.documents(collection)
    )


def keep_material(
    store: Store, material: M, *, source: str, seen: Kept[M] | None = None
) -> Kept[M]:
    """Put a material on its list, or in place of what was read of it.

    Parameters
    ----------
    material
        As it is from now on.
    source
        Where it came from, kept with the document: ``form`` …
    seen
        What it replaces, as it was read; None for one that is new.

    Raises
    ------
    RecordError
        A value cannot be, or the list has one of that name already.
    DocumentChanged
        Somebody else changed it since it was read.
    """
    collection = _collection_of(material)
    material = READERS[collection](material.plain())
    there = materials(store, collection)
    own = None if seen is None else seen.ref
    taken = {normalise(each.material.name) for each in there if each.ref != own}
    if normalise(material.name) in taken:
        raise RecordError(
            f"{material.name} is on the list already.",
            "change what stands there, or take it off first",
            reasons={"name": "the list has one of that name already"},
        )
    ref = own or _free_ref(material.name, {each.ref for each in there})
    try:
        version = store.put_document(
            collection,
            ref,
            material.plain(),
            source=source,
            about=material.name,
            seen=0 if seen is None else seen.version,
        )
    except DocumentChanged as cause:
        raise _changed(material.name) from cause
    return Kept(ref, version, material)


def take_off(store: Store, collection: str, seen: Kept[M], *, why: str, source: str) -> None:
    """Take a material off the shelf; what was written of it stays in its history.

    Raises
    ------
    RecordError
        No reason was given.
    DocumentChanged, DocumentNotFound
        Somebody else changed it, or took it off, since it was read.
    """
    if not why.strip():
        raise RecordError(
            f"{seen.material.name} was not taken off the shelf: say why.",
            reasons={"why": "what is taken off needs a reason"},
        )
    try:
        store.withdraw_document(
            collection, seen.ref, why=why.strip(), source=source, seen=seen.version
        )
    except DocumentChanged as cause:
        raise _changed(seen.material.name) from cause
    except DocumentNotFound as cause:
        raise DocumentNotFound(
            f"{seen.material.name} was taken off the shelf already.", "nothing is left to do"
        ) from cause


def shop_with_materials(store: Store) -> Shop:
    """The shop's settings with the prices, fabrics and shared mills of its materials laid over.

    Returns
    -------
    Shop
        A material's price (the newest that has begun, see :func:`pricing_day`) takes the place
        of the settings' price of the same supplier, backing and weight; one that names no weight
        takes the place of all weights. What a material says of a fabric comes before what the
        settings say. Of several toppings of a type the one whose price began last counts; of
        those that began together, the dearest.
    """
    backings, toppings = products(store, "backing"), products(store, "topping")
    cloths, sellers = fabrics(store), suppliers(store)
    if not (backings or toppings or cloths or sellers):
        return store.shop
    today = pricing_day(store)
    shop = store.shop
    return replace(
        shop,
        prices=_prices(shop, [each.material for each in backings], today),
        topping_prices=_topping_prices([each.material for each in toppings], today),
        fabrics=_facts(shop, [each.material for each in cloths]),
        same_mill=_mills(shop, [each.material for each in sellers]),
    )


def pricing_day(store: Store) -> date:
    """The day whose prices count: today, or the last day with a run where that is later."""
    today, span = now_at(store).date(), store.span()
    return today if span is None else max(today, span[1])


def _collection_of(material: Product | ShelfFabric | Supplier) -> str:
    if isinstance(material, Product):
        return COLLECTIONS[material.sort]
    return FABRICS if isinstance(material, ShelfFabric) else SUPPLIERS


def _free_ref(name: str, taken: set[str]) -> str:
    ref, tried = name, 1
    while ref in taken:
        tried += 1
        ref = f"{name} ({tried})"
    return ref


def _changed(name: str) -> DocumentChanged:
    return DocumentChanged(
        f"{name} was changed by somebody else since you opened it; nothing of yours was kept.",
        "look at it as it is now, then repeat the change",
    )


def _prices(shop: Shop, backings: list[Product], today: date) -> tuple[Price, ...]:
    begun: dict[tuple[str, str, float | None], tuple[date, float, Price]] = {}
    for product in backings:
        step = product.price_on(today)
        if step is None:
            continue
        price = Price(product.supplier, product.type, step.per_m2, product.gsm)
        key = (normalise(product.supplier), product.type, product.gsm)
        # Shades may have prices of their own, which no analysis tells apart.
        newest = begun.get(key)
        if newest is None or (step.since, step.per_m2) > newest[:2]:
            begun[key] = (step.since, step.per_m2, price)
    ours = [price for _, _, price in begun.values()]
    theirs = [
        price
        for price in shop.prices
        if not begun.keys()
        & {(normalise(price.supplier), price.backing, gsm) for gsm in (price.gsm, None)}
    ]
    return (*ours, *theirs)


def _topping_prices(toppings: list[Product], today: date) -> tuple[ToppingPrice, ...]:
    newest: dict[str, tuple[date, float]] = {}
    for product in toppings:
        step = product.price_on(today)
        if step is not None:
            newest[product.type] = max(
                (step.since, step.per_m2), newest.get(product.type, (date.min, 0.0))
            )
    return tuple(ToppingPrice(topping, per_m2) for topping, (_, per_m2) in newest.items())


def _facts(shop: Shop, cloths: list[ShelfFabric]) -> tuple[FabricFacts, ...]:
    found = []
    for cloth in cloths:
        ours = cloth.facts
        theirs = next((each for each in shop.fabrics if same_word(each.name, ours.name)), ours)
        found.append(
            FabricFacts(
                name=ours.name,
                stretch=theirs.stretch if ours.stretch is None else ours.stretch,
                pile_mm=theirs.pile_mm if ours.pile_mm is None else ours.pile_mm,
                sheerness=theirs.sheerness if ours.sheerness is None else ours.sheerness,
                gsm=theirs.gsm if ours.gsm is None else ours.gsm,
            )
        )
    rest = [
        each for each in shop.fabrics if not any(same_word(each.name, our.name) for our in found)
    ]
    return (*found, *rest)


def _mills(shop: Shop, sellers: list[Supplier]) -> tuple[SameMill, ...]:
    """The same belief told from either side, or twice, is one."""
    found: dict[tuple[frozenset[str], str | None], SameMill] = {}
    for mill in (*shop.same_mill, *(mill for seller in sellers for mill in seller.mills)):
        key = (frozenset(map(normalise, mill.suppliers)), mill.backing)
        found.setdefault(key, mill)
    return tuple(found.values())
