"""The few places where two databases write the same thing differently, and shared SQL pieces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logbook.runs.factors import FACTORS
from logbook.vocabulary.bands import Band


@dataclass(frozen=True, slots=True)
class Dialect:
    """How one database writes periods; everything else is plain SQL."""

    name: str
    day: str
    week: str
    month: str


DUCKDB = Dialect(
    name="duckdb",
    day="strftime(finished_at, '%Y-%m-%d')",
    week="strftime(finished_at, '%G-W%V')",
    month="strftime(finished_at, '%Y-%m')",
)


def band_case(column: str, bands: Sequence[Band]) -> str:
    """A CASE that names the band of a number; unrecorded stays null."""
    branches = " ".join(
        f"WHEN {column} >= {band.lowest!r} THEN '{band.name}'"
        for band in sorted(bands, key=lambda band: band.lowest, reverse=True)
    )
    return f"CASE WHEN {column} IS NULL THEN NULL {branches} END"


def grouping(name: str, dialect: Dialect) -> str:
    """The SQL expression of one entry of :data:`logbook.cells.GROUPINGS`."""
    made = {"day": dialect.day, "week": dialect.week, "month": dialect.month}
    made |= {each.column: band_case(each.cut_from, each.bands) for each in FACTORS if each.cut_from}
    return made.get(name, f'"{name}"')
