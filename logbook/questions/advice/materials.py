"""What the backing and the topping of a setup cost at today's prices."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

from logbook.good_piece import backing_cost, price_for
from logbook.shop import Shop

WEIGHTS_BY: tuple[str, ...] = ("backing_supplier", "backing", "weight_band", "backing_gsm")
"""What whole-run totals must be grouped by to know the grams behind a weight band."""


@dataclass(frozen=True, slots=True, eq=False)
class Materials:
    """Prices, and the weights in which each supplier's backings have been used."""

    shop: Shop
    weights: pl.DataFrame

    def topping(self, setup: Mapping[str, str | None]) -> float:
        """Cost of the topping of one piece, a sheet as large as the backing's; NaN: no price."""
        topping = setup.get("topping")
        if topping == "none":
            return 0.0
        per_m2 = next(
            (each.per_m2 for each in self.shop.topping_prices if each.topping == topping), math.nan
        )
        return backing_cost(per_m2, layers=1.0, costs=self.shop.costs)

    def of(self, setup: Mapping[str, str | None]) -> float:
        """Cost of the backing of one piece; NaN where there is no price for it."""
        backing, supplier = setup.get("backing"), setup.get("backing_supplier")
        if backing == "none":
            return 0.0
        if backing is None or supplier is None:
            return math.nan
        price = price_for(
            self.shop.prices,
            supplier=supplier,
            backing=backing,
            gsm=self._grams(supplier, backing, setup.get("weight_band")),
        )
        if price is None:
            return math.nan
        layers = setup.get("backing_layers")
        return backing_cost(
            price.per_m2, layers=1.0 if layers is None else float(layers), costs=self.shop.costs
        )

    def _grams(self, supplier: str, backing: str, band: str | None) -> float | None:
        """Mean weight, g/m², of what was used of it; of any supplier's where this one's is not."""
        of_kind = self.weights.filter(
            (pl.col("backing") == backing)
            & pl.col("weight_band").eq_missing(pl.lit(band, pl.String))
            & pl.col("backing_gsm").is_not_null()
            & (pl.col("pieces_sewn") > 0)
        )
        own = of_kind.filter(pl.col("backing_supplier") == supplier)
        used = own if own.height else of_kind
        if used.is_empty():
            return None
        pieces = float(used["pieces_sewn"].sum())
        return float((used["backing_gsm"] * used["pieces_sewn"]).sum()) / pieces
