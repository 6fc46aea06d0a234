"""How fast a book takes runs and counts them, each against the plain engine in the same run.

By hand: ``pytest tests/benchmarks/bench_store.py -s``. Disks and processors differ, so it is the
ratios that tell something; nothing here fails for being slow.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import polars as pl
import pytest

from logbook.runs.columns import run_schema
from logbook.store import Stored, new_book
from logbook.vocabulary.defects import DEFECT_KINDS

pytestmark = pytest.mark.benchmark

KINDS = [kind.name for kind in DEFECT_KINDS]
PIECE_KINDS = [kind.name for kind in DEFECT_KINDS if kind.measure == "pieces"]


def made_up_runs(count: int) -> pl.DataFrame:
    """Runs over three years, most columns of the sheet filled in."""
    rng = np.random.default_rng(5)
    minutes = rng.integers(0, 3 * 365 * 24 * 60, count)
    inspected = rng.integers(5, 60, count)

    def one_of(stem: str, many: int) -> pl.Series:
        names = pl.Series([f"{stem} {number}" for number in range(many)])
        return names.gather(rng.integers(0, many, count))

    columns: dict[str, Any] = {
        "run_ref": pl.Series([f"R-{number}" for number in range(count)]),
        "finished_at": pl.Series(minutes).cast(pl.Int64) * 60_000_000,
        **{name: one_of(name, 12) for name in ("site", "machine", "operator", "fabric", "job")},
        "backing": pl.Series(["cut_away", "tear_away", "none"]).gather(rng.integers(0, 3, count)),
        "backing_supplier": one_of("supplier", 6),
        "backing_gsm": rng.choice([44.0, 51.0, 68.0, 85.0], count),
        "speed_spm": rng.choice([650.0, 700.0, 850.0], count),
        "stitches_per_piece": rng.integers(2000, 15_000, count),
        "pieces_sewn": inspected,
        "pieces_inspected": inspected,
        "pieces_spoiled": rng.binomial(1, 0.1, count),
        "rework_minutes": rng.binomial(1, 0.1, count) * 4.5,
        **{name: rng.binomial(inspected, 0.01) for name in PIECE_KINDS},
        "thread_breaks": rng.poisson(0.3, count),
    }
    start = pl.lit(datetime(2024, 1, 1))
    schema = run_schema()
    return (
        pl.DataFrame(columns)
        .with_columns(finished_at=start + pl.col("finished_at").cast(pl.Duration("us")))
        .with_columns(
            pl.lit(None, dtype).alias(n) for n, dtype in schema.items() if n not in columns
        )
        .select(pl.col(name).cast(dtype) for name, dtype in schema.items())
    )


def seconds(work: Callable[[], object], *, best_of: int = 1) -> float:
    took = []
    for _ in range(best_of):
        begun = time.perf_counter()
        work()
        took.append(time.perf_counter() - begun)
    return min(took)


def say(what: str, ours: float, plain: float, plainly: str) -> None:
    tell(f"{what}: {ours:.2f} s; {plainly}: {plain:.2f} s; ratio {ours / plain:.1f}")


def tell(line: str) -> None:
    sys.stdout.write(f"\n{line}\n")


def by_hand(kinds: list[str]) -> str:
    """The group-by as one would type it for these kinds alone."""
    sums = ", ".join(
        f"count({kind}), sum(CASE WHEN {kind} IS NOT NULL THEN pieces_inspected END), sum({kind})"
        for kind in kinds
    )
    week = "strftime(finished_at, '%G-W%V')"
    return f"SELECT {week}, {sums} FROM plain_runs GROUP BY 1 ORDER BY 1"


@pytest.mark.parametrize("rows", [100_000, 1_000_000])
def test_put_and_count(tmp_path: Path, rows: int) -> None:
    runs = made_up_runs(rows)
    sheet = tmp_path / "runs.parquet"
    runs.write_parquet(sheet)
    with duckdb.connect(str(tmp_path / "plain.duckdb")) as plain:
        load = f"CREATE TABLE plain_runs AS SELECT * FROM read_parquet('{sheet}')"
        plain_load = seconds(lambda: plain.execute(load))
        one = seconds(lambda: plain.execute(by_hand(["gaps"])).fetchall(), best_of=3)
        all_kinds = seconds(lambda: plain.execute(by_hand(KINDS)).fetchall(), best_of=3)
    with new_book(str(tmp_path / "book")) as book:
        stored: list[Stored] = []
        put = seconds(lambda: stored.append(book.put(runs, source="bench")))
        again = seconds(lambda: stored.append(book.put(runs, source="bench")))
        assert stored == [Stored(rows, 0, 0), Stored(0, rows, 0)]
        ours_one = seconds(lambda: book.cells(["gaps"], by=["week"]), best_of=3)
        ours_all = seconds(lambda: book.cells([*KINDS, "any"], by=["week"]), best_of=3)
        cells = book.cells(["gaps"], by=["week"])
        assert cells["runs"].sum() == rows
        first = runs.head(rows // 10).with_columns(gaps=pl.col("gaps") + 1)
        amend = seconds(lambda: stored.append(book.put(first, source="bench", amend=True)))
        assert stored[-1] == Stored(0, 0, rows // 10)
        log_one = seconds(
            lambda: book.put(runs.head(1).with_columns(run_ref=pl.lit("one more")), source="form")
        )
    say(f"put {rows:,} runs", put, plain_load, "read_parquet into a table")
    say(f"the same {rows:,} runs again", again, plain_load, "read_parquet into a table")
    say(f"amend {rows // 10:,} of them", amend, plain_load, "read_parquet of all into a table")
    say(f"one kind by week of {rows:,}", ours_one, one, "group-by by hand")
    say(f"{len(KINDS)} kinds and any by week of {rows:,}", ours_all, all_kinds, "group-by by hand")
    tell(f"log one run into {rows + 1:,}: {log_one * 1000:.0f} ms")


def test_the_made_up_runs_span_three_years() -> None:
    moments = made_up_runs(1000)["finished_at"]
    assert moments.max() - moments.min() > timedelta(days=1000)
