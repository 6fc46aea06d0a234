"""A small shop's book: fourteen even weeks, then one in which much puckered."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import polars as pl

from logbook.calendar_weeks import days_of, weeks_before
from logbook.runs.columns import run_schema
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

WEEK = "2026-W40"
WEEKS_BEFORE = 14
RUNS_A_WEEK = 6
PIECES = 50
USUAL_PUCKERED, MUCH_PUCKERED = 1, 12
SCRIPT = "<script>alert('x')</script>"
"""Text of a user that would do harm if a page took it for its own."""
SETTINGS = f"""
[shop]
name = "Shop {SCRIPT} & daughters"
currency = "EUR"
timezone = "UTC"

[costs]
piece_value = 20.0
labour_minute = 0.5
machine_hour = 6.0

[[price]]
supplier = "Alder"
backing = "cut_away"
gsm = 60
per_m2 = 0.9

[[price]]
supplier = "Cedar"
backing = "cut_away"
gsm = 60
per_m2 = 1.1
"""


def week_of_runs(week: str, puckered: int) -> list[dict[str, Any]]:
    """Six runs of fifty pieces: half on Alder, half on Cedar, which puckers one piece more."""
    monday = datetime.combine(days_of(week)[0], datetime.min.time()).replace(hour=9)
    return [
        {
            "run_ref": f"{week}-{number}<i>",
            "finished_at": monday + timedelta(days=number % 5, hours=number),
            "machine": f"M{number % 2 + 1} {SCRIPT}",
            "operator": f"Ida {SCRIPT}",
            "design": f"D{number} {SCRIPT}",
            "fabric": f"pique {SCRIPT}",
            "backing": "cut_away",
            "backing_gsm": 60.0,
            "backing_layers": 1,
            "backing_supplier": "Alder" if number < 3 else "Cedar",
            "backing_lot": f"L{number}",
            "pieces_sewn": PIECES,
            "pieces_inspected": PIECES,
            "pieces_defective": puckered + 2,
            "pieces_spoiled": 1,
            "pieces_reworked": 0,
            "rework_minutes": 2.0,
            "stitches_sewn": 300_000.0,
            "puckering": puckered + (number >= 3),
            "gaps": number % 2,
            "thread_breaks": 2,
            "needle_breaks": int(week == WEEK and number == 0),
            "needle_parts_found": False if week == WEEK and number == 0 else None,
            "notes": f"mind this: {SCRIPT}",
        }
        for number in range(RUNS_A_WEEK)
    ]


def small_book(place: Path) -> DuckStore:
    """The open book."""
    runs = [
        run
        for week in weeks_before(WEEK, WEEKS_BEFORE)
        for run in week_of_runs(week, USUAL_PUCKERED)
    ]
    runs += week_of_runs(WEEK, MUCH_PUCKERED)
    store = new_book(str(place), settings=SETTINGS)
    schema = run_schema(store.shop.own)
    store.put(
        pl.DataFrame([dict.fromkeys(schema) | run for run in runs], schema=schema), source="test"
    )
    return store
