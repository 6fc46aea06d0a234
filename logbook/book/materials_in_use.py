"""What is on the shelf beside what the runs used of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import polars as pl

from logbook.book.materials import (
    Kept,
    fabrics,
    keep_material,
    pricing_day,
    products,
    suppliers,
)
from logbook.good_piece import SAME_WEIGHT_GSM, price_for, same_word
from logbook.runs.materials import SORTS, PriceStep, Product, ShelfFabric, Sort, Supplier
from logbook.shop import FabricFacts, Price
from logbook.store import Store
from logbook.vocabulary.choices import normalise

_BACKING_BY = ("backing_supplier", "backing", "backing_gsm", "backing_shade", "backing_lot", "day")


@dataclass(frozen=True, slots=True)
class Used:
    """What the runs say of a material; ``lots`` in the order of their last use, newest first."""

    runs: int = 0
    pieces: int = 0
    last: date | None = None
    lots: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ProductOnShelf:
    """A backing or topping, its price today, and what became of it.

    Attributes
    ----------
    price
        The newest that has begun; None where none has.
    in_settings
        The price that the settings file gives instead; None where the material has its own.
    lots_not_listed
        Lots that runs name and the list does not.
    """

    kept: Kept[Product]
    used: Used
    price: PriceStep | None
    in_settings: Price | None
    lots_not_listed: tuple[str, ...]

    @property
    def per_m2(self) -> float | None:
        """The price that counts today, per square metre."""
        if self.price is not None:
            return self.price.per_m2
        return None if self.in_settings is None else self.in_settings.per_m2


@dataclass(frozen=True, slots=True)
class ProductShelf:
    """All backings, or all toppings.

    Attributes
    ----------
    sort, day
        Which, and the day whose prices count.
    products
        By type in the order of the closed list, then by supplier and weight.
    not_described
        What the runs name and the shop has not described yet, most used first. Toppings are none
        of these: runs do not say who sold them.
    types_not_described
        Toppings that runs used and of which no product is described.
    unclear_runs
        Runs that could be of several products here, as they lack the weight, shade or supplier.
    """

    sort: Sort
    day: date
    products: tuple[ProductOnShelf, ...]
    not_described: tuple[Product, ...]
    types_not_described: tuple[str, ...]
    unclear_runs: int


@dataclass(frozen=True, slots=True)
class FabricOnShelf:
    """A fabric, what the runs did on it, and what the settings file says of it."""

    kept: Kept[ShelfFabric]
    used: Used
    in_settings: FabricFacts | None


@dataclass(frozen=True, slots=True)
class SupplierOnShelf:
    """A supplier, what the runs used of theirs, and how many backings and toppings are listed."""

    kept: Kept[Supplier]
    used: Used
    listed: int


@dataclass(frozen=True, slots=True)
class FabricShelf:
    """All fabrics, and those that only the runs or the settings name."""

    fabrics: tuple[FabricOnShelf, ...]
    not_described: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SupplierShelf:
    """All suppliers, and those that only the runs or other materials name."""

    suppliers: tuple[SupplierOnShelf, ...]
    not_described: tuple[str, ...]


def product_shelf(store: Store, sort: Sort) -> ProductShelf:
    """Every backing or topping with its price today and its use.

    A run is of a product where supplier and type are the same and nothing that it records speaks
    against it; of several such products the one that says most. One that could be of several
    products that say as much is counted for none.
    """
    kept, day = products(store, sort), pricing_day(store)
    groups = _groups(store, sort)
    own: dict[str, list[Mapping[str, Any]]] = {each.ref: [] for each in kept}
    strange: list[Mapping[str, Any]] = []
    unclear = 0
    for group in groups:
        meant = _meant(kept, group) if sort == "backing" else _of_type(kept, group)
        if len(meant) == 1:
            own[meant[0].ref].append(group)
        elif meant:
            unclear += group["runs"]
        else:
            strange.append(group)
    found = [_on_shelf(store, each, _used(own[each.ref]), day) for each in kept]
    return ProductShelf(
        sort=sort,
        day=day,
        products=tuple(sorted(found, key=_in_order)),
        not_described=_not_described(strange) if sort == "backing" else (),
        types_not_described=tuple(each["topping"] for each in strange if sort == "topping"),
        unclear_runs=unclear,
    )


def fabric_shelf(store: Store) -> FabricShelf:
    """Every fabric with its use."""
    kept, used = fabrics(store), _used_by_name(store, "fabric")
    facts = store.shop.fabrics
    found = [
        FabricOnShelf(
            each,
            _pick(used, each.material.name),
            next((one for one in facts if same_word(one.name, each.material.name)), None),
        )
        for each in kept
    ]
    named = [*store.known("fabric"), *(each.name for each in facts)]
    rest = _others(named, (each.material.name for each in kept))
    return FabricShelf(tuple(sorted(found, key=lambda each: -each.used.pieces)), rest)


def supplier_shelf(store: Store) -> SupplierShelf:
    """Every supplier with the use of what they sold."""
    kept, used = suppliers(store), _used_by_name(store, "backing_supplier")
    sold = [each.material.supplier for sort in _SORTS for each in products(store, sort)]
    found = [
        SupplierOnShelf(
            each,
            _pick(used, each.material.name),
            sum(same_word(name, each.material.name) for name in sold),
        )
        for each in kept
    ]
    named = [*store.known("backing_supplier"), *sold]
    rest = _others(named, (each.material.name for each in kept))
    return SupplierShelf(tuple(sorted(found, key=lambda each: -each.used.pieces)), rest)


def describe_backings(store: Store, *, source: str) -> int:
    """List every backing that runs name and nobody has described; return how many."""
    new = product_shelf(store, "backing").not_described
    for product in new:
        keep_material(store, product, source=source)
    return len(new)


def describe_fabrics(store: Store, *, source: str) -> int:
    """List every fabric that only runs or settings name, with what the settings say of it."""
    facts = store.shop.fabrics
    new = fabric_shelf(store).not_described
    for name in new:
        known = next((each for each in facts if same_word(each.name, name)), FabricFacts(name))
        cloth = ShelfFabric(name, known.stretch, known.pile_mm, known.sheerness, known.gsm)
        keep_material(store, cloth, source=source)
    return len(new)


def describe_suppliers(store: Store, *, source: str) -> int:
    """List every supplier that runs or other materials name; return how many."""
    new = supplier_shelf(store).not_described
    for name in new:
        keep_material(store, Supplier(name), source=source)
    return len(new)


_SORTS: tuple[Sort, ...] = ("backing", "topping")


def _groups(store: Store, sort: Sort) -> list[dict[str, Any]]:
    """What runs record of backings or toppings, grouped; those without any are left out."""
    by = _BACKING_BY if sort == "backing" else ("topping", "day")
    totals = store.totals(by=by)
    if sort == "backing":
        totals = totals.filter(pl.col("backing_supplier").is_not_null())
    totals = totals.filter(pl.col(sort).is_not_null() & (pl.col(sort) != "none"))
    keys = [name for name in by if name != "day"]
    return (
        totals.group_by(keys)
        .agg(
            pl.col("runs").sum(),
            pl.col("pieces_sewn").sum(),
            pl.col("day").cast(pl.String).max(),
        )
        .sort(keys, nulls_last=True)
        .to_dicts()
    )


def _meant(kept: Sequence[Kept[Product]], group: Mapping[str, Any]) -> list[Kept[Product]]:
    fits = [each for each in kept if _fits(each.material, group)]
    if not fits:
        return []
    most = max(_says(each.material) for each in fits)
    return [each for each in fits if _says(each.material) == most]


def _of_type(kept: Sequence[Kept[Product]], group: Mapping[str, Any]) -> list[Kept[Product]]:
    return [each for each in kept if each.material.type == group["topping"]]


def _fits(product: Product, group: Mapping[str, Any]) -> bool:
    gsm, shade = group["backing_gsm"], group["backing_shade"]
    return (
        same_word(product.supplier, group["backing_supplier"])
        and product.type == group["backing"]
        and (product.gsm is None or gsm is None or abs(product.gsm - gsm) <= SAME_WEIGHT_GSM)
        and (product.shade is None or shade is None or product.shade == shade)
    )


def _says(product: Product) -> int:
    return (product.gsm is not None) + (product.shade is not None)


def _used(groups: Iterable[Mapping[str, Any]]) -> Used:
    rows = sorted(groups, key=lambda row: (row["day"], row.get("backing_lot") or ""), reverse=True)
    lots = [row["backing_lot"] for row in rows if row.get("backing_lot") is not None]
    return Used(
        runs=sum(int(row["runs"]) for row in rows),
        pieces=sum(int(row["pieces_sewn"] or 0) for row in rows),
        last=date.fromisoformat(rows[0]["day"]) if rows else None,
        lots=tuple(dict.fromkeys(lots)),
    )


def _on_shelf(store: Store, kept: Kept[Product], used: Used, day: date) -> ProductOnShelf:
    product = kept.material
    price = product.price_on(day)
    listed = {normalise(each.lot) for each in product.lots}
    in_settings = None
    if price is None and product.sort == "backing":
        in_settings = price_for(
            store.shop.prices, supplier=product.supplier, backing=product.type, gsm=product.gsm
        )
    return ProductOnShelf(
        kept=kept,
        used=used,
        price=price,
        in_settings=in_settings,
        lots_not_listed=tuple(lot for lot in used.lots if normalise(lot) not in listed),
    )


def _in_order(each: ProductOnShelf) -> tuple[int, str, float, str]:
    product = each.kept.material
    place = SORTS[product.sort].values.index(product.type)
    return (place, normalise(product.supplier), product.gsm or 0.0, product.shade or "")


def _not_described(groups: Sequence[Mapping[str, Any]]) -> tuple[Product, ...]:
    """One product for each supplier, type and weight; without a weight only where none is named."""
    pieces: dict[tuple[str, str, float | None], int] = {}
    for group in groups:
        key = (group["backing_supplier"], group["backing"], group["backing_gsm"])
        pieces[key] = pieces.get(key, 0) + int(group["pieces_sewn"] or 0)
    weighed = {key[:2] for key in pieces if key[2] is not None}
    named = [key for key in pieces if key[2] is not None or key[:2] not in weighed]
    named.sort(key=lambda key: -pieces[key])
    found: dict[str, Product] = {}
    for supplier, backing, gsm in named:
        product = Product("backing", supplier, backing, gsm)
        found.setdefault(normalise(product.name), product)
    return tuple(found.values())


def _used_by_name(store: Store, column: str) -> dict[str, Used]:
    totals = store.totals(by=(column, "day")).filter(pl.col(column).is_not_null())
    groups = totals.group_by(column).agg(
        pl.col("runs").sum(), pl.col("pieces_sewn").sum(), pl.col("day").cast(pl.String).max()
    )
    return {row[column]: _used([row]) for row in groups.iter_rows(named=True)}


def _pick(used: Mapping[str, Used], name: str) -> Used:
    return next((found for known, found in used.items() if same_word(known, name)), Used())


def _others(named: Iterable[str], described: Iterable[str]) -> tuple[str, ...]:
    there = set(map(normalise, described))
    found = {normalise(name): name for name in reversed(list(named))}
    return tuple(reversed([name for key, name in found.items() if key not in there]))
