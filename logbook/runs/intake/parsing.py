"""Read whole columns: text cells to typed values, with a reason for every unreadable cell."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

import polars as pl

from logbook.runs.columns import WEIGHT_IN_OUNCES, Column
from logbook.runs.intake.readers import (
    FALSE_WORDS,
    ONE_GROUP,
    TRUE_WORDS,
    Unreadable,
    may_be_thousands,
    read_boolean,
    read_choice,
    read_integer,
    read_moment,
    read_needle,
    read_number,
)
from logbook.runs.judging import REASONS
from logbook.vocabulary.backings import GRAMS_PER_SQUARE_METRE_PER_OUNCE_PER_SQUARE_YARD

Value = bool | int | float | str | datetime

SHOWN = 40
"""Characters of a cell that a reason repeats."""

DIGITS_KEPT = 15

_INVISIBLE = r"[\x00-\x08\x0e-\x1f\x7f-\x9f\u200b\u2060\ufeff]"
_GUARD = r"^'([=+\-@'\t\r])"
"""What an export puts before text that a spreadsheet would work out."""
NOT_PLAIN = r"^ | $|[^\x20-\x7e]"
"""Text that cleaning may change; what does not match stays as it is."""
_PLAIN_MOMENTS: Mapping[str, int] = {
    "%Y-%m-%d": 10,
    "%Y-%m-%dT%H:%M": 16,
    "%Y-%m-%d %H:%M": 16,
    "%Y-%m-%dT%H:%M:%S": 19,
    "%Y-%m-%d %H:%M:%S": 19,
}


@dataclass(frozen=True, slots=True)
class Reading:
    """How the cells of one sheet are to be read: the shop's zone, and what a dot means.

    ``guarded``: an apostrophe before text that begins like a formula is a spreadsheet's guard.
    """

    zone: ZoneInfo
    dot_is_decimal: bool = True
    guarded: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Typed:
    """Typed columns, null where nothing was recorded or the cell is ``unread``.

    ``unread`` has ``position, column, reason``.
    """

    frame: pl.DataFrame
    unread: pl.DataFrame


def read_columns(cells: pl.DataFrame, columns: tuple[Column, ...], reading: Reading) -> Typed:
    """Read the text columns of a sheet.

    Parameters
    ----------
    cells
        Text under the run sheet's names; columns that are absent come out as not recorded.
    columns
        The columns of the shop's run sheet.
    reading
        How to read them.

    Returns
    -------
    Typed
        All of ``columns``, and ``backing_oz_yd2`` where it is there; its weight is also put into
        ``backing_gsm`` where that is empty.
    """
    wanted = [*columns, *([WEIGHT_IN_OUNCES] if WEIGHT_IN_OUNCES.name in cells.columns else [])]
    typed: list[pl.Series] = []
    unread = [pl.DataFrame(schema=REASONS)]
    for column in wanted:
        if column.name not in cells.columns:
            typed.append(_nothing(column.name, column.dtype).new_from_index(0, cells.height))
            continue
        values, reasons = read_column(cells[column.name], column, reading)
        typed.append(values)
        if reasons is not None:
            unread.append(reasons)
    frame = pl.DataFrame(typed, height=cells.height)
    return Typed(_with_grams(frame), pl.concat(unread))


@lru_cache(maxsize=256)
def _nothing(name: str, dtype: pl.DataType) -> pl.Series:
    return pl.Series(name, [None], dtype=dtype)


def read_column(
    cells: pl.Series, column: Column, reading: Reading
) -> tuple[pl.Series, pl.DataFrame | None]:
    """Read one column of text.

    Numbers are kept to fifteen digits, moments to the second.

    Returns
    -------
    tuple
        The typed values, and the cells that could not be read (None where all could).
    """
    if reading.guarded and column.type == "text":
        cells = cells.str.replace(_GUARD, "$1")
    text = cleaned(cells, keep_lines=column.name == "notes")
    if column.type == "text":
        return text, None
    fast = _read_fast(text, column, reading)
    left = text.is_not_null() & fast.is_null()
    if not left.any():
        return _as_kept(fast, text), None
    values, unread = _read_slowly(text, fast, left, column, reading)
    return _as_kept(values, text), unread


def _as_kept(values: pl.Series, text: pl.Series) -> pl.Series:
    """Numbers to fifteen digits, moments to the second.

    Spreadsheets keep no more: else a sheet that was exported, opened and saved would come back
    with other content.
    """
    if values.dtype == pl.Datetime:
        return values.dt.truncate("1s")
    long = text.str.len_bytes() > DIGITS_KEPT
    if values.dtype != pl.Float64 or not long.any():
        return values
    places = (long & values.is_not_null()).arg_true()
    return values.scatter(places, [float(f"{value:.{DIGITS_KEPT}g}") for value in values[places]])


def cleaned(cells: pl.Series, *, keep_lines: bool = False) -> pl.Series:
    """Text without space round it or invisible characters in it; null where nothing is left.

    Line breaks and tabs become spaces unless they are to be kept; letters with accents take
    their composed form (Unicode NFC), so that the same word is the same text.
    """
    name = cells.name
    if cells.str.contains(NOT_PLAIN).any():
        text = cells.str.replace_all(_INVISIBLE, "").str.normalize("NFC")
        text = text.str.replace_all(r"\r\n?", "\n")
        if not keep_lines:
            text = text.str.replace_all(r"[\t\n\x0b\x0c\x{85}\x{2028}\x{2029}]", " ")
        cells = text.str.strip_chars()
    return cells.set(cells == "", None).alias(name)


def _read_fast(text: pl.Series, column: Column, reading: Reading) -> pl.Series:
    """Plain writing by Polars; null for everything that needs a closer look."""
    name = column.name
    if column.type == "integer":
        return text.cast(pl.Int64, strict=False)
    if column.type == "number":
        value = text.cast(pl.Float64, strict=False)
        unsure = ~value.is_finite()
        if not reading.dot_is_decimal and may_be_thousands(column):
            unsure = unsure | text.str.contains(ONE_GROUP)
        return value.set(unsure.fill_null(value=True), None)
    if column.type == "boolean":
        words = dict.fromkeys(TRUE_WORDS, True) | dict.fromkeys(FALSE_WORDS, False)
        return text.str.to_lowercase().replace_strict(words, default=None, return_dtype=pl.Boolean)
    if column.choices is not None:
        known = text.is_in(list(column.choices.values)).fill_null(value=False)
        return text.set(~known, None)
    return _fast_moments(text).alias(name)


def _fast_moments(text: pl.Series) -> pl.Series:
    length = pl.col("text").str.len_bytes()
    # Lengths are checked since the parser would also take 2026-1-5.
    parsed = [
        pl.when(length == size).then(
            pl.col("text").str.to_datetime(form, strict=False, time_unit="us")
        )
        for form, size in _PLAIN_MOMENTS.items()
    ]
    digits_first = pl.col("text").str.contains(r"^[0-9]{4}-")
    frame = text.alias("text").to_frame()
    return frame.select(pl.when(digits_first).then(pl.coalesce(parsed))).to_series()


def _read_slowly(
    text: pl.Series, fast: pl.Series, left: pl.Series, column: Column, reading: Reading
) -> tuple[pl.Series, pl.DataFrame | None]:
    read = _reader(column, reading)
    writings = text.filter(left).unique().to_list()
    values: list[Value | None] = []
    reasons: list[str | None] = []
    for writing in writings:
        try:
            values.append(read(writing))
            reasons.append(None)
        except Unreadable as fault:
            values.append(None)
            reasons.append(f"{column.name} is '{_short(writing)}', which {fault}")
    meanings = pl.DataFrame(
        {"text": writings, "value": values, "reason": reasons},
        schema={"text": pl.String(), "value": column.dtype, "reason": pl.String()},
    )
    looked_up = (
        text.alias("text").to_frame().join(meanings, on="text", how="left", maintain_order="left")
    )
    both = looked_up.with_columns(fast.alias("fast")).with_row_index("position")
    unread = both.filter(left & pl.col("reason").is_not_null()).select(
        pl.col("position").cast(pl.Int64), pl.lit(column.name).alias("column"), "reason"
    )
    found = both.select(pl.coalesce("fast", "value").alias(column.name)).to_series()
    return found, unread if unread.height else None


def _short(writing: str) -> str:
    return writing if len(writing) <= SHOWN else f"{writing[:SHOWN]}…"


def _reader(column: Column, reading: Reading) -> Callable[[str], Value]:
    choices = column.choices
    if choices is not None:
        return lambda text: read_choice(text, choices)
    if column.name == "needle_nm":
        return read_needle
    if column.type == "integer":
        return read_integer
    if column.type == "boolean":
        return read_boolean
    if column.type == "moment":
        return lambda text: read_moment(text, reading.zone)
    return lambda text: read_number(text, column, dot_is_decimal=reading.dot_is_decimal)


def _with_grams(frame: pl.DataFrame) -> pl.DataFrame:
    if WEIGHT_IN_OUNCES.name not in frame.columns:
        return frame
    ounces = pl.col(WEIGHT_IN_OUNCES.name)
    grams = (ounces * GRAMS_PER_SQUARE_METRE_PER_OUNCE_PER_SQUARE_YARD).round(3)
    return frame.with_columns(pl.coalesce("backing_gsm", grams).alias("backing_gsm"))
