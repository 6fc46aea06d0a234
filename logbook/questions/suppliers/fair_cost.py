"""What a good piece costs on each supplier's backing on the same jobs, defects by the model."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

from logbook.adjusted_comparison import FairFigures
from logbook.good_piece import Losses, backing_cost, price_for
from logbook.questions.suppliers.good_pieces import UNPRICED_ALLOWED
from logbook.questions.suppliers.like_for_like import Bounds
from logbook.shop import Shop

_UNKNOWN: Bounds = (math.nan, math.nan)
_MIX = ("backing", "backing_gsm", "backing_layers")


@dataclass(frozen=True, slots=True)
class FairCost:
    """One supplier's cost on the jobs it shares with the reference, in the shop's currency.

    Attributes
    ----------
    per_good_piece, interval
        Backing at today's prices, spoilage and rework at the like-for-like rate of defects.
    price_saving
        What 100 pieces cost less in backing alone than on the reference's; below zero: more.
    saving, saving_interval
        What 100 good pieces cost less altogether than on the reference's.
    """

    per_good_piece: float = math.nan
    interval: Bounds = _UNKNOWN
    price_saving: float = math.nan
    saving: float = math.nan
    saving_interval: Bounds = _UNKNOWN


def fair_costs(
    totals: pl.DataFrame,
    figures: Mapping[str, FairFigures],
    *,
    reference: str,
    backing: str | None,
    losses: Losses,
    shop: Shop,
) -> Mapping[str, FairCost]:
    """Cost a good piece of each supplier on the same jobs.

    Parameters
    ----------
    totals
        Whole-run sums grouped by ``TOTALS_BY`` or finer.
    figures
        Like-for-like figures of any defect, by supplier.
    reference
        The supplier that the others are set against.
    backing
        One backing only, or None.
    losses
        What becomes of a defective piece.
    shop
        Prices and costs.

    Returns
    -------
    Mapping
        By supplier; without a price or a rate its figures are NaN.

    Notes
    -----
    The doubt is that of the rate of defects; prices and what becomes of a defective piece are
    taken as known.
    """
    sewn = totals.filter(
        (pl.col("pieces_sewn") > 0)
        & pl.col("backing").is_not_null()
        & (pl.col("backing") != "none")
        & (True if backing is None else pl.col("backing") == backing)
    )

    def cost(material: float, rate: float) -> float:
        return losses.per_good_piece(
            backing=material, defect_rate=rate, piece_value=shop.costs.piece_value
        )

    found = {}
    for name, fair in figures.items():
        own, theirs = _materials(sewn, name, reference, shop)
        lower, upper = fair.rate_interval
        if name == reference:
            found[name] = FairCost(cost(own, fair.rate), (cost(own, lower), cost(own, upper)))
            continue
        base = cost(theirs, fair.reference_rate)
        savings = [
            100 * (base - cost(own, max(fair.reference_rate + difference, 0.0)))
            for difference in (fair.difference, *reversed(fair.difference_interval))
        ]
        found[name] = FairCost(
            per_good_piece=cost(own, fair.rate),
            interval=(cost(own, lower), cost(own, upper)),
            price_saving=100 * (theirs - own),
            saving=savings[0],
            saving_interval=(savings[1], savings[2]),
        )
    return found


def _materials(
    sewn: pl.DataFrame, supplier: str, reference: str, shop: Shop
) -> tuple[float, float]:
    """Mean cost of the backing of a piece from either, over what both have delivered."""
    both = [
        set(sewn.filter(pl.col("backing_supplier") == name)["backing"].to_list())
        for name in (supplier, reference)
    ]
    mix = (
        sewn.filter(
            pl.col("backing_supplier").is_in([supplier, reference])
            & pl.col("backing").is_in(sorted(both[0] & both[1]))
        )
        .group_by(_MIX)
        .agg(pl.col("pieces_sewn").sum())
        .sort(_MIX, nulls_last=True)
    )
    spent, priced, unpriced = [0.0, 0.0], 0.0, 0.0
    for group in mix.iter_rows(named=True):
        prices = [
            price_for(
                shop.prices, supplier=name, backing=group["backing"], gsm=group["backing_gsm"]
            )
            for name in (supplier, reference)
        ]
        if None in prices:
            unpriced += group["pieces_sewn"]
            continue
        priced += group["pieces_sewn"]
        layers = group["backing_layers"]
        for place, price in enumerate(prices):
            if price is not None:
                spent[place] += group["pieces_sewn"] * backing_cost(
                    price.per_m2, layers=1.0 if layers is None else float(layers), costs=shop.costs
                )
    if not priced or unpriced > UNPRICED_ALLOWED * (priced + unpriced):
        return math.nan, math.nan
    return spent[0] / priced, spent[1] / priced
