"""The few places where two databases write the same thing differently, and shared SQL pieces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logbook.vocabulary.backings import WEIGHT_BANDS
from logbook.vocabulary.bands import Band
from logbook.vocabulary.factors import DENSITY_BANDS, SPEED_BANDS


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
    made = {
        "day": dialect.day,
        "week": dialect.week,
        "month": dialect.month,
        "weight_band": band_case("backing_gsm", WEIGHT_BANDS),
        "density_band": band_case("density", DENSITY_BANDS),
        "speed_band": band_case("speed_spm", SPEED_BANDS),
    }
    return made.get(name, f'"{name}"')
