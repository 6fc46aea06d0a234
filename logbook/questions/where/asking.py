"""What a book says of its runs, kind by kind: shown, expected and paid, one row a run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from logbook.cells import with_kind
from logbook.costing import cost_of
from logbook.errors import TooLittleData
from logbook.expectation import RUNS_BY, CodedRuns, Expectation, coded_runs, counted, expected
from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.questions.where import COST
from logbook.questions.where.columns import scanned
from logbook.shop import Costs
from logbook.store.interface import Window
from logbook.vocabulary.defects import ANY, DefectKind, kind

if TYPE_CHECKING:
    from logbook.questions.where import WhereParameters
    from logbook.store import Store

_LOSSES = ("spoiled", "reworked", "rework_minutes")


@dataclass(frozen=True, slots=True, eq=False)
class KindShown:
    """One kind of defect over the runs.

    Attributes
    ----------
    kind
        The kind, or any of them.
    found
        What each run showed and was to be expected to show.
    paid
        (m,) money that it cost, as far as it was written down.
    paid_known
        (m,) whether the run says what it cost, or cost nothing.
    """

    kind: DefectKind
    found: Expectation
    paid: FloatArray
    paid_known: BoolArray

    @property
    def cost_of_one(self) -> float:
        """What one came to, over all runs; NaN where nobody wrote anything down."""
        counted = float(self.found.observed.sum())
        known = self.paid_known.any() and (self.paid[self.paid_known] > 0).any()
        if self.kind.measure == "pieces" and not known:
            return np.nan
        return float(self.paid.sum()) / counted if counted else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class WhereRecord:
    """All that is asked of the book.

    Attributes
    ----------
    defect
        A kind, ``any`` or ``cost``.
    coded
        The runs up to the last day asked about, with every column that is asked by.
    inside
        (m,) whether a run is one of those asked about; the others only say what to expect.
    kinds
        The kinds; several only for ``cost``.
    columns
        What can be gone through where no column is named.
    since, until
        First and last day asked about.
    """

    defect: str
    coded: CodedRuns
    inside: BoolArray
    kinds: tuple[KindShown, ...]
    columns: tuple[str, ...]
    since: date
    until: date

    @property
    def of_money(self) -> bool:
        """Whether money is held against money, all kinds together."""
        return self.defect == COST


def record_of(store: Store, parameters: WhereParameters) -> WhereRecord:
    """Read the runs, and learn from all of them what was to be expected.

    Raises
    ------
    TooLittleData
        No run of the window recorded the kind.
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
            "No run here recorded what is asked about.",
            "Widen the dates, or log what was found.",
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
    """One kind over the runs; None where no run recorded it."""
    count, exposure = counted(coded, cells, one.name)
    if not (exposure > 0).any():
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
