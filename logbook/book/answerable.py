"""What a book can answer, what it cannot, and which one column would help most."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from logbook.runs.columns import EXPOSURES, columns_with
from logbook.store import Store

FEWEST_RUNS = 10
"""Runs that have to tell a column before anything is said from it."""
JUDGED, BREAKS = "judged", "breaks"
"""No columns: runs with pieces looked at and bad ones counted; with thread breaks and stitches."""
BANDS: Mapping[str, str] = {"speed_spm": "speed_band"}
"""What runs are grouped by in place of a measured quantity."""


@dataclass(frozen=True, slots=True)
class Need:
    """A column that a question rests on, and how many different values of it at least."""

    column: str
    values: int = 1


@dataclass(frozen=True, slots=True)
class Asked:
    """Something that shops ask of their record, and what it rests on."""

    says: str
    needs: tuple[Need, ...]


ASKED: tuple[Asked, ...] = (
    Asked("how many pieces are bad, week by week", (Need(JUDGED),)),
    Asked("whose backing costs least in good pieces", (Need(JUDGED), Need("backing_supplier", 2))),
    Asked("which backing suits which fabric", (Need(JUDGED), Need("fabric"), Need("backing", 2))),
    Asked("which needle does best", (Need(JUDGED), Need("needle_nm", 2))),
    Asked("which speed does best", (Need(JUDGED), Need("speed_spm", 2))),
    Asked("which machine stands out", (Need(JUDGED), Need("machine", 2))),
    Asked("which design gives trouble", (Need(JUDGED), Need("design", 2))),
    Asked("how often thread breaks", (Need(BREAKS),)),
    Asked("what a bad lot of backing touched", (Need("backing_lot"),)),
    Asked("what went to which customer", (Need("customer"),)),
)
"""The weightier first: of columns that help alike, the first one named here is said."""


@dataclass(frozen=True, slots=True)
class Recorded:
    """What the runs of a book tell.

    ``columns`` maps a column (and :data:`JUDGED`, :data:`BREAKS`) to how many runs tell it and how
    many different values there are; ``in_use`` are the columns that any run tells.
    """

    runs: int
    span: tuple[date, date] | None
    columns: Mapping[str, tuple[int, int]]
    in_use: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Answerable:
    """``can`` and ``cannot`` are of :data:`ASKED`; ``cannot`` with the columns that lack."""

    can: tuple[str, ...]
    cannot: tuple[tuple[str, tuple[str, ...]], ...]
    best_column: str | None
    opens: tuple[str, ...]


def answerable(recorded: Recorded) -> Answerable:
    """Part what is asked into what can be answered and what cannot.

    The best column is the one that by itself would let most of it be answered.
    """
    can: list[str] = []
    cannot: list[tuple[str, tuple[str, ...]]] = []
    for asked in ASKED:
        lacking = tuple(need.column for need in asked.needs if not _told(recorded, need))
        if lacking:
            cannot.append((asked.says, tuple(_column(recorded, name) for name in lacking)))
        else:
            can.append(asked.says)
    opened: dict[str, list[str]] = {}
    for says, lacking in cannot:
        if len(lacking) == 1:
            opened.setdefault(lacking[0], []).append(says)
    best = max(opened, key=lambda column: len(opened[column]), default=None)
    return Answerable(
        tuple(can), tuple(cannot), best, tuple(opened[best]) if best is not None else ()
    )


def _told(recorded: Recorded, need: Need) -> bool:
    runs, values = recorded.columns.get(need.column, (0, 0))
    return runs >= min(FEWEST_RUNS, max(recorded.runs, 1)) and values >= need.values


def _column(recorded: Recorded, name: str) -> str:
    if name == JUDGED:
        exposed = any(each in recorded.in_use for each in EXPOSURES)
        return "pieces_defective" if exposed else "pieces_sewn"
    if name == BREAKS:
        return "stitches_per_piece" if "thread_breaks" in recorded.in_use else "thread_breaks"
    return name


def recorded_in(store: Store) -> Recorded:
    """Count what the runs of a book tell."""
    in_use = frozenset(store.in_use())
    columns: dict[str, tuple[int, int]] = {}
    for name in dict.fromkeys(need.column for asked in ASKED for need in asked.needs):
        if name in in_use:
            by = BANDS.get(name, name)
            groups = store.totals(by=(by,)).drop_nulls(by)
            columns[name] = (int(groups["runs"].sum()), groups.height)
    for name, kind in ((JUDGED, "any"), (BREAKS, "thread_breaks")):
        columns[name] = (int(store.cells([kind])["runs"].sum()), 1)
    return Recorded(store.count(), store.span(), columns, in_use)


def said_of(store: Store) -> tuple[str, ...]:
    """What the book holds and can answer now, what it cannot, what would help: a line each."""
    recorded = recorded_in(store)
    if not recorded.runs or recorded.span is None:
        return ()
    labels = {column.name: column.label for column in columns_with(store.shop.own)}
    return lines(recorded, labels)


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"


def lines(recorded: Recorded, labels: Mapping[str, str]) -> tuple[str, ...]:
    """Say what can be answered, what cannot, and what would help most."""
    found = answerable(recorded)
    first, last = recorded.span or (None, None)
    when = f" of {_day(first)} to {_day(last)}" if first and last else ""
    judged = recorded.columns.get(JUDGED, (0, 0))[0]
    runs = "run" if recorded.runs == 1 else "runs"
    said = [f"The book has {recorded.runs:,} {runs}{when}; {judged:,} of them count in rates."]
    if found.can:
        said.append(f"It can answer: {'; '.join(found.can)}.")
    if found.cannot:
        lacking = [
            f"{says} ({', '.join(labels[name].lower() for name in names)})"
            for says, names in found.cannot
        ]
        said.append(f"It cannot answer, for want of a column: {'; '.join(lacking)}.")
    if found.best_column is not None:
        helps = "; ".join(found.opens)
        said.append(f"One column would help most: {labels[found.best_column]}. Then: {helps}.")
    return tuple(said)
