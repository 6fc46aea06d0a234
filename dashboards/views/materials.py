"""Materials: what is on the shelf, what it costs, and how its makers want it used."""

from __future__ import annotations

from dashboards.css import heading
from dashboards.material_pages import changing, shelves
from dashboards.material_pages.fabric_parts import fabric_list, fabric_page
from dashboards.material_pages.product_list import product_list
from dashboards.material_pages.product_page import product_page
from dashboards.material_pages.supplier_parts import supplier_list, supplier_page
from dashboards.shared import book
from dashboards.showing import answer_follows
from logbook.book.materials import COLLECTIONS
from logbook.store import Store

SORT_OF = {drawer: sort for sort, drawer in COLLECTIONS.items()}


def page(store: Store) -> None:
    """Draw the material that the address names, else the shelf."""
    heading("Materials")
    shelf = shelves.chosen_shelf()
    answer_follows("Looking on the shelf…")
    changing.tell()
    ref = shelves.opened()
    if shelf in SORT_OF:
        sort = SORT_OF[shelf]
        if ref is None:
            product_list(store, shelf, sort)
        else:
            product_page(store, shelf, sort, ref)
    elif shelf == "fabrics":
        fabric_list(store) if ref is None else fabric_page(store, ref)
    elif ref is None:
        supplier_list(store)
    else:
        supplier_page(store, ref)


page(book())
