"""What a good piece costs on each supplier's backing: as recorded, and on the same jobs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import polars as pl

from logbook.adjusted_comparison import AdjustedSupplier
from logbook.errors import AnalysisError
from logbook.good_piece import (
    SAME_WEIGHT_GSM,
    Losses,
    backing_cost,
    cost_per_good_piece,
    price_for,
)
from logbook.kernels.intervals import proportion
from logbook.questions.suppliers.stratified import Bounds
from logbook.shop import Price, Shop
from logbook.vocabulary.backings import BACKINGS
from logbook.wording import number

TOTALS_BY: tuple[str, ...] = ("backing_supplier", "backing", "backing_gsm", "backing_layers")
"""What whole-run totals must be grouped by for pricing."""

UNPRICED_ALLOWED = 0.05
"""Up to this share of a supplier's pieces may lie on backing without a price."""

SPOILAGE_SEWN = "pieces_sewn_spoilage_recorded"
"""Where the totals hold it: pieces sewn in runs that recorded spoilage, the exact denominator."""

_SUMS = ("pieces_sewn", "pieces_spoiled", "pieces_reworked", "rework_minutes")
_MIX = ("backing", "backing_gsm", "backing_layers")
_UNKNOWN: Bounds = (math.nan, math.nan)


@dataclass(frozen=True, slots=True)
class RecordedCost:
    """What a good piece has cost on one supplier's backing, in the shop's currency.

    Attributes
    ----------
    per_good_piece, interval
        Backing, spoilage and rework; the interval carries the doubt of the spoilage alone.
        NaN where it cannot be said.
    backing_per_piece
        Backing of one piece sewn.
    pieces_spoiled, pieces_sewn
        Of runs that recorded spoilage.
    why_not
        The reason, where the cost cannot be said.
    remarks
        What was assumed on the way.
    """

    per_good_piece: float = math.nan
    interval: Bounds = _UNKNOWN
    backing_per_piece: float = math.nan
    pieces_spoiled: float = math.nan
    pieces_sewn: float = math.nan
    why_not: str | None = None
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class AdjustedCost:
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


def recorded_costs(
    totals: pl.DataFrame | None,
    suppliers: Sequence[str],
    backing: str | None,
    shop: Shop,
    level: float,
) -> Mapping[str, RecordedCost]:
    """Cost a good piece of each supplier as its own jobs went.

    Parameters
    ----------
    totals
        Whole-run sums grouped by ``TOTALS_BY`` or finer; None where not asked for.
    suppliers
        Spelled as in the totals.
    backing
        One backing only, or None for all that the supplier delivers.
    shop
        Prices and costs.
    level
        Of the intervals.

    Returns
    -------
    Mapping
        Empty without totals.

    Raises
    ------
    AnalysisError
        The totals are not grouped as needed.
    """
    if totals is None:
        return {}
    if missing := [name for name in (*TOTALS_BY, *_SUMS) if name not in totals.columns]:
        raise AnalysisError(f"A good piece cannot be costed: the totals lack {missing[0]!r}.")
    sewn = _sewn_on_backing(totals, backing)
    return {
        name: _cost(name, sewn.filter(pl.col("backing_supplier") == name).to_dicts(), shop, level)
        for name in suppliers
    }


def _sewn_on_backing(totals: pl.DataFrame, backing: str | None) -> pl.DataFrame:
    """Groups of pieces sewn on a recorded backing; on one only where one is named."""
    sewn = totals.filter(
        (pl.col("pieces_sewn") > 0)
        & pl.col("backing").is_not_null()
        & (pl.col("backing") != "none")
    )
    return sewn if backing is None else sewn.filter(pl.col("backing") == backing)


def _cost(
    supplier: str, groups: Sequence[Mapping[str, Any]], shop: Shop, level: float
) -> RecordedCost:
    if not groups:
        return RecordedCost(
            why_not=f"no pieces sewn on a recorded kind of {supplier}'s backing are on record"
        )
    material, remarks, why_not = _material(supplier, groups, shop)
    spoiled, sewn = _spoilage(groups)
    if why_not is None and not sewn > 0:
        why_not = f"no run on {supplier}'s backing records pieces_spoiled"
    if why_not is not None:
        return RecordedCost(why_not=why_not)
    doubt = proportion(count=spoiled, trials=sewn, level=level)
    rework, unrecorded = _rework(groups, shop)

    def at(rate: float) -> float:
        return cost_per_good_piece(
            backing=material, spoil_rate=rate, piece_value=shop.costs.piece_value, rework=rework
        )

    return RecordedCost(
        per_good_piece=at(doubt.estimate),
        interval=(at(doubt.lower), at(doubt.upper)),
        backing_per_piece=material,
        pieces_spoiled=spoiled,
        pieces_sewn=sewn,
        why_not=f"no piece on {supplier}'s backing came out good" if spoiled >= sewn else None,
        remarks=(*remarks, *([f"{supplier}: rework was not recorded"] if unrecorded else [])),
    )


