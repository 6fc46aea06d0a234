"""What the week lost: pieces spoiled and reworked, and the money."""

from __future__ import annotations

import math
from dataclasses import dataclass

import polars as pl

from logbook.costing import Costed
from logbook.shop import Shop


@dataclass(frozen=True, slots=True)
class Losses:
    """Sums over the runs of the week; None where no run recorded it.

    Attributes
    ----------
    pieces_spoiled, pieces_reworked, rework_minutes
        As recorded.
    cost
        Of spoilage and rework, and of the standstill by events; None where none of the three
        was recorded and nothing stopped.
    unassigned_cost
        The part that lies in runs naming no defect, and so is in no kind's cost.
    """

    pieces_spoiled: int | None
    pieces_reworked: int | None
    rework_minutes: float | None
    cost: float | None
    unassigned_cost: float


def week_losses(runs: pl.DataFrame, costed: Costed, shop: Shop) -> Losses:
    """Sum the losses of a week's runs.

    Parameters
    ----------
    runs
        The run frame of the week.
    costed
        The week's kinds with their costs.
    shop
        Whose costs count.
    """
    spoiled = _total(runs["pieces_spoiled"])
    reworked = _total(runs["pieces_reworked"])
    minutes = _total(runs["rework_minutes"])
    untimed = _total(runs.filter(pl.col("rework_minutes").is_null())["pieces_reworked"])
    costs = shop.costs
    of_pieces = (spoiled or 0) * costs.piece_value + costs.labour_minute * (
        (minutes or 0) + (untimed or 0) * costs.rework_minutes_per_piece
    )
    events = math.fsum(each.cost for each in costed.kinds if each.kind.measure == "events")
    named = math.fsum(
        each.cost
        for each in costed.kinds
        if each.kind.measure == "pieces" and not math.isnan(each.cost)
    )
    known = not (spoiled is None and reworked is None and minutes is None)
    return Losses(
        None if spoiled is None else int(spoiled),
        None if reworked is None else int(reworked),
        minutes,
        of_pieces + events if known or events > 0 else None,
        max(of_pieces - named, 0.0),
    )


def _total(column: pl.Series) -> float | None:
    return float(column.sum()) if column.count() > 0 else None
