"""Asks a book for the runs that something touched, and for what was to be expected of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from logbook.book.run_search import filters_from, with_made
from logbook.errors import KernelError
from logbook.expectation import RUNS_BY, coded_runs, counted, expected
from logbook.questions.trace.analyse import analyse
from logbook.questions.trace.result import Counts, TraceResult
from logbook.vocabulary.defects import DefectKind

if TYPE_CHECKING:
    from logbook.store import Store, Window


def follow(store: Store, told: Mapping[str, str], window: Window) -> TraceResult:
    """Follow columns and values through the record.

    Raises
    ------
    RecordError
        A column is none that runs are found by, or its value cannot be.
    """
    levels = filters_from(store, told)
    wanted = replace(window, where=levels)
    runs = with_made(store, store.runs(wanted))
    totals = store.totals(window=wanted).row(0, named=True)
    names = [each.name for each in store.shop.kinds]
    cells = store.cells(names, window=wanted)
    return analyse(
        runs,
        of=levels,
        counts=_counts(store, tuple(levels), runs["run_ref"], cells),
        cells=cells,
        pieces_sewn=int(totals["pieces_sewn"] or 0),
        pieces_inspected=int(totals["pieces_inspected"] or 0),
        shop=store.shop,
    )


def _counts(
    store: Store, columns: Sequence[str], refs: pl.Series, cells: pl.DataFrame
) -> tuple[Counts, ...]:
    """Each kind that any of the runs recorded, learnt from the other runs of the whole record."""
    observed = dict(cells.select("kind", "count").iter_rows())
    kinds = [each for each in store.shop.kinds if each.name in observed]
    if not kinds:
        return ()
    coded = coded_runs(store.totals(by=RUNS_BY))
    inside = coded.runs["run_ref"].is_in(refs.implode()).to_numpy()
    whole = store.cells([each.name for each in kinds], by=("run_ref",))

    def expectation(kind: DefectKind) -> float | None:
        count, exposure = counted(coded, whole, kind.name)
        if not count[~inside].any():
            return None
        try:
            found = expected(coded, count, exposure, learn=np.asarray(~inside), not_excused=columns)
        except KernelError:
            return None
        return float(found.expected[inside].sum())

    return tuple(Counts(each, int(observed[each.name]), expectation(each)) for each in kinds)
