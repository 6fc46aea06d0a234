"""Years of an invented shop in which nothing changes but what is planted, and the watch of them.

Who sews what, when and with which setup is the sample year's simulator's, by seed; what came of it
is drawn here, from effects of another hand: film, lots and machines change nothing but where a
change is planted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import polars as pl
from numpy.typing import NDArray

from logbook.calendar_weeks import iso_week
from logbook.questions import QUESTIONS
from logbook.questions.watch.result import Finding
from logbook.runs.columns import run_schema
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore
from sample_logs.simulate import make_year

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
# fmt: off
PER_PIECE = {
    "puckering": .0075, "gaps": .005, "sinking": .0085, "coverage": .0035, "shadowing": .0015,
    "looping": .0016, "bobbin_showing": .0026, "skipped_stitches": .0014, "hoop_marks": .0023,
    "needle_cuts": .0012, "misplacement": .0017, "trimming_damage": .0015, "soiling": .0015,
    "fabric_faults": .0018,
}
PER_100K = {"thread_breaks": 2.7, "bird_nests": .18, "needle_breaks": .006}
SPREADS = {
    "fabric": .5, "design": .3, "backing_lot": .3, "machine": .2, "operator": .15, "backing": .2,
    "backing_supplier": .1,
}
# fmt: on
RUN_SD = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Planted:
    """A change: its kind, which runs it touches, and by how much their log odds rise."""

    kind: str
    touched: Mask
    log_ratio: Floats | float


@dataclass(slots=True, eq=False)
class Shop:
    """The runs of a year as written down, before anything is drawn of what came of them."""

    seed: int
    sheet: pl.DataFrame
    weeks: list[str]
    planted: list[Planted] = field(default_factory=list)

    @property
    def week(self) -> NDArray[np.str_]:
        """The week of each run."""
        return np.array([iso_week(day) for day in self.sheet["finished_at"].dt.date()])


@lru_cache(maxsize=2)
def shop_of(seed: int) -> Shop:
    """The runs of a year by seed."""
    sheet = make_year(seed).sheet
    weeks = sorted({iso_week(day) for day in sheet["finished_at"].dt.date().unique()})
    return Shop(seed, sheet, weeks)


def drawn(shop: Shop) -> pl.DataFrame:
    """The run sheet with what came of each run, planted changes in it."""
    rng = np.random.default_rng([shop.seed, 2_001])
    sheet = shop.sheet
    shared = rng.normal(size=sheet.height)
    inspected = sheet["pieces_inspected"].fill_null(sheet["pieces_sewn"]).to_numpy()
    stitches = (
        sheet["stitches_sewn"].fill_null(sheet["stitches_per_piece"] * sheet["pieces_sewn"])
    ).to_numpy() / 100_000
    counts = {}
    for kind, usual in (PER_PIECE | PER_100K).items():
        eta = sum(_effects(rng, sheet[column], sd) for column, sd in SPREADS.items())
        eta = eta + RUN_SD * (0.4 * shared + np.sqrt(0.84) * rng.normal(size=sheet.height))
        for each in shop.planted:
            if each.kind == kind:
                eta = eta + np.where(each.touched, each.log_ratio, 0.0)
        if kind in PER_PIECE:
            odds = usual * np.exp(eta)
            counts[kind] = rng.binomial(inspected, odds / (1 + odds))
        else:
            counts[kind] = rng.poisson(usual * np.exp(eta) * stitches)
    worst = np.maximum.reduce([counts[kind] for kind in PER_PIECE if kind != "fabric_faults"])
    counts["pieces_spoiled"] = rng.binomial(worst, 0.15)
    return sheet.with_columns(
        *(pl.Series(name, each) for name, each in counts.items()),
        pl.lit(None, pl.Int64).alias("pieces_defective"),
        pl.lit(None, pl.Int64).alias("pieces_reworked"),
        pl.lit(None, pl.Float64).alias("rework_minutes"),
        pl.when(pl.Series(counts["needle_breaks"]) > 0)
        .then(pl.lit(True))
        .alias("needle_parts_found"),
    )


def _effects(rng: np.random.Generator, values: pl.Series, sd: float) -> Floats:
    names = values.cast(pl.String).unique().drop_nulls().sort().to_list()
    by_name = dict(zip(names, rng.normal(-(sd**2) / 2, sd, len(names)), strict=True))
    return (
        values.cast(pl.String)
        .replace_strict(by_name, default=0.0, return_dtype=pl.Float64)
        .fill_null(0.0)
        .to_numpy()
    )


def watched(shop: Shop, weeks: Sequence[str]) -> dict[str, tuple[Finding, ...]]:
    """What the watch finds in each of the weeks, asked with what was known by then."""
    with TemporaryDirectory() as folder, new_book(str(Path(folder) / "book")) as store:
        runs = drawn(shop)
        schema = run_schema()
        store.put(
            runs.select(pl.col(name).cast(schema[name]) for name in runs.columns if name in schema),
            source="invented",
        )
        return {week: _found(store, week) for week in weeks}


def _found(store: DuckStore, week: str) -> tuple[Finding, ...]:
    findings: tuple[Finding, ...] = QUESTIONS["watch"].asked(store, week=week).result.findings
    return findings
