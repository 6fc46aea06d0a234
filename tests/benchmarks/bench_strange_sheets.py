"""How fast strange sheets are read, beside the strict import on the same machine.

``uv run python tests/benchmarks/bench_strange_sheets.py`` (promises: a workbook of 10,000 rows
matched in under 3 s; a million rows by a kept reading at half the strict import's speed or more).
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from datetime import date, datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "fixtures"))

import polars as pl
from messy_sheets.truth import runs, workbook

from logbook.book.sheet_readings import keep_reading, match_file, open_known
from logbook.book.sheets import import_sheets
from logbook.runs.intake import open_sheet, parse_sheet
from logbook.store import Store, new_book

ROWS_OF_WORKBOOK = 10_000
HEADS = [
    *("Date", "M/c", "Op", "Garment", "Stabilizer", "Qty", "Stitches", "Time", "Rejects", "Reason")
]


def rows(count: int) -> list[list[object]]:
    """Rows of a strange sheet over three years."""
    made = runs(20, 5000, start=date(2023, 1, 2), every=0.2)
    found: list[list[object]] = []
    for number in range(count):
        run = made[number % len(made)]
        pucker = run.kinds.get("puckering", 0)
        found.append(
            [
                f"{run.day:%d/%m/%Y}",
                f"M{run.machine}",
                run.operator,
                run.fabric,
                f"{run.ounces:g}oz cutaway x{run.layers} {run.shade}",
                run.pieces + number % 7,
                f"{run.stitches:,}",
                f"1h{run.minutes % 60:02}",
                pucker,
                f"puckered x{pucker}" if pucker else "",
            ]
        )
    return found


def matched_workbook(store: Store, folder: Path) -> float:
    """Seconds to match a workbook."""
    path = folder / "log.xlsx"
    path.write_bytes(workbook({"Log": [["Title"], [], HEADS, *rows(ROWS_OF_WORKBOOK)]}))
    start = time.perf_counter()
    found = match_file(store, path)
    took = time.perf_counter() - start
    assert found.parsed.good.height == ROWS_OF_WORKBOOK
    return took


def read_both(store: Store, folder: Path, count: int) -> tuple[float, float]:
    """Seconds to open and judge the same runs: by a kept reading, and under strict names."""
    strange = folder / "log.csv"
    frame = pl.DataFrame(rows(count), schema=HEADS, orient="row", infer_schema_length=None)
    frame.write_csv(strange)
    small = folder / "small.csv"
    frame.head(2000).write_csv(small)
    keep_reading(store, match_file(store, small, take_best=True), source="benchmark")
    now = datetime(2026, 6, 1)
    start = time.perf_counter()
    raw = open_known(store, strange)
    assert raw is not None
    parsed = parse_sheet(raw, shop=store.shop, known={}, now=now)
    by_reading = time.perf_counter() - start
    strict = folder / "strict.csv"
    assert raw.prepared is not None
    raw.prepared.drop("run_ref").write_csv(strict)
    start = time.perf_counter()
    again = parse_sheet(open_sheet(strict), shop=store.shop, known={}, now=now)
    strictly = time.perf_counter() - start
    assert parsed.good.height == again.good.height == count
    return by_reading, strictly


def imported_both(store: Store, folder: Path) -> tuple[float, float]:
    """Seconds to bring the same runs into a book, by a kept reading and strictly."""
    took = []
    for name in ("log.csv", "strict.csv"):
        start = time.perf_counter()
        import_sheets(store, [folder / name], dry_run=True)
        took.append(time.perf_counter() - start)
    return took[0], took[1]


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--rows", type=int, default=1_000_000)
    count = asked.parse_args().rows
    with tempfile.TemporaryDirectory() as place, new_book(f"{place}/book") as store:
        folder = Path(place)
        took = matched_workbook(store, folder)
        tell(f"workbook of {ROWS_OF_WORKBOOK:,} rows matched in {took:.2f} s")
        ours, strictly = read_both(store, folder, count)
        tell(f"{count:,} rows read in {ours:.2f} s, strictly {strictly:.2f}: {strictly / ours:.2f}")
        ours, strictly = imported_both(store, folder)
        tell(
            f"{count:,} rows taken in {ours:.2f} s, strictly {strictly:.2f}: {strictly / ours:.2f}"
        )


def tell(line: str) -> None:
    """Print a line at once."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
