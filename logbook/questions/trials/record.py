"""What the record says of the work that a trial is planned on: rate, cost, restlessness, pace."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta

import polars as pl

from logbook.adjusted_comparison import CELLS_BY, fit_kinds
from logbook.adjusted_comparison.terms import LOT
from logbook.book.materials import shop_with_materials
from logbook.cells import with_kind
from logbook.errors import TooLittleData
from logbook.good_piece import losses_of
from logbook.questions.advice.job import in_words, job_from
from logbook.questions.advice.materials import WEIGHTS_BY, Materials
from logbook.questions.trials.wishes import Understood
from logbook.store import Store, Window
from logbook.vocabulary.defects import DefectKind

FEWEST_PIECES = 200
"""Of fewer like pieces the rate of wider work is taken."""
WEEKS_LOOKED_AT = 26
"""The pace of the work is that of the last so many weeks."""
USUAL_OVERDISPERSION = 0.3
"""How restless runs are where the record is too small to tell; of the usual order in this
project's own invented shops, no published figure."""
LOAD = (6, 100)
USUAL_LOAD = 24
BRINGS_LOTS = frozenset({"backing", "weight_band", "backing_gsm", "backing_shade",
                         "backing_supplier"})  # fmt: skip
"""Whoever changes one of these sews with other lots of backing."""


@dataclass(frozen=True, slots=True)
class ShopRecord:
    """What the record says of the work.

    Attributes
    ----------
    rate, pieces, work
        Share of defective pieces, the pieces that it rests on, and of which work they are.
    cost, extra
        What a defective piece costs, and what the change costs in material, a piece (NaN where a
        price is not known).
    overdispersion, lot_sd, known
        How restless runs are, how far lots differ, and whether the record could tell.
    """

    rate: float
    pieces: int
    work: str
    cost: float
    extra: float
    overdispersion: float
    lot_sd: float
    known: bool


def record_of(store: Store, asked: Understood, kind: DefectKind) -> ShopRecord:
    """What the record says of the work and of the change.

    Raises
    ------
    TooLittleData
        No such work is on record, or it never shows the defect.
    """
    cells = store.cells([kind.name], by=CELLS_BY)
    worded = with_kind(in_words(cells), kind.name)
    like, work = _like(worded, asked)
    pieces = float(like["exposure"].sum())
    rate = float(like["count"].sum()) / pieces if pieces else 0.0
    if rate <= 0:
        raise TooLittleData(
            f"No like piece on record shows {kind.label.lower()}: there is nothing to improve on.",
            "name a kind of defect that happens, or log more of this work",
            needed=1,
            got=0,
            unit="defective pieces",
        )
    losses = losses_of(worded, store.shop.costs)
    cost = losses.per_defective(store.shop.costs.piece_value)
    if math.isnan(cost):
        costs = store.shop.costs
        cost = costs.rework_minutes_per_piece * costs.labour_minute
    fitted = fit_kinds(cells, kinds=(kind,))
    spread = fitted[0].fit.overdispersion if fitted else math.nan
    lots = fitted[0].fit.sd(LOT) if fitted else math.nan
    known = math.isfinite(spread)
    return ShopRecord(
        rate=rate,
        pieces=round(pieces),
        work=work,
        cost=cost,
        extra=_extra_material(store, worded, asked),
        overdispersion=spread if known else USUAL_OVERDISPERSION,
        lot_sd=lots if math.isfinite(lots) else 0.0,
        known=known,
    )


def _like(worded: pl.DataFrame, asked: Understood) -> tuple[pl.DataFrame, str]:
    """Like work as it is sewn now; wider work where too few pieces are on record."""
    there = worded.filter(pl.col("exposure") > 0)
    as_now = {each.column: each.before for each in asked.changes if each.column in there.columns}
    fabric = {"fabric": asked.scope["fabric"]}
    work = {name: value for name, value in asked.scope.items() if name in there.columns}
    like = there.clear()
    for wanted, words in (
        ({**work, **as_now}, "of this work, sewn as now"),
        ({**fabric, **as_now}, "on this fabric, sewn as now"),
        (work, "of this work, however it was sewn"),
        (fabric, "on this fabric, however it was sewn"),
    ):
        like = there.filter(*(pl.col(name) == value for name, value in wanted.items()))
        if float(like["exposure"].sum()) >= FEWEST_PIECES:
            return like, words
    if like.is_empty():
        raise TooLittleData(
            f"No run on {fabric['fabric']} is on record, so there is nothing to compare with.",
            "log runs as they are sewn now first",
            needed=FEWEST_PIECES,
            got=0,
            unit="pieces",
        )
    return like, words


def _extra_material(store: Store, worded: pl.DataFrame, asked: Understood) -> float:
    """What the change costs in backing and topping, a piece; NaN where a price is not known."""
    materials = Materials(shop_with_materials(store), store.totals(by=WEIGHTS_BY))
    told = {each.column: each.before for each in asked.changes if each.before is not None}
    parts = {name: word for name, word in told.items() if name in worded.columns}
    now = job_from(worded, fabric=asked.scope["fabric"], design=asked.scope.get("design"),
                   setup=parts).setup  # fmt: skip
    then = {**now, **{each.column: each.after for each in asked.changes}}
    touched = {each.column for each in asked.changes}
    extra = 0.0
    if touched & (BRINGS_LOTS | {"backing_layers"}):
        extra += materials.of(then) - materials.of(now)
    if "topping" in touched:
        extra += materials.topping(then) - materials.topping(now)
    return extra


def usual_load(store: Store, scope: Mapping[str, str]) -> int:
    """Pieces of a load: half a usual run of the work."""
    runs = store.runs(Window(where=dict(scope)), newest_first=True, limit=200)
    if runs.is_empty():
        runs = store.runs(Window(where={"fabric": scope["fabric"]}), newest_first=True, limit=200)
    median = runs["pieces_sewn"].median() if runs.height else None
    if not isinstance(median, int | float):
        return USUAL_LOAD
    return int(min(max(round(median / 2), LOAD[0]), LOAD[1]))


def weekly_pieces(store: Store, scope: Mapping[str, str]) -> float:
    """Pieces of this work in a week, over the last half year of the record."""
    span = store.span()
    if span is None:
        return 0.0
    since = max(span[0], span[1] - timedelta(weeks=WEEKS_LOOKED_AT))
    weeks = max(1.0, ((span[1] - since).days + 1) / 7)
    where = {name: value for name, value in scope.items() if name != "job"}
    totals = store.totals(window=Window(since=since, where=where))
    pieces = totals["pieces_inspected"].sum() if totals.height else 0
    return float(pieces or 0) / weeks
