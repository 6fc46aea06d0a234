"""What the weekly review is made from, and what to ask a book for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

import polars as pl

from logbook.calendar_weeks import days_of, weeks_before
from logbook.questions.review.decided import Watched
from logbook.questions.review.held import HeldRun
from logbook.runs.designs import Design
from logbook.runs.factors import COMPARED

WEEKS_BEFORE = 12
"""The rate before pools so many weeks."""

WEEKS_CHARTED = 26
"""The chart's usual up and down is taken from up to so many weeks before."""

_COME_AND_GO = ("site", "thread", "seen_at")
MIX_FACTORS: tuple[str, ...] = tuple(
    each.column for each in COMPARED if each.column not in _COME_AND_GO
)
"""Setup factors whose mix is compared; designs and lots come and go by nature."""


@dataclass(frozen=True, slots=True, eq=False)
class ReviewData:
    """All that one weekly review needs, within ``asked_window(week)`` but for the last two.

    Attributes
    ----------
    weekly
        ``store.cells((*kinds of the shop, "any"), by=("week",), window=…)``.
    weekly_totals
        ``store.totals(by=("week",), window=…)``.
    week_runs
        ``store.runs(…)`` of the week itself, Monday to Sunday.
    mix
        For each of ``MIX_FACTORS``: ``store.totals(by=("week", factor), window=…)``; factors
        may be left out.
    watched
        What was decided by this week and still concerns it, each with its cells.
    designs
        The shop's designs with the stitch files sewn of each.
    after_today
        How many runs of the book are dated on each day after today.
    held
        Every run of the book that is held, whatever its week.

    Weeks without runs are absent from the frames; the order of rows does not matter.
    """

    weekly: pl.DataFrame
    weekly_totals: pl.DataFrame
    week_runs: pl.DataFrame
    mix: Mapping[str, pl.DataFrame]
    watched: tuple[Watched, ...] = ()
    designs: tuple[Design, ...] = ()
    after_today: Mapping[date, int] = field(default_factory=dict)
    held: tuple[HeldRun, ...] = ()


def asked_window(week: str) -> tuple[date, date]:
    """Say which days a review of ``week`` asks the book about: first and last, both included.

    Raises
    ------
    AnalysisError
        The text is no week.
    """
    return days_of(weeks_before(week, WEEKS_CHARTED)[0])[0], days_of(week)[1]
