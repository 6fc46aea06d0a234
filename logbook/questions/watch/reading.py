"""What the watch reads from the book: runs, their counts, and what is known already."""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl

from logbook.book.actions import actions
from logbook.book.known_findings import known_findings
from logbook.expectation import RUNS_BY
from logbook.questions.watch.data import WatchData
from logbook.questions.watch.levels import COLUMNS
from logbook.store import Store, Window

WEEKS_READ = 78
"""Older runs say little of what is to be expected now."""


def watch_data(store: Store, *, until: date, week: str, site: str | None = None) -> WatchData:
    """Read what the watch of a day needs; what came later is left out."""
    window = Window(since=until - timedelta(weeks=WEEKS_READ), until=until, site=site)
    by = tuple(dict.fromkeys(("run_ref", "day", *RUNS_BY, *COLUMNS)))
    runs = store.totals(by=by, window=window)
    return WatchData(
        runs=runs.with_columns(pl.col("day").cast(pl.String).str.to_date()),
        cells=store.cells([each.name for each in store.shop.kinds], by=("run_ref",), window=window),
        until=until,
        known=tuple(each for each in known_findings(store) if each.said <= week),
        actions={each.ref: each.action for each in actions(store)},
    )