def _material(
    supplier: str, groups: Sequence[Mapping[str, Any]], shop: Shop
) -> tuple[float, tuple[str, ...], str | None]:
    """Return the mean cost of backing a piece, remarks, and the reason where there is none."""
    spent = priced = unpriced = 0.0
    remarks: dict[str, None] = {}
    missing: dict[str, None] = {}
    for group in groups:
        backing, sewn = group["backing"], float(group["pieces_sewn"])
        gsm = _recorded_or_mean(group, groups, "backing_gsm")
        price = price_for(shop.prices, supplier=supplier, backing=backing, gsm=gsm)
        if price is None:
            unpriced += sewn
            missing[_entry(supplier, backing)] = None
            continue
        layers = _recorded_or_mean(group, groups, "backing_layers")
        if layers is None:
            remarks[f"{supplier}: layers of backing were not recorded, one is assumed"] = None
        if (remark := _other_weight(supplier, group, price)) is not None:
            remarks[remark] = None
        each = backing_cost(
            price.per_m2, layers=1.0 if layers is None else layers, costs=shop.costs
        )
        spent += each * sewn
        priced += sewn
    if unpriced > UNPRICED_ALLOWED * (priced + unpriced):
        return math.nan, (), f"no price is known of {' or of '.join(missing)} (page Materials)"
    if unpriced:
        remarks[f"{supplier}: {number(unpriced)} pieces on backing without a price left out"] = None
    return spent / priced, tuple(remarks), None


def _other_weight(supplier: str, group: Mapping[str, Any], price: Price) -> str | None:
    """Say that a recorded weight is priced as another; None where it is not."""
    gsm = group["backing_gsm"]
    if gsm is None or price.gsm is None or abs(price.gsm - gsm) <= SAME_WEIGHT_GSM:
        return None
    name = BACKINGS.label_of(group["backing"]).lower()
    return (
        f"{supplier}: {name} of {number(gsm)} g/m² is priced as that of "
        f"{number(price.gsm)} g/m², the nearest that has a price"
    )


def _entry(supplier: str, backing: str) -> str:
    return f"{supplier}'s {BACKINGS.label_of(backing).lower()}"


def _recorded_or_mean(
    group: Mapping[str, Any], groups: Sequence[Mapping[str, Any]], column: str
) -> float | None:
    """Return what the group recorded, else the mean of the same backing, else None."""
    if group[column] is not None:
        return float(group[column])
    alike = [
        (float(each[column]), float(each["pieces_sewn"]))
        for each in groups
        if each["backing"] == group["backing"] and each[column] is not None
    ]
    weight = math.fsum(sewn for _, sewn in alike)
    return math.fsum(value * sewn for value, sewn in alike) / weight if weight else None


def _spoilage(groups: Sequence[Mapping[str, Any]]) -> tuple[float, float]:
    """Return pieces spoiled, and pieces sewn where spoilage was recorded."""
    recorded = [group for group in groups if group["pieces_spoiled"] is not None]
    sewn = [
        group["pieces_sewn"] if group.get(SPOILAGE_SEWN) is None else group[SPOILAGE_SEWN]
        for group in recorded
    ]
    return _sum(group["pieces_spoiled"] for group in recorded), _sum(sewn)


def _rework(groups: Sequence[Mapping[str, Any]], shop: Shop) -> tuple[float, bool]:
    """Return the cost of rework per piece sewn, and whether none at all was recorded."""
    minutes = pieces = 0.0
    for group in groups:
        timed, reworked = group["rework_minutes"], group["pieces_reworked"]
        if timed is None and reworked is None:
            continue
        pieces += group["pieces_sewn"]
        minutes += reworked * shop.costs.rework_minutes_per_piece if timed is None else timed
    return (minutes * shop.costs.labour_minute / pieces, False) if pieces else (0.0, True)


def _sum(values: Iterable[float]) -> float:
    return math.fsum(float(value) for value in values)


def adjusted_costs(
    totals: pl.DataFrame,
    figures: Mapping[str, AdjustedSupplier],
    *,
    reference: str,
    backing: str | None,
    losses: Losses,
    shop: Shop,
) -> Mapping[str, AdjustedCost]:
    """Cost a good piece of each supplier on the same jobs, defects by the model.

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
    sewn = _sewn_on_backing(totals, backing)

    def cost(material: float, rate: float) -> float:
        return losses.per_good_piece(
            backing=material, defect_rate=rate, piece_value=shop.costs.piece_value
        )

    found = {}
    for name, adjusted in figures.items():
        own, theirs = _materials(sewn, name, reference, shop)
        lower, upper = adjusted.rate_interval
        if name == reference:
            found[name] = AdjustedCost(
                cost(own, adjusted.rate), (cost(own, lower), cost(own, upper))
            )
            continue
        base = cost(theirs, adjusted.reference_rate)
        savings = [
            100 * (base - cost(own, max(adjusted.reference_rate + difference, 0.0)))
            for difference in (adjusted.difference, *reversed(adjusted.difference_interval))
        ]
        found[name] = AdjustedCost(
            per_good_piece=cost(own, adjusted.rate),
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
