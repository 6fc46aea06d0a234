"""How a strange sheet is read: kept by the book, found again by the sheet's shape."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any, Literal

from logbook.runs.sheet_matching.dates import Order
from logbook.runs.sheet_matching.tables import shape_of

Silence = Literal["none", "not_recorded"]
SECTION = "(line above)"
WORKSHEET = "(worksheet)"
MADE_COLUMNS = (SECTION, WORKSHEET)
"""Headings of columns that stand in no row: what a line between or the worksheet's name says."""


@dataclass(frozen=True, slots=True)
class ReadColumn:
    """One column: what it means, how surely, and why. ``unit`` is that of numbers without one."""

    heading: str
    means: str | None
    confidence: float
    because: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class SheetReading:
    """How every sheet of one shape is read.

    Parameters
    ----------
    columns
        In the sheet's order.
    date_order, swapped
        How dates in numbers are written; whether the spreadsheet has taken day for month in those
        that it keeps as dates.
    year
        Of dates without one.
    fill_dates
        Whether a row without a date has that of the row above.
    names
        For a column, a cell's plain words and the value that they stand for (empty: none).
    answers
        Phrases of reasons and the kind that each means (empty: no defect).
    silence
        What it means where the reasons do not speak of a kind.
    kinds
        The kinds of which ``silence`` is said.
    needle_parts_found
        Whether all parts of broken needles were found, where the sheet does not say.
    only_bad
        Whether runs without a fault are not in the sheet.
    """

    columns: tuple[ReadColumn, ...]
    date_order: Order = "day_first"
    swapped: bool = False
    year: int | None = None
    fill_dates: bool = False
    names: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    answers: Mapping[str, str] = field(default_factory=dict)
    silence: Silence = "none"
    kinds: tuple[str, ...] = ()
    needle_parts_found: bool = False
    only_bad: bool = False

    @property
    def shape(self) -> tuple[str, ...]:
        """The headings by which the reading is found, without those that stand in no row."""
        return shape_of([c.heading for c in self.columns if c.heading not in MADE_COLUMNS])

    def places(self, means: str) -> tuple[int, ...]:
        """Where the columns of one meaning stand."""
        return tuple(place for place, each in enumerate(self.columns) if each.means == means)

    def plain(self) -> dict[str, Any]:
        """Plain values, as a document holds them."""
        return {"shape": list(self.shape), **asdict(self)}


def reading_from(content: Mapping[str, Any]) -> SheetReading:
    """A reading back from its document."""
    told = {name: content[name] for name in SheetReading.__slots__ if name in content}
    columns = tuple(ReadColumn(**each) for each in _rows(content["columns"]))
    return SheetReading(**{**told, "columns": columns, "kinds": tuple(content.get("kinds", ()))})


def _rows(columns: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    return [{name: each[name] for name in ReadColumn.__slots__ if name in each} for each in columns]
