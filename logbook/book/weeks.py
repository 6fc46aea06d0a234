"""Which weeks there are to review, and which one unless asked: a mistyped year is not the news."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

import polars as pl

from logbook.book.runs import now_at
from logbook.calendar_weeks import iso_week
from logbook.store import Store, Window


@dataclass(frozen=True, slots=True)
class ReviewWeeks:
    """The weeks with runs, newest first.

    ``by_today`` have runs that finished by the end of today; ``later`` have only such as are
    dated after it.
    """

    by_today: tuple[str, ...]
    later: tuple[str, ...]

    @property
    def every(self) -> tuple[str, ...]:
        """All of them, the one to review first in front."""
        return (*self.by_today, *self.later)


def last_week(store: Store) -> str:
    """The week to review unless asked: the newest with runs by today, in the shop's time.

    Only where every run is dated after today it is the newest of all; the present one for an
    empty book.
    """
    span = store.span()
    today = now_at(store).date()
    if span is None:
        return iso_week(today)
    if span[1] <= today or span[0] > today:
        return iso_week(span[1])
    newest = store.runs(Window(until=today), newest_first=True, limit=1)
    return iso_week(newest["finished_at"].item().date())


def weeks_with_runs(store: Store) -> ReviewWeeks:
    """Every week with runs; the first of them is :func:`last_week`."""
    span = store.span()
    if span is None:
        return ReviewWeeks((), ())
    every = store.totals(by=("week",))["week"].to_list()
    today = now_at(store).date()
    if span[1] <= today:
        return ReviewWeeks(_newest_first(every), ())
    by_today = store.totals(by=("week",), window=Window(until=today))["week"].to_list()
    return ReviewWeeks(_newest_first(by_today), _newest_first(set(every) - set(by_today)))


def days_after_today(store: Store, *, site: str | None = None) -> dict[date, int]:
    """How many runs are dated on each day after today, in order of days."""
    span = store.span()
    today = now_at(store).date()
    if span is None or span[1] <= today:
        return {}
    window = Window(since=today + timedelta(days=1), site=site)
    totals = store.totals(by=("day",), window=window).sort("day")
    rows = totals.select(pl.col("day").cast(pl.String).str.to_date(), "runs").iter_rows()
    return {day: int(runs) for day, runs in rows}


def _newest_first(weeks: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(weeks, reverse=True))
