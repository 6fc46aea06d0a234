"""What one good piece costs in backing, spoilage and rework: dear backing may pay, or may not."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

from logbook.shop import Costs, Price
from logbook.vocabulary.backings import BACKINGS
from logbook.vocabulary.choices import normalise

SAME_WEIGHT_GSM = 0.5
"""Weights that round to the same gram are the same step of a supplier's list."""


def same_word(one: str, other: str) -> bool:
    """Whether two written names are the same but for case, spaces and hyphens."""
    return normalise(one) == normalise(other)


def same_backing(one: str, other: str) -> bool:
    """Whether two spellings mean the same backing of the closed list."""
    meant = BACKINGS.understand(one)
    return meant is not None and meant == BACKINGS.understand(other)


def price_for(
    prices: Sequence[Price], *, supplier: str, backing: str, gsm: float | None
) -> Price | None:
    """Find what a supplier asks for a backing.

    Parameters
    ----------
    prices
        The shop's ``[[price]]`` entries.
    supplier, backing
        Case and spelling do not matter.
    gsm
        Weight in g/m²; None where it was not recorded.

    Returns
    -------
    Price or None
        The price of that weight; else the one that names no weight, which serves all; else
        the one of the nearest weight (the lighter of two as near). Without ``gsm`` and without
        a price for all weights, the only price there is, if there is only one. None where
        nothing fits.
    """
    asked = [
        price
        for price in prices
        if same_word(price.supplier, supplier) and same_backing(price.backing, backing)
    ]
    for_all = next((price for price in asked if price.gsm is None), None)
    if gsm is None:
        return for_all or (asked[0] if len(asked) == 1 else None)
    weighed = [(abs(price.gsm - gsm), price.gsm, price) for price in asked if price.gsm is not None]
    if not weighed:
        return for_all
    off, _, nearest = min(weighed, key=lambda each: each[:2])
    return nearest if off <= SAME_WEIGHT_GSM or for_all is None else for_all


def backing_cost(per_m2: float, *, layers: float, costs: Costs) -> float:
    """Cost of the backing of one piece, cutting waste included, in the shop's currency."""
    return per_m2 * costs.sheet_area_m2 * layers * (1.0 + costs.cutting_waste)


def cost_per_good_piece(
    *, backing: float, spoil_rate: float, piece_value: float, rework: float = 0.0
) -> float:
    """Spread what all pieces cost over those that came out good.

    Parameters
    ----------
    backing
        Cost of the backing of one piece sewn.
    spoil_rate
        Share of the pieces sewn that were spoiled, 0 to 1.
    piece_value
        What is lost with a spoiled piece besides its backing.
    rework
        Cost of rework, per piece sewn.

    Returns
    -------
    float
        ``(backing + spoil_rate * piece_value + rework) / (1 - spoil_rate)``, in the currency of
        its parts; NaN where no piece came out good.
    """
    if not 0 <= spoil_rate < 1:
        return math.nan
    return (backing + spoil_rate * piece_value + rework) / (1.0 - spoil_rate)


@dataclass(frozen=True, slots=True)
class Losses:
    """What became of defective pieces, by the shop's own record.

    Attributes
    ----------
    spoiled
        Pieces spoiled for each defective one; NaN where nobody wrote it down.
    rework
        Cost of rework for each defective piece; 0 where nobody wrote it down.
    """

    spoiled: float
    rework: float

    def per_good_piece(self, *, backing: float, defect_rate: float, piece_value: float) -> float:
        """Cost of a good piece where a share ``defect_rate`` of the pieces is defective."""
        return cost_per_good_piece(
            backing=backing,
            spoil_rate=defect_rate * self.spoiled,
            piece_value=piece_value,
            rework=defect_rate * self.rework,
        )

    def per_defective(self, piece_value: float) -> float:
        """Cost of one defective piece, its backing apart."""
        return self.spoiled * piece_value + self.rework


def losses_of(cells: pl.DataFrame, costs: Costs) -> Losses:
    """Say what a defective piece has come to.

    Parameters
    ----------
    cells
        Cells of one piece kind or of ``any``, grouped finely enough (by run) that those which
        recorded losses stand apart.
    costs
        The shop's prices of a piece and of a minute.
    """
    spoilage = cells.filter(pl.col("spoiled").is_not_null())
    rework = cells.filter(pl.any_horizontal(pl.col("rework_minutes", "reworked").is_not_null()))
    minutes = math.fsum(rework["rework_minutes"].drop_nulls().to_list()) + (
        math.fsum(rework["reworked"].drop_nulls().to_list()) * costs.rework_minutes_per_piece
    )
    spoiled_of, reworked_of = (int(each["count"].sum()) for each in (spoilage, rework))
    return Losses(
        spoiled=math.fsum(spoilage["spoiled"].to_list()) / spoiled_of if spoiled_of else math.nan,
        rework=minutes * costs.labour_minute / reworked_of if reworked_of else 0.0,
    )
