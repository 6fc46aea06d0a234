"""Which points of a chart set the usual rate: from one label to another, in whatever they name."""

from __future__ import annotations

import re
from calendar import monthrange
from datetime import date

import numpy as np
import polars as pl

from logbook.calendar_weeks import days_of
from logbook.errors import AnalysisError, TooLittleData
from logbook.kernels.arguments import BoolArray
from logbook.questions.control.result import By

_MONTH = re.compile(r"(\d{4})-(\d{2})", re.ASCII)
_WEEK = re.compile(r"\d{4}-?W\d{1,2}", re.IGNORECASE | re.ASCII)
_BARE_WEEK = re.compile(r"W(\d{1,2})", re.IGNORECASE | re.ASCII)
_Days = tuple[date, date]


def baseline_mask(points: pl.DataFrame, by: By, baseline: tuple[str, str] | None) -> BoolArray:
    """Mark the points that set the usual rate, (m,).

    Parameters
    ----------
    points
        In order of time, with ``label`` and, for runs, ``day``.
    by
        What a point is.
    baseline
        First and last, both included; None for all. Each is a day, a week (``W05`` where only one
        year of the chart has it), a month or, for runs, a run. A period belongs to it where all
        of its days do.

    Raises
    ------
    AnalysisError
        An end is none of these, or the last comes before the first.
    TooLittleData
        No point lies between them.
    """
    if baseline is None:
        return np.ones(points.height, dtype=bool)
    first, last = baseline
    labels = points["label"].cast(pl.String)
    days = _days_of_points(points, by)
    begins, ends = (_place(text, labels, days, by) for text in (first, last))
    if begins[0] > ends[1]:
        raise AnalysisError(
            f"The baseline ends at {last} before it begins at {first}.", "Give the earlier first."
        )
    at = range(points.height)
    mask = np.array(
        [
            begins[0] <= (own[0], place) and (own[1], place) <= ends[1]
            for place, own in zip(at, days, strict=True)
        ]
    )
    if not points.filter(pl.Series(mask))["exposure"].sum() > 0:
        raise TooLittleData(
            f"Nothing was recorded from {first} to {last} to set the usual rate by.",
            "Choose a baseline in which there were runs.",
            needed=1,
            got=0,
            unit=f"{by}s",
        )
    return mask


_Place = tuple[tuple[date, float], tuple[date, float]]
"""A day and a place along the chart: where an end of the baseline begins, and where it ends."""


def _place(text: str, labels: pl.Series, days: list[_Days], by: By) -> _Place:
    if by == "run" and (at := labels.index_of(text)) is not None:
        return (days[at][0], at), (days[at][1], at)
    begins, ends = _days_named(text, days, by)
    return (begins, -np.inf), (ends, np.inf)


def _days_of_points(points: pl.DataFrame, by: By) -> list[_Days]:
    return [
        _days_of_label(str(text)) or (date.min, date.max)
        for text in points["day" if by == "run" else "label"]
    ]


def _days_of_label(text: str) -> _Days | None:
    """Days of a week, month or day; None where it is none of them."""
    if _WEEK.fullmatch(text):
        return days_of(text)
    try:
        if month := _MONTH.fullmatch(text):
            year, of_year = int(month[1]), int(month[2])
            return date(year, of_year, 1), date(year, of_year, monthrange(year, of_year)[1])
        day = date.fromisoformat(text)
    except ValueError:
        return None
    return day, day


def _days_named(text: str, days: list[_Days], by: By) -> _Days:
    if bare := _BARE_WEEK.fullmatch(text):
        years = {day.isocalendar().year for own in days for day in own}
        named = [f"{year}-W{int(bare[1]):02d}" for year in sorted(years)]
        had = [each for each in named if _any_in(days_of(each), days)]
        if len(had) != 1:
            meant = " or ".join(named)
            raise AnalysisError(f"{text} does not say its year.", f"Write {meant}.")
        return days_of(had[0])
    if (found := _days_of_label(text)) is not None:
        return found
    run = ", or a run of this chart" if by == "run" else ""
    raise AnalysisError(
        f"{text!r} is no day, week or month{run}.",
        "Name the first and last as the chart does, such as 2026-W01..2026-W20.",
    )


def _any_in(week: _Days, days: list[_Days]) -> bool:
    return any(own[0] <= week[1] and week[0] <= own[1] for own in days)
