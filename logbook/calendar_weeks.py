"""Weeks of the calendar, as the reviews name them: ISO 8601, Monday to Sunday, ``2026-W40``."""

from __future__ import annotations

import re
from datetime import date, timedelta

from logbook.errors import AnalysisError

_LABEL = re.compile(r"(\d{4})-?W(\d{1,2})", re.IGNORECASE | re.ASCII)


def iso_week(day: date) -> str:
    """Name the week that a day lies in: ``2026-W40``; the year is that of its Thursday."""
    year, week, _ = day.isocalendar()
    return f"{year:04d}-W{week:02d}"


def days_of(week: str) -> tuple[date, date]:
    """Say which days a week is made of.

    Parameters
    ----------
    week
        ``2026-W40``; a missing hyphen, a small ``w`` and ``W5`` for ``W05`` are understood.

    Returns
    -------
    tuple of date
        Its Monday and its Sunday.

    Raises
    ------
    AnalysisError
        The text is no week, or that year has no such week.
    """
    found = _LABEL.fullmatch(week.strip())
    if found is None:
        raise AnalysisError(
            f"{week!r} is not a week.", "Write the year and the week's number, such as 2026-W40."
        )
    year, of_year = int(found[1]), int(found[2])
    try:
        monday = date.fromisocalendar(year, of_year, 1)
        return monday, monday + timedelta(days=6)
    except (ValueError, OverflowError) as cause:
        raise AnalysisError(f"There is no week {of_year} in {year}.", _weeks_in(year)) from cause


def days_words(week: str) -> str:
    """Say the days of a week in short: ``9 to 15 Nov``, ``28 Sep to 4 Oct``.

    Raises
    ------
    AnalysisError
        The text is no week.
    """
    monday, sunday = days_of(week)
    month = "" if monday.month == sunday.month else f" {monday:%b}"
    return f"{monday.day}{month} to {sunday.day} {sunday:%b}"


def weeks_before(week: str, number: int) -> tuple[str, ...]:
    """Name the weeks before one, oldest first, whether or not anything was sewn in them.

    Raises
    ------
    AnalysisError
        The text is no week, or the calendar does not reach back so far.
    """
    monday, _ = days_of(week)
    try:
        return tuple(iso_week(monday - timedelta(weeks=back)) for back in range(number, 0, -1))
    except OverflowError as cause:
        raise AnalysisError(
            f"The calendar does not reach {number} weeks back from {week}.",
            "Ask for a week of the shop's own years.",
        ) from cause


def _weeks_in(year: int) -> str:
    if not 1 <= year <= 9998:
        return "Write the year and the week's number, such as 2026-W40."
    last = date(year, 12, 28).isocalendar().week  # 28 December always lies in the last week
    return f"The weeks of {year} go from {year:04d}-W01 to {year:04d}-W{last}."
