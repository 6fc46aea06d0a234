"""What is on the shelf: backings, toppings, fabrics and suppliers, as a shop writes them down."""

from __future__ import annotations

from logbook.runs.materials.product import (
    LOT_UNITS,
    SORTS,
    HeatSetting,
    LotReceived,
    PriceStep,
    Product,
    Roll,
    Sort,
    product_from,
)
from logbook.runs.materials.shop_lists import (
    SharedMill,
    ShelfFabric,
    Supplier,
    fabric_from,
    supplier_from,
)

__all__ = [
    "LOT_UNITS",
    "SORTS",
    "HeatSetting",
    "LotReceived",
    "PriceStep",
    "Product",
    "Roll",
    "SharedMill",
    "ShelfFabric",
    "Sort",
    "Supplier",
    "fabric_from",
    "product_from",
    "supplier_from",
]
