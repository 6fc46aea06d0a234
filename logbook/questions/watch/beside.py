"""What changed beside a departure: how its runs were sewn since, and before."""

from __future__ import annotations

from datetime import date

import polars as pl

from logbook.kernels.arguments import BoolArray
from logbook.questions.watch.levels import COLUMNS, Level
from logbook.questions.watch.panels import Record
from logbook.runs.factors import factor_label, level_label
from logbook.wording import percent

WEEKS_BEFORE = 12
FEWEST_RUNS = 5
"""On either side, to say that a share has moved."""
MOVED = 0.25
"""So much of the runs must be sewn otherwise than before."""
MOST_TOLD = 3
FABRICS_TOLD = 2
_RENEWED = frozenset({"backing_lot", "fabric_lot", "design", "customer", "thread", "head_count"})
"""What changes from week to week anyway; a new level of these is named by the search itself."""


def changed_beside(record: Record, own: BoolArray, weeks: int, level: Level) -> tuple[str, ...]:
    """Say how a level's runs are sewn since, unlike in the twelve weeks before.

    Parameters
    ----------
    record
        The runs.
    own
        (m,) runs of the level.
    weeks
        Since when, in weeks before the last day.
    level
        Whose own columns are left out.
    """
    ago = record.weeks_ago
    since = record.coded.runs.filter(own & (ago < weeks))
    before = record.coded.runs.filter(own & (ago >= weeks) & (ago < weeks + WEEKS_BEFORE))
    if level.weeks:
        return (_came_in(record, level, since),)
    if before.height == 0 and level.values:
        return (f"new: first sewn on {_day(since)}",)
    if min(since.height, before.height) < FEWEST_RUNS:
        return ()
    moved = sorted(
        (
            change
            for name in COLUMNS
            if name not in level.values and name not in _RENEWED
            if (change := _most_moved(name, since[name], before[name])) is not None
        ),
        key=lambda each: -each[0],
    )
    return tuple(words for _, words in moved[:MOST_TOLD])


def _came_in(record: Record, level: Level, since: pl.DataFrame) -> str:
    """Say how a choice of setup came in, and on which fabrics."""
    ago, runs = record.weeks_ago, record.coded.runs
    holds = level.holds(runs)
    share = float(holds[ago < level.weeks].mean())
    was = float(holds[(ago >= level.weeks) & (ago < level.weeks + WEEKS_BEFORE)].mean())
    most = sorted(_shares(since["fabric"]).items(), key=lambda each: -each[1])[:FABRICS_TOLD]
    on = " and ".join(str(value) for value, _ in most)
    came = f"it came in then, from {percent(was, 0)} of all runs to {percent(share, 0)}"
    return f"{came}, most on {on}" if on else came


def _most_moved(name: str, since: pl.Series, before: pl.Series) -> tuple[float, str] | None:
    now, then = _shares(since), _shares(before)
    gained = {value: share - then.get(value, 0.0) for value, share in now.items()}
    if not gained:
        return None
    value = max(gained, key=lambda each: gained[each])
    if gained[value] < MOVED:
        return None
    words = (
        f"{factor_label(name).lower()} {level_label(name, value)} on {percent(now[value], 0)} of "
        f"its runs since, {percent(then.get(value, 0.0), 0)} before"
    )
    return gained[value], words


def _shares(values: pl.Series) -> dict[str | int | float | bool, float]:
    told = values.drop_nulls()
    counted = told.value_counts()
    return {value: count / len(told) for value, count in counted.iter_rows()}


def _day(runs: pl.DataFrame) -> str:
    first = runs["day"].min()
    return f"{first:%a} {first.day} {first:%b %Y}" if isinstance(first, date) else ""
