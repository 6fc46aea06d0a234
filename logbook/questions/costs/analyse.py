"""Which kinds of defect cost most: the few to work on first."""

from __future__ import annotations

import math
from collections.abc import Sequence

import polars as pl

from logbook.costing import Costed, KindCost, Order, costed
from logbook.errors import TooLittleData
from logbook.kernels.rate_intervals import interval
from logbook.questions.costs.result import CostsResult
from logbook.shop import Shop
from logbook.vocabulary.defects import DefectKind


def analyse(
    cells: pl.DataFrame,
    *,
    shop: Shop,
    kinds: Sequence[DefectKind] | None = None,
    order: Order = "cost",
) -> CostsResult:
    """Put the kinds of defect in the order of what they cost.

    Parameters
    ----------
    cells
        Long cells of all kinds over the window, grouped by anything.
    shop
        Whose costs and currency count.
    kinds
        The kinds to rank, in the order that settles ties; None for all of the shop's.
    order
        ``cost``, or ``count`` to rank by how often they came up.

    Returns
    -------
    CostsResult
        The order falls back to counts where nobody recorded what was spoiled or reworked.

    Raises
    ------
    TooLittleData
        The cells hold none of the kinds.
    AnalysisError
        The cells have no ``kind`` column.
    """
    ranked = costed(cells, kinds=shop.kinds if kinds is None else kinds, shop=shop, order=order)
    if not ranked.kinds and not ranked.apart:
        raise TooLittleData(
            "No defects were recorded there, of any kind.",
            "Widen the dates, or check that the run sheets have columns for defects.",
            needed=1,
            got=0,
            unit="runs with defects recorded",
        )
    return in_order(ranked, shop=shop, order=order)


def in_order(ranked: Costed, *, shop: Shop, order: Order = "cost") -> CostsResult:
    """Give kinds that are costed already the doubt of their rates."""
    every = (*ranked.kinds, *ranked.apart)
    return CostsResult(
        costed=ranked,
        intervals={each.kind.name: _interval(each) for each in every},
        currency=shop.currency,
        order=order,
        costs_assumed=shop.costs_assumed,
    )


def _interval(each: KindCost) -> tuple[float, float]:
    if not each.exposure > 0:
        return math.nan, math.nan
    doubt = interval(count=each.count, exposure=each.exposure, measure=each.kind.measure)
    return float(doubt.lower), float(doubt.upper)
