"""What goes out comes in again: an export imported into its own book changes nothing."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import polars as pl
import pytest

from logbook.book.export import ENDINGS, export_runs
from logbook.book.sheets import import_sheets
from logbook.runs.columns import run_schema
from logbook.store import Window, new_book
from logbook.store.duckdb_store import DuckStore

START = datetime(2026, 10, 5, 8, 30, 0, 123_456)
TEXTS = (
    "=1+1",
    "=HYPERLINK(1)",
    "+49 170 555",
    "-x",
    "@a",
    "'quoted",
    "''twice",
    "'=guarded already",
    "'",
    "🧵 emoji, ÄÖÜ ß",
    "first line\nsecond line\n\nfourth",
    "tab\there",
    "line tab\x0bform feed\x0cend",
    "line\u2028separator",
    'say "so", twice; and so on',
    '"',
    "https://example.org/card",
    "_x0041_",
    "{=1}",
    "TRUE",
    "2026-10-05",
    "007",
    "1e5",
    "null",
    "NaN",
    "C:\\sheets\\new",
)
NUMBERS = (0.1 + 0.2, 1 / 3, 33.906, 60.0, 1e-5, 999.9999999999999, None)
SETTINGS = """
[[defect_kind]]
name = "loose_ends"
label = "Loose ends"
measure = "pieces"
definition = "A thread end longer than 5 mm on the face."
"""


def _run(place: int, text: str) -> dict[str, object]:
    one_line = " ".join(text.split())
    return {
        "run_ref": f"{one_line} {place}",
        "finished_at": START + timedelta(hours=place, microseconds=place),
        "operator": one_line,
        "site": "Nord" if place % 2 else "Süd",
        "backing_gsm": NUMBERS[place % len(NUMBERS)],
        "stitches_sewn": 123_456_789.123 + 1 / (place + 3),
        "fabric_sheer": (True, False, None)[place % 3],
        "pieces_inspected": 24,
        "puckering": place % 2 or None,
        "loose_ends": place % 4,
        "needle_breaks": place % 2,
        "needle_parts_found": place % 2 == 0 or place % 4 == 1,
        "notes": text,
    }


@pytest.fixture
def book(tmp_path: Path) -> Iterator[DuckStore]:
    first = tmp_path / "first.parquet"
    with new_book(str(tmp_path / "book"), settings=SETTINGS) as store:
        schema = run_schema(store.shop.own)
        rows = [dict.fromkeys(schema) | _run(place, text) for place, text in enumerate(TEXTS)]
        pl.DataFrame(rows, schema=schema).write_parquet(first)
        # By the door, as every run comes: what it keeps of a number is kept for good.
        assert import_sheets(store, [first]).added == len(TEXTS)
        assert store.runs().sort("finished_at")["notes"].to_list() == list(TEXTS)
        yield store


@pytest.mark.parametrize("ending", ENDINGS)
def test_importing_an_export_skips_every_run(book: DuckStore, tmp_path: Path, ending: str) -> None:
    before = book.runs()
    out = tmp_path / f"out{ending}"
    assert export_runs(book, out) == len(TEXTS)
    result = import_sheets(book, [out])
    outcome = result.files[0]
    assert outcome.rejects == ()
    assert (result.added, result.skipped, result.amended) == (0, len(TEXTS), 0)
    assert outcome.notes == ()
    assert book.runs().equals(before)


@pytest.mark.parametrize("ending", ENDINGS)
def test_an_export_fills_another_book_with_the_same_runs(
    book: DuckStore, tmp_path: Path, ending: str
) -> None:
    out = tmp_path / f"out{ending}"
    export_runs(book, out)
    with new_book(str(tmp_path / "copy"), settings=SETTINGS) as copy:
        assert import_sheets(copy, [out]).added == len(TEXTS)
        assert copy.runs().equals(book.runs())


def test_a_spreadsheet_works_nothing_out(book: DuckStore, tmp_path: Path) -> None:
    out = tmp_path / "out.csv"
    export_runs(book, out)
    written = pl.read_csv(out, infer_schema=False)
    texts = written.select(pl.col("run_ref", "operator", "notes")).unpivot()["value"]
    assert texts.filter(texts.str.contains(r"^[=+\-@\t\r]")).to_list() == []
    assert out.read_bytes().startswith(b"\xef\xbb\xbf")


def test_an_export_of_a_window_holds_that_window_alone(book: DuckStore, tmp_path: Path) -> None:
    out = tmp_path / "out.csv"
    assert export_runs(book, out, window=Window(site="Nord")) == len(TEXTS) // 2
    assert set(pl.read_csv(out)["site"]) == {"Nord"}


def test_an_export_of_an_empty_book_is_a_sheet_without_rows(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as empty:
        for ending in ENDINGS:
            out = tmp_path / f"out{ending}"
            assert export_runs(empty, out) == 0
            assert import_sheets(empty, [out]).as_json()["added"] == 0
