"""Asks a book what its runs showed, were to be expected to show, and cost."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from logbook.cells import with_kind
from logbook.costing import cost_of
from logbook.errors import TooLittleData
from logbook.expectation import RUNS_BY, CodedRuns, coded_runs, counted, expected
from logbook.kernels.arguments import BoolArray
from logbook.questions.where.columns import columns, scanned
from logbook.questions.where.defects import COST
from logbook.questions.where.record import KindShown, WhereRecord
from logbook.shop import Costs
from logbook.store.interface import Window
from logbook.vocabulary.defects import ANY, DefectKind, kind

if TYPE_CHECKING:
    from logbook.questions.where import WhereParameters
    from logbook.store import Store

_LOSSES = ("spoiled", "reworked", "rework_minutes")


def record_of(store: Store, parameters: WhereParameters) -> WhereRecord:
    """Read the runs, and learn from all of them what was to be expected.

    Raises
    ------
    TooLittleData
        Nothing of the kind was counted, or no run of the window recorded it.
    """
    learnt = Window(until=parameters.until)
    every = scanned(store)
    grouped = dict.fromkeys((*RUNS_BY, "day", *(parameters.columns or every)))
    runs = store.totals(by=tuple(grouped), window=learnt)
    inside = _inside(runs, parameters)
    kinds = _asked_kinds(store, parameters.defect)
    cells = store.cells([each.name for each in kinds], by=("run_ref",), window=learnt)
    coded = coded_runs(runs)
    shown = [
        each
        for each in (_shown(coded, cells, one, store.shop.costs) for one in kinds)
        if each is not None
    ]
    if not any((each.found.exposure[inside] > 0).any() for each in shown):
        raise TooLittleData(
            "Nothing of what is asked about was counted in these runs, or in any before.",
            "Widen the dates, or ask about another kind.",
            needed=1,
            got=0,
            unit="runs",
        )
    days = runs["day"].filter(pl.Series(inside))
    return WhereRecord(
        defect=parameters.defect,
        coded=coded,
        inside=inside,
        kinds=tuple(shown),
        labels=columns(store),
        columns=every,
        since=parameters.since or date.fromisoformat(str(days.min())),
        until=parameters.until or date.fromisoformat(str(days.max())),
    )


def _asked_kinds(store: Store, defect: str) -> Sequence[DefectKind]:
    if defect == COST:
        return [each for each in store.shop.kinds if each.charged_to_setup]
    return [ANY if defect == ANY.name else kind(defect, own=store.shop.own_kinds)]


def _inside(runs: pl.DataFrame, parameters: WhereParameters) -> BoolArray:
    inside = np.ones(runs.height, dtype=bool)
    if parameters.since is not None:
        inside &= (runs["day"] >= parameters.since.isoformat()).fill_null(value=False).to_numpy()
    if parameters.site is not None:
        same = runs["site"].str.to_lowercase() == parameters.site.lower()
        inside &= same.fill_null(value=False).to_numpy()
    return inside


def _shown(
    coded: CodedRuns, cells: pl.DataFrame, one: DefectKind, costs: Costs
) -> KindShown | None:
    """One kind over the runs; None where none was ever counted."""
    count, exposure = counted(coded, cells, one.name)
    if not count.any():
        return None
    found = expected(coded, count, exposure)
    if one.measure == "events":
        each = cost_of(one, costs=costs, count=1, spoiled=0, reworked=0, rework_minutes=0)
        return KindShown(one, found, count * each, np.ones(count.size, dtype=bool))
    own = with_kind(cells, one.name).select("run_ref", *_LOSSES)
    beside = coded.runs.select("run_ref").join(own, on="run_ref", how="left", maintain_order="left")
    known = beside.select(pl.any_horizontal(pl.col(_LOSSES).is_not_null())).to_series().to_numpy()
    lost = {name: beside[name].fill_null(0.0).to_numpy() for name in _LOSSES}
    minutes = lost["rework_minutes"] + lost["reworked"] * costs.rework_minutes_per_piece
    paid = lost["spoiled"] * costs.piece_value + minutes * costs.labour_minute
    return KindShown(one, found, paid, known | (count == 0))
