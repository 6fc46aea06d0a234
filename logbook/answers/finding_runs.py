"""Runs found again: by words, days, site, kind of defect; and how one run was changed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import polars as pl

from logbook.records.columns import Column, columns_with
from logbook.store import Change, Store, Window
from logbook.vocabulary.defects import DefectKind

PAGE_RUNS = 25
MOST_WORDS = 8
"""Words of a search beyond these are not looked at: a pasted text is not a search."""


@dataclass(frozen=True, slots=True, eq=False)
class FoundRuns:
    """One page of the runs that were found, newest first."""

    runs: pl.DataFrame
    total: int
    page: int
    """The first is 1."""
    pages: int
    """0 where nothing was found."""


@dataclass(frozen=True, slots=True)
class ChangedValue:
    """One value that a version changed; None is *not recorded*."""

    column: Column
    before: Any
    after: Any


@dataclass(frozen=True, slots=True)
class Version:
    """One version of a run, with what it changed of the one before."""

    change: Change
    happened_at: datetime
    """In the shop's zone."""
    changed: tuple[ChangedValue, ...]


def words_of(search: str) -> tuple[str, ...]:
    """The words of a search, each of which must be found."""
    return tuple(search.split()[:MOST_WORDS])


def find_runs(
    store: Store,
    window: Window,
    *,
    page: int = 1,
    size: int = PAGE_RUNS,
    only: Sequence[str] | None = None,
) -> FoundRuns:
    """One page of the runs of a window, newest first.

    A page beyond the last is the last one, so that an old address still leads somewhere.

    Parameters
    ----------
    store
        The open book.
    window
        Which runs.
    page, size
        Which page, from 1, and how many runs are on one.
    only
        References of the runs to look among; all where not given.
    """
    among = None if only is None else store.runs(window, refs=only, newest_first=True)
    total = int(store.totals(window=window)["runs"].item()) if among is None else among.height
    pages = -(-total // size)
    shown = min(max(page, 1), max(pages, 1))
    start = (shown - 1) * size
    if among is None:
        runs = store.runs(window, newest_first=True, limit=size, offset=start)
    else:
        runs = among.slice(start, size)
    return FoundRuns(runs, total, shown, pages)


def versions_of(store: Store, run_ref: str) -> tuple[Version, ...]:
    """Every version of a run, oldest first, each with what it changed; empty for no such run."""
    columns = columns_with(store.shop.own_kinds)
    zone = ZoneInfo(store.shop.timezone)
    versions = []
    before: Mapping[str, Any] | None = None
    for change in store.history(run_ref):
        after = change.content
        changed = () if before is None else _changed(before, after, columns)
        moment = change.happened_at.replace(tzinfo=ZoneInfo("UTC")).astimezone(zone)
        versions.append(Version(change, moment.replace(tzinfo=None), changed))
        before = after
    return tuple(versions)


def recorded(content: Mapping[str, Any], column: Column) -> Any:
    """The value of a version's content in the type of its column."""
    value = content.get(column.name)
    if column.type == "moment" and isinstance(value, str):
        return datetime.fromisoformat(value)
    return value


def _changed(
    before: Mapping[str, Any], after: Mapping[str, Any], columns: tuple[Column, ...]
) -> tuple[ChangedValue, ...]:
    pairs = ((each, recorded(before, each), recorded(after, each)) for each in columns)
    return tuple(ChangedValue(each, was, now) for each, was, now in pairs if was != now)


def pieces_that_follow(
    content: Mapping[str, Any], changes: Mapping[str, Any], kinds: Iterable[DefectKind]
) -> int | None:
    """The pieces with any defect that a corrected count brings along; None where it brings none.

    A form that is told no number of its own takes the largest count of one kind. So where that is
    what stands in the book, it goes on being so when one of the counts is corrected.

    Parameters
    ----------
    content
        The run as it stands: column to value.
    changes
        What is corrected: column to the new value.
    kinds
        The shop's kinds of defect.
    """
    counted = [each.name for each in kinds if each.measure == "pieces" and each.charged_to_setup]
    if "pieces_defective" in changes or not any(name in changes for name in counted):
        return None
    left = [changes.get(name, content.get(name)) for name in counted]
    recorded_left = [count for count in left if count is not None]
    if not recorded_left:
        return None  # Nothing counted is not nothing found.
    before = max((content.get(name) or 0 for name in counted), default=0)
    after = max(recorded_left)
    follows = content.get("pieces_defective") == before
    return after if follows and after != before else None
