"""Runs found again: by words, days, site, kind of defect; and how one run was changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import polars as pl

from logbook.runs.columns import Column, columns_with
from logbook.store import Change, Store, Window

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
