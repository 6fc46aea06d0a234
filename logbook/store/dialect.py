"""The few places where two databases write the same thing differently, and shared SQL pieces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logbook.runs.columns import NEEDLE_AGE
from logbook.runs.factors import FACTORS
from logbook.shop import Shop
from logbook.shop.shifts import Shift
from logbook.vocabulary.bands import Band
from logbook.vocabulary.setup_lists import WEEKDAYS


@dataclass(frozen=True, slots=True)
class Dialect:
    """How one database writes periods; everything else is plain SQL."""

    name: str
    day: str
    week: str
    month: str
    weekday: str
    """1 for Monday to 7."""
    time: str
    """``HH:MM:SS`` of the finish."""


DUCKDB = Dialect(
    name="duckdb",
    day="strftime(finished_at, '%Y-%m-%d')",
    week="strftime(finished_at, '%G-W%V')",
    month="strftime(finished_at, '%Y-%m')",
    weekday="isodow(finished_at)",
    time="strftime(finished_at, '%H:%M:%S')",
)


def band_case(column: str, bands: Sequence[Band]) -> str:
    """A CASE that names the band of a number; unrecorded stays null."""
    branches = " ".join(
        f"WHEN {column} >= {band.lowest!r} THEN '{band.name}'"
        for band in sorted(bands, key=lambda band: band.lowest, reverse=True)
    )
    return f"CASE WHEN {column} IS NULL THEN NULL {branches} END"


def grouping(name: str, dialect: Dialect, shop: Shop) -> str:
    """The SQL expression of one thing that runs are grouped by; see :mod:`logbook.cells`."""
    made = {"day": dialect.day, "week": dialect.week, "month": dialect.month}
    made |= {each.column: band_case(each.cut_from, each.bands) for each in FACTORS if each.cut_from}
    made |= {"weekday": _weekday_case(dialect), "shift": shift_made(shop.shifts, dialect)}
    return made.get(name, f'"{name}"')


def shift_made(shifts: Sequence[Shift], dialect: Dialect) -> str:
    """The shift as written down, else the one that the finish lies in.

    A finish at midnight on the dot is one of which only the day is known.
    """
    branches = " ".join(
        f"WHEN {_within(each, dialect.time)} THEN '{_quoted(each.name)}'" for each in shifts
    )
    if not branches:
        return '"shift"'
    unknown = f"WHEN {dialect.time} = '00:00:00' THEN NULL"
    return f'coalesce("shift", CASE {unknown} {branches} END)'


def _within(shift: Shift, time: str) -> str:
    after, until = f"{time} > '{shift.begins}:00'", f"{time} <= '{shift.ends}:00'"
    return f"({after} {'AND' if shift.begins < shift.ends else 'OR'} {until})"


def _quoted(text: str) -> str:
    return text.replace("'", "''")


def _weekday_case(dialect: Dialect) -> str:
    branches = " ".join(
        f"WHEN {number} THEN '{name}'" for number, name in enumerate(WEEKDAYS.values, 1)
    )
    return f"CASE {dialect.weekday} {branches} END"


NEEDS_NEEDLE_AGE = frozenset({NEEDLE_AGE.name, str(NEEDLE_AGE.band)})
