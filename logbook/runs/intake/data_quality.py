"""Notes on runs that can be true and yet are worth a look."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime

import polars as pl

from logbook.runs.columns import columns_with
from logbook.runs.content import twins
from logbook.runs.intake.parsing import NOT_PLAIN, SHOWN, cleaned
from logbook.shop import Shop
from logbook.vocabulary.defects import DEFECT_KINDS
from logbook.vocabulary.own_columns import Own

ROWS_NAMED = 3


def trimmed(cells: pl.DataFrame, own: Sequence[Own]) -> list[str]:
    """Names that had spaces or invisible characters round them."""
    notes = []
    for column in columns_with(own):
        if not column.open_list or column.name not in cells.columns:
            continue
        written = cells[column.name].unique(maintain_order=True)
        plain = cleaned(written)
        shown = plain.filter((written != plain).fill_null(value=False)).unique(maintain_order=True)
        if len(shown):
            names = ", ".join(f"'{name[:SHOWN]}'" for name in shown.head(3))
            dots = " …" if len(shown) > 3 else ""
            notes.append(f"{column.name}: spaces round {names}{dots} were taken off")
    return notes


def quality_notes(
    runs: pl.DataFrame, shop: Shop, now: datetime, name_row: Callable[[int], str]
) -> list[str]:
    """What can be true of good runs, and yet is worth a look.

    ``name_row`` says how a message calls a row of ``runs``.
    """
    notes = []
    late = runs.select((pl.col("finished_at") > now).arg_true()).to_series().to_list()
    if late:
        where = f" ({_named(late, name_row)})" if runs.height > 1 else ""
        notes.append(f"{_rows(len(late))} finished in the future{where}: check the dates")
    unnamed = runs.filter(pl.col("run_ref").is_null())
    if count := len(twins(unnamed)) if unnamed.height > 1 else 0:
        notes.append(
            f"{_rows(count)} without run_ref repeated an earlier row to the letter: kept as runs "
            "of their own; give them references if they were typed twice"
        )
    return [*notes, *stitches_wanting(runs, shop)]


def stitches_wanting(runs: pl.DataFrame, shop: Shop) -> list[str]:
    """That events were recorded, and not the stitches that they are counted against."""
    count = runs.select(_events_without_stitches(shop).sum()).item()
    if not count:
        return []
    return [
        f"{_rows(count)} recorded breaks or nests but not the stitches they are counted "
        "against: fill in stitches_sewn, or stitches_per_piece and pieces_sewn"
    ]


def with_stitches_known(
    notes: Sequence[str], before: pl.DataFrame, after: pl.DataFrame, shop: Shop
) -> tuple[str, ...]:
    """The notes on runs whose stitches were filled in since the notes were made."""
    past = stitches_wanting(before, shop)
    return (*(note for note in notes if note not in past), *stitches_wanting(after, shop))


def worth_a_look(runs: pl.DataFrame, cells: pl.DataFrame, shop: Shop, now: datetime) -> pl.Series:
    """Rows of which one of these notes may speak; of the others none does.

    ``cells`` are what the runs were read from, row for row. Repeated rows are not looked for.
    """
    found = runs.select(
        ((pl.col("finished_at") > now) | _events_without_stitches(shop)).alias("doubtful")
    )["doubtful"]
    for column in columns_with(shop.own):
        if column.open_list and column.name in cells.columns:
            written = cells[column.name]
            if written.str.contains(NOT_PLAIN).any():
                found = found | (written != cleaned(written)).fill_null(value=False)
    return found


def _events_without_stitches(shop: Shop) -> pl.Expr:
    events = [kind.name for kind in (*DEFECT_KINDS, *shop.own_kinds) if kind.measure == "events"]
    no_stitches = pl.col("stitches_sewn").is_null() & (
        pl.col("stitches_per_piece").is_null() | pl.col("pieces_sewn").is_null()
    )
    return no_stitches & pl.any_horizontal(pl.col(name).is_not_null() for name in events)


def _named(places: Sequence[int], name_row: Callable[[int], str]) -> str:
    """The first rows by their numbers: ``row 2, row 9``."""
    named = ", ".join(name_row(place).partition(" of ")[0] for place in places[:ROWS_NAMED])
    more = len(places) - ROWS_NAMED
    return f"{named} and {more} more" if more > 0 else named


def _rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count} rows"
