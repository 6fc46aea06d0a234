"""How often what is said of levels is true, in shops whose truth is known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl
from invented_runs import Runs, cells_of, draw_runs, effects, mean_rate
from invented_shops import KINDS, LOADINGS, Floats, Shop, make_shop
from supplier_measures import kind_named

from logbook.expectation import RUNS_BY, CodedRuns, coded_runs, counted, expected
from logbook.questions.where.analyse import analyse
from logbook.questions.where.record import KindShown, WhereRecord
from logbook.questions.where.result import Level
from logbook.shop import Shop as Settings

COLUMNS = ("machine", "operator", "backing_lot", "backing_supplier")
WORTH_FINDING = 0.1
"""Share of what was to be expected that the dearest level must truly be above it by."""
COST = 5.0
"""Of one piece: every piece costs the same, so that the order is that of pieces above."""


@dataclass(frozen=True, slots=True)
class Judged:
    """One level of one column in one shop: what was said, and the true ratio."""

    kind: str
    column: str
    world: int
    truth: float
    excess: float
    ratio: float
    shrunk: float
    lower: float
    upper: float
    chance_above: float
    expected: float
    place: int

    @property
    def covered(self) -> bool:
        """Whether the interval holds the true ratio."""
        return self.lower <= self.truth <= self.upper


def judged_in_worlds(
    scenario: str, *, worlds: range, runs: int, kinds: Sequence[str]
) -> list[Judged]:
    """Ask where of each shop, by every column, kind by kind."""
    return [
        each
        for world in worlds
        for each in _judged(make_shop(world, scenario), world, runs=runs, kinds=kinds)
    ]


def _judged(shop: Shop, world: int, *, runs: int, kinds: Sequence[str]) -> list[Judged]:
    drawn = draw_runs(shop, runs, world)
    cells = cells_of(drawn, tuple(kinds))
    coded = coded_runs(_frame(cells, kinds[0]))
    found = []
    for kind in kinds:
        record = _record(coded, cells, kind)
        for column in COLUMNS:
            result = analyse(record, by=(column,), shop=Settings())
            truth = _truth(shop, drawn, coded, kind, column)
            found += [
                _of(level, truth[str(level.level[column])], kind, column, world, place)
                for place, level in enumerate(result.levels, 1)
            ]
    return found


def _of(
    level: Level, truth: tuple[float, float], kind: str, column: str, world: int, place: int
) -> Judged:
    return Judged(
        kind=kind,
        column=column,
        world=world,
        truth=truth[0],
        excess=truth[1],
        ratio=level.ratio,
        shrunk=level.shrunk_ratio,
        lower=level.interval[0],
        upper=level.interval[1],
        chance_above=level.chance_above,
        expected=level.expected,
        place=place,
    )


def _frame(cells: pl.DataFrame, kind: str) -> pl.DataFrame:
    """Runs as a book groups them; what the invented shops have no column for is not recorded."""
    runs = cells.filter(pl.col("kind") == kind)
    runs = runs.with_columns(pl.col("exposure").alias("pieces_inspected"), day=pl.lit("2026-06-01"))
    lacking = [name for name in RUNS_BY if name not in runs.columns]
    sums = ("pieces_sewn", "pieces_spoiled", "pieces_reworked", "rework_minutes", "run_minutes")
    return runs.with_columns(
        *(pl.lit(None, pl.String).alias(name) for name in lacking),
        *(pl.lit(None, pl.Float64).alias(name) for name in (*sums, "stitches_sewn")),
    ).sort("run_ref")


def _record(coded: CodedRuns, cells: pl.DataFrame, kind: str) -> WhereRecord:
    count, exposure = counted(coded, cells, kind)
    found = expected(coded, count, exposure)
    every = np.ones(count.size, dtype=bool)
    day = date(2026, 6, 1)
    shown = KindShown(kind_named(kind), found, COST * count, every)
    labels = {name: name for name in COLUMNS}
    return WhereRecord(kind, coded, every, (shown,), labels, COLUMNS, day, day)


def _truth(
    shop: Shop, drawn: Runs, coded: CodedRuns, kind: str, column: str
) -> dict[str, tuple[float, float]]:
    """Of each level the true ratio, and pieces truly above; as of runs with their luck averaged."""
    eta = effects(shop, drawn.setup, kind, time=drawn.time, own_lot=True)
    full = drawn.pieces * mean_rate(shop, eta)
    without = drawn.pieces * mean_rate(shop, eta - _own(shop, drawn, kind, column))
    without = without * full.sum() / without.sum()
    named = coded.runs[column].cast(pl.String).to_list()
    found: dict[str, tuple[float, float]] = {}
    for level in dict.fromkeys(named):
        own = np.array([each == level for each in named])
        real, due = float(full[own].sum()), float(without[own].sum())
        found[str(level)] = (real / due, real - due)
    return found


def _own(shop: Shop, drawn: Runs, kind: str, column: str) -> Floats:
    """What the levels of a column, and what lies within them, add to each run, in log odds."""
    index, setup = KINDS.index(kind), drawn.setup
    if column in ("backing_lot", "backing_supplier"):
        lot = shop.lot[index, setup["lot"]]
        pair = shop.supplier_backing[index, setup["supplier"], setup["backing"]]
        return np.asarray(shop.supplier[index, setup["supplier"]] + pair + lot)
    table = {"machine": shop.machine, "operator": shop.operator}[column]
    return np.asarray(table[index, setup[column]])


def acts(kind: str, column: str) -> bool:
    """Whether levels of a column truly differ."""
    load = LOADINGS[kind]
    return bool(
        {
            "machine": load.machine,
            "operator": load.operator,
            "backing_lot": load.lot,
            "backing_supplier": load.supplier or load.lot,
        }[column]
    )


def coverage(judged: Sequence[Judged]) -> float:
    """Share of the intervals that hold the true ratio."""
    return sum(each.covered for each in judged) / len(judged)


def dearest_found(judged: Sequence[Judged], *, among: int = 3) -> tuple[float, int]:
    """How often the truly dearest level is among the first, and of how many questions.

    Questions whose dearest level is truly above by less than ``WORTH_FINDING`` have no answer.
    """
    asked: dict[tuple[str, str, int], list[Judged]] = {}
    for each in judged:
        asked.setdefault((each.kind, each.column, each.world), []).append(each)
    worth = [
        dearest
        for levels in asked.values()
        for dearest in [max(levels, key=lambda each: each.excess)]
        if dearest.truth >= 1 + WORTH_FINDING
    ]
    found = sum(each.place <= among for each in worth)
    return (found / len(worth) if worth else math.nan), len(worth)
