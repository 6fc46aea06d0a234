"""Which rows below a heading are runs, and which are blank, sums, headings or lines between."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import polars as pl

from logbook.runs.sheet_matching.plain_words import DITTO
from logbook.vocabulary.sheet_words import LANGUAGES, spellings

FEW_CELLS = 3
"""Columns that a table has at least before a row with one filled cell is a line between."""
_TOTALS = sorted(
    {word for each in LANGUAGES for word in spellings(each.totals)}, key=len, reverse=True
)
_TOTAL = "^(?:" + "|".join(word.replace(".", r"\.") for word in _TOTALS) + r")(?:$|[\s:=.(])"
LOOKED_AT = 4
"""A row of sums says so in one of its first columns."""


@dataclass(frozen=True, slots=True, eq=False)
class RunRows:
    """The rows of a table that are runs.

    ``cells`` are text columns named by their place, ``numbers`` the rows that a spreadsheet shows;
    ``sections`` is the text of the last line between, where there were any. ``left_out`` counts
    the other rows by their sort.
    """

    cells: pl.DataFrame
    numbers: pl.Series
    sections: pl.Series | None
    left_out: Mapping[str, int]


def run_rows(cells: pl.DataFrame, numbers: pl.Series, headings: Sequence[str]) -> RunRows:
    """Tell runs from the other rows; cells that say “the same” get the one above."""
    names = cells.columns
    stripped = cells.select(pl.all().fill_null("").str.strip_chars())
    marked = stripped.select(
        pl.sum_horizontal(pl.col(name) != "" for name in names).alias("filled"),
        pl.any_horizontal(
            pl.col(name).str.to_lowercase().str.contains(_TOTAL) for name in names[:LOOKED_AT]
        ).alias("total"),
        pl.sum_horizontal(
            _says_heading(name, head) for name, head in zip(names, headings, strict=False)
        ).alias("headed"),
        pl.coalesce(pl.when(pl.col(name) != "").then(pl.col(name)) for name in names).alias("line"),
    )
    named = sum(bool(heading.strip()) for heading in headings)
    filled = pl.col("filled")
    sorts = marked.select(
        pl.when(filled == 0)
        .then(pl.lit("blank"))
        .when(pl.col("headed") >= max(2, named // 2))
        .then(pl.lit("heading"))
        .when(pl.col("total") & (filled < max(named, 2)))
        .then(pl.lit("total"))
        .when((filled == 1) & pl.lit(named >= FEW_CELLS))
        .then(pl.lit("line"))
        .otherwise(pl.lit("run"))
        .alias("sort")
    )["sort"]
    kept = sorts == "run"
    lines = marked["line"].set(sorts != "line", None)
    counts = sorts.filter(~kept).value_counts(name="rows")
    return RunRows(
        cells=_with_dittos(stripped.filter(kept)),
        numbers=numbers.filter(kept),
        sections=lines.forward_fill().fill_null("").filter(kept)
        if lines.null_count() < len(lines)
        else None,
        left_out=dict(counts.iter_rows()),
    )


def _says_heading(name: str, heading: str) -> pl.Expr:
    text = heading.strip()
    # Of a heading in two rows either may be repeated; its last word tells.
    return (pl.col(name) == text) & pl.lit(bool(text))


def _with_dittos(cells: pl.DataFrame) -> pl.DataFrame:
    marks = list(DITTO)
    repeating = [name for name in cells.columns if cells[name].is_in(marks).any()]
    return cells.with_columns(
        pl.when(pl.col(name).is_in(marks))
        .then(pl.when(~pl.col(name).is_in(marks)).then(pl.col(name)).forward_fill())
        .otherwise(pl.col(name))
        .fill_null("")
        .alias(name)
        for name in repeating
    )
