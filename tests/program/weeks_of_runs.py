"""Weeks of plain runs in a real book, to review."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import polars as pl

from logbook.calendar_weeks import days_of, weeks_before
from logbook.questions.review.analyse import analyse
from logbook.questions.review.reading import review_data
from logbook.questions.review.result import ReviewResult
from logbook.runs.columns import run_schema
from logbook.shop import Shop
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

WEEK = "2026-W42"
RUNS_A_WEEK = 10
SETTINGS = """
[shop]
name = "Test shop"
currency = "EUR"
timezone = "UTC"

[costs]
piece_value = 20.0
labour_minute = 0.5
machine_hour = 6.0
"""


def plain_week(week: str, **changes: Any) -> list[dict[str, Any]]:
    """Ten runs of 100 pieces; one piece in a hundred shows gaps, two threads break a run."""
    monday = datetime.combine(days_of(week)[0], datetime.min.time()).replace(hour=9)
    return [
        {
            "run_ref": f"{week}-{number}",
            "finished_at": monday + timedelta(days=number % 5, hours=number // 5),
            "machine": f"M{number % 2 + 1}",
            "operator": "Ida",
            "design": f"D{number}",
            "fabric": "pique polo",
            "backing": "cut_away",
            "backing_supplier": "Elm",
            "backing_lot": "E1",
            "pieces_sewn": 100,
            "pieces_inspected": 100,
            "pieces_defective": 1 + number % 2,
            "pieces_spoiled": number % 2,
            "pieces_reworked": 0,
            "rework_minutes": 0.0,
            "stitches_sewn": 500_000.0,
            "gaps": 1,
            "puckering": number % 2,
            "thread_breaks": 2,
            "fabric_faults": 1,
            **changes,
        }
        for number in range(RUNS_A_WEEK)
    ]


def plain_weeks(number: int, week: str = WEEK) -> list[dict[str, Any]]:
    """So many plain weeks before ``week``."""
    return [run for each in weeks_before(week, number) for run in plain_week(each)]


def book(place: Path, runs: Sequence[dict[str, Any]], settings: str = SETTINGS) -> DuckStore:
    """A book that holds these runs."""
    store = new_book(str(place / "book"), settings=settings)
    frame = pl.DataFrame(list(runs), schema=run_schema(store.shop.own))
    store.put(frame, source="test")
    return store


def reviewed(
    place: Path, runs: Sequence[dict[str, Any]], week: str = WEEK, settings: str = SETTINGS
) -> tuple[ReviewResult, Shop]:
    """The review of a week of these runs, and the shop."""
    store = book(place, runs, settings)
    try:
        return analyse(review_data(store, week), week=week, shop=store.shop), store.shop
    finally:
        store.close()
