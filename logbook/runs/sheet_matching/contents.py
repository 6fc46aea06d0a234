"""Which columns the cells of a column may belong to, by what they hold."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

from logbook.runs.column import Column
from logbook.runs.sheet_matching.amounts import (
    decimal_mark,
    read_minutes,
    read_number,
    within,
)
from logbook.runs.sheet_matching.dates import read_clock, take_apart
from logbook.runs.sheet_matching.listed_values import (
    is_usual,
    read_backing,
    read_choice,
    read_needle,
    read_weight,
    read_yes_no,
)
from logbook.runs.sheet_matching.plain_words import is_name, is_said
from logbook.runs.sheet_matching.reasons import ReasonWords

LOOKED_AT = 250
"""Different texts of a column that are looked at."""
_SENTENCE = re.compile(r"\S+\s+\S+\s+\S+")
_COUNTS = frozenset(("pieces_of_a_size", "pieces_good", "stitches"))


@dataclass(frozen=True, slots=True, eq=False)
class Contents:
    """The cells of a column: its different texts that say something, and how often each stands."""

    texts: tuple[str, ...]
    rows: tuple[int, ...]
    filled: int
    different: int

    def share(self, fits: Sequence[bool]) -> float:
        """The share of filled cells that fit."""
        whole = sum(self.rows)
        return (
            sum(r for r, fit in zip(self.rows, fits, strict=True) if fit) / whole if whole else 0.0
        )


def contents_of(cells: pl.Series) -> Contents:
    """Look at the cells of a column."""
    counts = (
        cells.filter(cells != "").value_counts(name="rows", sort=True).rename({cells.name: "text"})
    )
    shown = [(text, rows) for text, rows in counts.head(LOOKED_AT).iter_rows() if is_said(text)]
    return Contents(
        tuple(text for text, _ in shown),
        tuple(rows for _, rows in shown),
        int(counts["rows"].sum()),
        counts.height,
    )


def fitting(column: Column | str, contents: Contents, words: ReasonWords) -> float:
    """The share of a column's cells that can be read as what a column of the run sheet holds."""
    name = column if isinstance(column, str) else column.name
    texts = [text for text in contents.texts if not is_usual(text)]
    if not texts:
        return 0.5
    usual = {text for text in contents.texts if is_usual(text)}
    fits = _reads(name, None if isinstance(column, str) else column, contents.texts, words)
    return contents.share(
        [fit or text in usual for fit, text in zip(fits, contents.texts, strict=True)]
    )


def _reads(
    name: str, column: Column | None, texts: Sequence[str], words: ReasonWords
) -> list[bool]:
    if name == "finished_at":
        return [take_apart(text) is not None for text in texts]
    if name == "time_of_day":
        return [_is_clock(text) for text in texts]
    if name == "reasons":
        return [_reason(words, text) for text in texts]
    if name == "backing":
        return [
            "backing" in read_backing(text, {})[0]
            or "backing_gsm" in read_backing(text, {})[0]
            or "backing_oz_yd2" in read_backing(text, {})[0]
            for text in texts
        ]
    if name in ("backing_gsm", "backing_oz_yd2"):
        return [read_weight(text, ounces=None) is not None for text in texts]
    if name in ("needle_nm", "needle_point"):
        return [read_needle(text) is not None for text in texts]
    if name in _COUNTS:
        return [
            text.replace(",", "").replace(".", "").replace(" ", "").rstrip("kK").isdigit()
            for text in texts
        ]
    assert column is not None
    return _reads_column(column, texts)


def _reads_column(column: Column, texts: Sequence[str]) -> list[bool]:
    if column.unit == "minutes":
        return [
            read_minutes(text) is not None and not (":" in text and _is_clock(text))
            for text in texts
        ]
    if column.type in ("integer", "number"):
        mark = decimal_mark(texts)
        values = [read_number(text, column, mark) for text in texts]
        whole = column.type == "integer"
        return [
            value is not None and within(value, column) and (not whole or value.is_integer())
            for value in values
        ]
    if column.type == "boolean":
        return [read_yes_no(text) is not None for text in texts]
    if (choices := column.choices) is not None:
        return [read_choice(text, choices) is not None for text in texts]
    if column.name == "notes":
        return [is_name(text) for text in texts]
    # Names are short and no dates; machines and jobs may be numbers alone.
    numbered = column.name in ("machine", "job", "run_ref", "backing_lot", "design", "shift")
    return [
        len(text) <= column.longest and take_apart(text) is None and (is_name(text) or numbered)
        for text in texts
    ]


def _is_clock(text: str) -> bool:
    """Whether a text is a time of day; before five in the morning it is rather a span of time."""
    clock = read_clock(text)
    return clock is not None and (clock >= "05" or text.strip().casefold().endswith("m"))


def _reason(words: ReasonWords, text: str) -> bool:
    found = words.read(text)
    return bool(found.counts or found.seen or found.none)


def sentences(contents: Contents) -> float:
    """The share of cells of several words."""
    return contents.share([bool(_SENTENCE.search(text)) for text in contents.texts])
