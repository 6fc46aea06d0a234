"""Adds up what defects cost, level by level of a column."""

from __future__ import annotations

import math
from dataclasses import replace

import polars as pl

from logbook.cells import of_kind, pool
from logbook.costing import Costed, costed_by
from logbook.errors import TooLittleData
from logbook.kernels import intervals
from logbook.questions.losses.result import Level, LossesResult
from logbook.runs.factors import factor_label
from logbook.shop import Shop
from logbook.vocabulary.defects import ANY


def analyse(cells: pl.DataFrame, *, by: str, shop: Shop) -> LossesResult:
    """Add up the losses of each level.

    Parameters
    ----------
    cells
        Cells of all kinds and of ``any``, grouped by ``by``.
    by
        The column.
    shop
        Kinds and costs: spoilage and rework allotted to kinds, the standstill of events
        (:mod:`logbook.costing`); faults that came in with the goods are not counted.

    Raises
    ------
    TooLittleData
        No run recorded a defect of any kind.
    """
    if cells.is_empty():
        raise TooLittleData(
            "No run here recorded a defect of any kind.",
            "Widen the dates, or log what was found.",
            needed=1,
            got=0,
            unit="runs",
        )
    pieces = {row[by]: row for row in pool(of_kind(cells, ANY.name), by=(by,)).to_dicts()}
    levels = [
        _level(value, its, pieces.get(value))
        for value, its in costed_by(cells, by=by, kinds=shop.kinds, shop=shop).items()
    ]
    total = math.fsum(each.cost for each in levels if not math.isnan(each.cost))
    known = any(not math.isnan(each.cost) for each in levels)
    levels.sort(key=lambda each: (math.isnan(each.cost), -each.cost, -each.rate, str(each.level)))
    return LossesResult(
        by=by,
        by_label=factor_label(by),
        currency=shop.currency,
        total_cost=total if known else math.nan,
        levels=tuple(
            replace(each, share_of_cost=each.cost / total if total > 0 else math.nan)
            for each in levels
        ),
        uncosted=sum(each.count for each in levels if math.isnan(each.cost)),
    )


def _level(value: object, kinds: Costed, pieces: dict[str, float] | None) -> Level:
    every = (*kinds.kinds, *kinds.apart)
    shown, inspected = (int(pieces["count"]), float(pieces["exposure"])) if pieces else (0, 0.0)
    doubt = intervals.proportion(count=shown, trials=round(inspected)) if inspected else None
    return Level(
        level=None if value is None else str(value),
        runs=int(pieces["runs"]) if pieces else max(each.runs for each in every),
        pieces_inspected=inspected,
        count=shown,
        rate=shown / inspected if inspected else math.nan,
        interval=(float(doubt.lower), float(doubt.upper)) if doubt else (math.nan, math.nan),
        cost=kinds.total_cost,
        share_of_cost=math.nan,
    )
