"""What it takes to say how things stand."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import polars as pl

from logbook.questions.review.held import HeldRun
from logbook.runs.actions import KeptAction

WEEKS = 26


@dataclass(frozen=True, slots=True, eq=False)
class TodayData:
    """Held runs and open actions of the whole book; the rest of the last weeks.

    Attributes
    ----------
    today
        The day, in the shop's time.
    week
        The newest week with runs; None for an empty book.
    held, open_actions
        Whatever their week.
    cells, totals
        Of all kinds and ``any`` by week, over the week and ``WEEKS`` before it.
    latest
        The runs of the week.
    """

    today: date
    week: str | None
    held: tuple[HeldRun, ...]
    open_actions: tuple[KeptAction, ...]
    cells: pl.DataFrame
    totals: pl.DataFrame
    latest: pl.DataFrame
