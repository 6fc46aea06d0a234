"""A book that was lived in: imported, logged, amended, withdrawn, with kinds of its own."""

from __future__ import annotations

import csv
import random
from pathlib import Path

from logbook.book.runs import amend_run, log_run, withdraw_run
from logbook.book.sheets import import_sheets
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

SETTINGS = """\
[shop]
name = "Hazel & Söhne"
timezone = "Europe/Lisbon"

[[defect_kind]]
name = "loose_ends"
"""
AMENDED, WITHDRAWN = "R-3", "R-5"
SHEET_ROWS = 12
RUNS = SHEET_ROWS + 1 - 1
"""One logged besides the sheet, one withdrawn."""
PAST_VERSIONS = 2 + 2
"""Two of the run amended twice; the run as it was and its withdrawal."""
PHOTO = random.Random(1).randbytes(3000)
DESIGN = bytes(range(256)) * 20


def write_sheet(path: Path) -> Path:
    """A run sheet; its last row has no reference."""
    heads = ("run_ref", "finished_at", "operator", "backing_gsm", "pieces_inspected")
    kinds = ("puckering", "loose_ends", "notes")
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow((*heads, *kinds))
        for number in range(1, SHEET_ROWS + 1):
            ref = f"R-{number}" if number < SHEET_ROWS else ""
            moment = f"2026-10-{number:02} 14:30"
            said = (ref, moment, f"Ida {number % 3}", 33.9 + number / 7, 24, number % 4, number % 2)
            writer.writerow((*said, "«naïve» ✓, =1+1" if number % 5 == 0 else ""))
    return path


def lived_in_book(place: Path, sheet: Path) -> DuckStore:
    """Make the book and leave it open."""
    store = new_book(str(place), settings=SETTINGS)
    taken = import_sheets(store, [sheet])
    assert (taken.added, taken.rejected) == (SHEET_ROWS, 0)
    log_run(
        store,
        {"finished_at": "2026-10-20 09:00", "machine": "M1", "pieces_inspected": 8, "gaps": 1},
        source="form",
    )
    amend_run(store, AMENDED, {"puckering": 5}, why="recounted", source="form")
    amend_run(store, AMENDED, {"puckering": 6, "backing_gsm": 51.25}, why=None, source="form")
    withdraw_run(store, WITHDRAWN, why="entered twice", source="form")
    (place / "photos" / "2026").mkdir()
    (place / "photos" / "2026" / "näht 1.jpg").write_bytes(PHOTO)
    (place / "designs" / "crest.dst").write_bytes(DESIGN)
    return store
