"""Runs that come as names and values: from the form, the command line or a request."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

import polars as pl

from logbook.errors import RecordError
from logbook.runs.columns import outcome_columns
from logbook.runs.intake.headings import heading_name, known_names, near_miss
from logbook.runs.intake.parsing import Reading
from logbook.runs.intake.pipeline import Parsed, Reject, parse_cells, with_rejects
from logbook.runs.intake.table import plain_text
from logbook.shop import Shop
from logbook.vocabulary.own_columns import Own

NO_OUTCOME = (
    "nothing is said of how the run went: give at least one outcome, such as puckering=0 where "
    "the pieces were looked at and none puckered"
)


@dataclass(frozen=True, slots=True, eq=False)
class ParsedRun:
    """One run: a frame of one row, and what is worth a look."""

    run: pl.DataFrame
    notes: tuple[str, ...]


def parse_run(
    values: Mapping[str, Any],
    *,
    shop: Shop,
    known: Mapping[str, Sequence[str]],
    now: datetime,
    outcome_needed: bool = True,
) -> ParsedRun:
    """Read and judge one run.

    Parameters
    ----------
    values
        Column names of the run sheet to text or typed values; None or an empty text is *not
        recorded*.
    shop, known, now
        As for :func:`logbook.runs.intake.parse_sheet`.
    outcome_needed
        Whether at least one outcome must be named; not so for the correction of a run that
        came from a sheet without any.

    Raises
    ------
    RecordError
        The run cannot be true, or a name is not a column; ``reasons`` maps each name at fault
        to its sentence.
    """
    cells, reasons = _cells(values, shop, outcome_needed=outcome_needed)
    parsed = _parse([cells], [0], shop=shop, known=known, now=now)
    for fault in parsed.reasons:
        told = reasons.get(fault.column)
        reasons[fault.column] = f"{told}; {fault.reason}" if told else fault.reason
    if reasons:
        raise RecordError(
            f"The run was not kept: {'; '.join(reasons.values())}.",
            "mend what is named and try again",
            reasons=reasons,
        )
    return ParsedRun(parsed.good, parsed.notes)


def parse_runs(
    entries: Sequence[Any],
    *,
    shop: Shop,
    known: Mapping[str, Sequence[str]],
    now: datetime,
) -> Parsed:
    """Read and judge many runs, such as the list in a request.

    Parameters
    ----------
    entries
        Each a mapping of column names to text or typed values.
    shop, known, now
        As for :func:`logbook.runs.intake.parse_sheet`.

    Returns
    -------
    Parsed
        Positions are places in ``entries``, from 0.
    """
    readable, positions, rejects = readable_entries(entries, shop)
    parsed = _parse(readable, positions, shop=shop, known=known, now=now)
    return with_rejects(parsed, rejects, rows=len(entries))


def readable_entries(
    entries: Sequence[Any], shop: Shop
) -> tuple[list[dict[str, str]], list[int], list[Reject]]:
    """Cells of the entries that hold some, the places of those, and rejects for the others."""
    readable: list[dict[str, str]] = []
    positions: list[int] = []
    rejects: list[Reject] = []
    for position, entry in enumerate(entries):
        if not isinstance(entry, Mapping):
            rejects.append(Reject(position, "", "this is not an object of names and values"))
            continue
        cells, reasons = _cells(entry, shop, outcome_needed=True)
        if reasons:
            rejects.append(Reject(position, ", ".join(reasons), "; ".join(reasons.values())))
        else:
            readable.append(cells)
            positions.append(position)
    return readable, positions, rejects


def _parse(
    rows: Sequence[Mapping[str, str]],
    positions: Sequence[int],
    *,
    shop: Shop,
    known: Mapping[str, Sequence[str]],
    now: datetime,
) -> Parsed:
    return parse_cells(
        as_cells(rows),
        positions=pl.Series("position", positions, dtype=pl.Int64),
        reading=Reading(ZoneInfo(shop.timezone)),
        shop=shop,
        known=known,
        now=now,
        name_row=name_entry,
    )


def as_cells(rows: Sequence[Mapping[str, str]]) -> pl.DataFrame:
    """Text by column name as columns of text."""
    names = sorted({name for row in rows for name in row})
    return pl.DataFrame(
        {name: [row.get(name, "") for row in rows] for name in names},
        schema=dict.fromkeys(names, pl.String()),
        height=len(rows),
    )


def name_entry(position: int) -> str:
    """How a message calls the entry of a request."""
    return f"run {position + 1} of this request"


def _cells(
    values: Mapping[str, Any], shop: Shop, *, outcome_needed: bool
) -> tuple[dict[str, str], dict[str, str]]:
    """Text by column name, and by the name as given why it cannot be taken."""
    names = _names(shop.own)
    cells: dict[str, str] = {}
    reasons: dict[str, str] = {}
    for given, value in values.items():
        name = given if given in names.as_they_are else heading_name(str(given))
        if name not in names.columns:
            near = near_miss(str(given), shop.own)
            guess = f" (did you mean {near}?)" if near else ""
            reasons[plain_text(str(given))] = f"'{given}' is no column of a run sheet{guess}"
        elif name in cells:
            reasons[name] = f"{name} is given twice"
        else:
            try:
                cells[name] = plain_text(value)
            except TypeError as fault:
                reasons[name] = f"{name}: {fault}"
    if outcome_needed and not cells.keys() & names.outcomes and not reasons:
        reasons["pieces_defective"] = NO_OUTCOME
    return cells, reasons


@dataclass(frozen=True, slots=True)
class _Names:
    """Names of a run sheet's columns, those that reading leaves as they are, and outcomes."""

    columns: frozenset[str]
    as_they_are: frozenset[str]
    outcomes: frozenset[str]


@lru_cache(maxsize=8)
def _names(own: tuple[Own, ...]) -> _Names:
    columns = known_names(own)
    as_they_are = frozenset(name for name in columns if heading_name(name) == name)
    return _Names(columns, as_they_are, frozenset(outcome_columns(own)))
