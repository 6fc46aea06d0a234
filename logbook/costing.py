"""What each kind of defect has cost, and the order in which to look at them.

Spoilage and rework are written down for a run and allotted to its kinds of defect (see
:mod:`logbook.cells`); here they become money, by the shop's own costs.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal, TypeAlias

import polars as pl

from logbook.errors import AnalysisError
from logbook.shop import Costs, Shop
from logbook.vocabulary.defects import DefectKind

Order: TypeAlias = Literal["cost", "count"]

_LOSSES = ("spoiled", "reworked", "rework_minutes")


@dataclass(frozen=True, slots=True)
class KindCost:
    """One kind of defect, counted and costed over all the cells handed in.

    Attributes
    ----------
    kind
        The kind.
    runs, exposure, count
        Sums of the cells: runs that recorded it, pieces inspected or stitches sewn, pieces
        that show it or events.
    spoiled, reworked, rework_minutes
        Its part of the losses; ``reworked`` holds the pieces whose minutes are not known.
    losses_recorded
        Whether any of the three was recorded; always True for events, which need none, and where
        nothing was counted.
    cost
        In the shop's currency; NaN where pieces were counted and no run that showed the kind
        recorded a loss.
    share_of_cost, share_of_count
        Of all kinds that the setup is charged with; NaN where there is nothing to share.
    cumulative_share
        Sum of the shares from the first kind to this one, of whatever set the order.
    """

    kind: DefectKind
    runs: int
    exposure: float
    count: int
    spoiled: float
    reworked: float
    rework_minutes: float
    losses_recorded: bool
    cost: float
    share_of_cost: float = math.nan
    share_of_count: float = math.nan
    cumulative_share: float = math.nan


@dataclass(frozen=True, slots=True)
class Costed:
    """Kinds in the order in which to look at them.

    Attributes
    ----------
    kinds
        Those that the setup is charged with, dearest (or most frequent) first.
    apart
        Those that it cannot be blamed for; in no share.
    ordered_by
        ``count`` where that was asked for, or where nobody wrote down what was spoiled or
        reworked.
    total_cost, total_count
        Sums over ``kinds``. Kinds whose cost cannot be said are left out of the cost; it is NaN
        where that is so of all kinds counted in pieces.
    """

    kinds: tuple[KindCost, ...]
    apart: tuple[KindCost, ...]
    ordered_by: Order
    total_cost: float
    total_count: int


def cost_of(
    kind: DefectKind,
    *,
    costs: Costs,
    count: float,
    spoiled: float,
    reworked: float,
    rework_minutes: float,
) -> float:
    """Say what a kind of defect cost.

    Parameters
    ----------
    kind
        Pieces are costed by what was spoiled and reworked, events by the standstill.
    costs
        The shop's prices of a piece and of a minute.
    count
        Pieces that show it, or events.
    spoiled, reworked, rework_minutes
        Losses allotted to it; ``reworked`` only of runs that did not record their minutes.

    Returns
    -------
    float
        In the shop's currency.
    """
    if kind.measure == "events":
        return count * costs.minutes_per_event(kind.name) * costs.stopped_minute
    minutes = rework_minutes + reworked * costs.rework_minutes_per_piece
    return spoiled * costs.piece_value + minutes * costs.labour_minute


def costed(
    cells: pl.DataFrame, *, kinds: Sequence[DefectKind], shop: Shop, order: Order = "cost"
) -> Costed:
    """Cost each kind over all the cells, and put the kinds in order.

    Parameters
    ----------
    cells
        Long cells with a ``kind`` column, grouped by anything; rows of other kinds (``any``
        too) are left out.
    kinds
        The kinds asked about, in the order of the run sheet; one without cells is left out.
    shop
        Whose costs count.
    order
        What comes first: the dearest, or the most frequent.

    Returns
    -------
    Costed
        Ties in cost go by count, then by the order of ``kinds``; a kind whose cost cannot be
        said comes after those with one, and kinds that did not come up come last.

    Raises
    ------
    AnalysisError
        The frame has no ``kind`` column.
    """
    if "kind" not in cells.columns:
        raise AnalysisError("The cells do not say which kind of defect they count.")
    found = [
        _summed(kind, rows, shop.costs)
        for kind in kinds
        if (rows := cells.filter(pl.col("kind") == kind.name)).height
    ]
    return _in_order(found, order)


def _in_order(found: Sequence[KindCost], order: Order) -> Costed:
    charged = [each for each in found if each.kind.charged_to_setup]
    known = _losses_known(charged)
    ordered_by: Order = "cost" if order == "cost" and known else "count"
    if ordered_by == "cost":
        charged.sort(
            key=lambda each: (
                each.count == 0,
                math.isnan(each.cost),
                -_known(each.cost),
                -each.count,
            )
        )
    else:
        charged.sort(key=lambda each: -each.count)
    apart = tuple(each for each in found if not each.kind.charged_to_setup)
    total_cost = math.fsum(_known(each.cost) for each in charged) if known else math.nan
    total_count = sum(each.count for each in charged)
    return Costed(
        _shared(charged, ordered_by, total_cost, total_count),
        apart,
        ordered_by,
        total_cost,
        total_count,
    )


def _summed(kind: DefectKind, rows: pl.DataFrame, costs: Costs) -> KindCost:
    # fsum, so that the order of the rows cannot decide a tie by its last digit.
    sums = {name: math.fsum(rows[name].drop_nulls().to_list()) for name in ("exposure", *_LOSSES)}
    none = {name: None for name in _LOSSES if rows[name].count() == 0}
    whole = {"runs": rows["runs"].sum(), "count": rows["count"].sum()}
    return _costed_kind(kind, {**whole, **sums, **none}, costs)


def _costed_kind(kind: DefectKind, sums: Mapping[str, Any], costs: Costs) -> KindCost:
    """Cost one kind from its sums; a loss that nobody recorded is None."""
    count = int(sums["count"])
    recorded = any(sums[name] is not None for name in _LOSSES)
    known = kind.measure == "events" or recorded or count == 0
    lost = {name: float(sums[name] or 0.0) for name in _LOSSES}
    return KindCost(
        kind=kind,
        runs=int(sums["runs"]),
        exposure=float(sums["exposure"]),
        count=count,
        losses_recorded=known,
        cost=cost_of(kind, costs=costs, count=count, **lost) if known else math.nan,
        **lost,
    )


def _losses_known(charged: Sequence[KindCost]) -> bool:
    """Whether losses were written down for any pieces, or none were needed."""
    of_pieces = [each for each in charged if each.kind.measure == "pieces" and each.count > 0]
    return not of_pieces or any(each.losses_recorded for each in of_pieces)


def _shared(
    charged: Sequence[KindCost], ordered_by: Order, total_cost: float, total_count: int
) -> tuple[KindCost, ...]:
    so_far, rows = 0.0, []
    for each in charged:
        so_far += _known(each.cost) if ordered_by == "cost" else each.count
        whole = total_cost if ordered_by == "cost" else total_count
        rows.append(
            replace(
                each,
                share_of_cost=_share(each.cost, total_cost),
                share_of_count=_share(each.count, total_count),
                cumulative_share=_share(so_far, whole),
            )
        )
    return tuple(rows)


def _known(cost: float) -> float:
    return 0.0 if math.isnan(cost) else cost


def _share(part: float, whole: float) -> float:
    return part / whole if whole > 0 else math.nan
