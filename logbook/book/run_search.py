"""Runs found again: by words, days, site, kind of defect; and how one run was changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import polars as pl

from logbook.cells import PERIODS
from logbook.errors import RecordError
from logbook.runs.address import Level
from logbook.runs.columns import MADE_COLUMNS, Column, columns_with
from logbook.runs.factors import NOT_RECORDED, Factor, factors_with
from logbook.runs.intake.parsing import SHOWN, Reading, read_columns
from logbook.runs.intake.spelling import spelled_as
from logbook.runs.plain import plain_run
from logbook.shop import Shop
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


def filters(shop: Shop) -> Mapping[str, Factor]:
    """What runs can be found by: every column but the finish, bands, and what the book makes."""
    exact = (each for each in columns_with(shop.own) if each.type != "moment")
    plain = (each for each in exact if each.role != "note")
    found = {each.name: Factor(each.name, each) for each in plain}
    return found | {each.column: each for each in factors_with(shop.own)}


def filters_from(store: Store, told: Mapping[str, str]) -> dict[str, Level]:
    """Equal-to filters of a window, read from text as a run sheet's cells are.

    Parameters
    ----------
    store
        The open book; names of its open lists are known in any case and spacing.
    told
        Names of :func:`filters`, or of periods (``day``, ``week``, ``month``), to values; ``not
        recorded`` is one.

    Raises
    ------
    RecordError
        A name is none of them, or a value cannot be; ``reasons`` maps names to sentences.
    """
    found: dict[str, Level] = {}
    reasons: dict[str, str] = {}
    known = filters(store.shop)
    for name, text in told.items():
        if name in PERIODS:
            found[name] = text.strip()
        elif name not in known:
            reasons[name] = f"runs cannot be filtered by {name!r}"
        elif text.strip().casefold() == NOT_RECORDED:
            found[name] = None
        elif (value := _value_of(store, known[name], text)) is not None:
            found[name] = value
        else:
            reasons[name] = f"{name} is {text[:SHOWN]!r}, which it cannot be{_choices(known[name])}"
    if reasons:
        raise RecordError(
            f"The runs were not looked for: {'; '.join(reasons.values())}.",
            "mend what is named and ask again",
            reasons=reasons,
        )
    return found


def _value_of(store: Store, factor: Factor, text: str) -> str | float | bool | None:
    column = factor.of
    if factor.bands:
        return text if text in [band.name for band in factor.bands] else None
    cells = pl.DataFrame({column.name: [text]})
    read = read_columns(cells, (column,), Reading(ZoneInfo(store.shop.timezone)))
    value: str | float | bool | None = read.frame[column.name].item()
    if column.choices is not None and value not in column.choices.values:
        return None
    if column.open_list and isinstance(value, str):
        return spelled_as(value, store.known(column.name))
    return value


def _choices(factor: Factor) -> str:
    values = [band.name for band in factor.bands] or list(
        factor.of.choices.values if factor.of.choices else ()
    )
    return f"; it can be {', '.join(values)}" if values else ""


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


def with_made(store: Store, runs: pl.DataFrame) -> pl.DataFrame:
    """Runs with what the book makes of them: the shift in its place, the other columns behind."""
    made = store.made(refs=runs["run_ref"].to_list())
    names = [each.name for each in MADE_COLUMNS]
    beside = made.select("run_ref", *names)
    told = runs.update(made.select("run_ref", "shift"), on="run_ref", how="left")
    return told.join(beside, on="run_ref", how="left", maintain_order="left")


def listed_runs(store: Store, window: Window, *, limit: int) -> dict[str, Any]:
    """The runs of a window as JSON lists them: ``runs``, ``more`` and ``notes``, newest first."""
    found = store.runs(window, newest_first=True, limit=limit + 1)
    runs = [plain_run(run) for run in with_made(store, found.head(limit)).iter_rows(named=True)]
    more = found.height > limit
    notes = [f"There are more than these {limit:,} runs."] if more else []
    return {"runs": runs, "more": more, "notes": notes}


def versions_of(store: Store, run_ref: str) -> tuple[Version, ...]:
    """Every version of a run, oldest first, each with what it changed; empty for no such run."""
    columns = columns_with(store.shop.own)
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
