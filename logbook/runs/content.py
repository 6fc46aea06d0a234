"""What a run says as one digest: the same content gives the same digest anywhere, any time."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

import polars as pl

_END = "\x1f"
MADE_PREFIX = "made-"
"""Begins every reference that was made from a row's content."""


def content_digests(runs: pl.DataFrame) -> pl.Series:
    """Fingerprint of each run's content, its reference left out.

    Only recorded values count, each with its column's name, so that a column added to the
    run sheet later does not change the digest of a run that does not use it.

    Parameters
    ----------
    runs
        A run frame.

    Returns
    -------
    pl.Series
        32 hexadecimal digits a run (BLAKE2b, RFC 7693, 128 bits).
    """
    schema = runs.schema
    # A column that is empty throughout says nothing, and asking it takes its time.
    names = sorted(
        name for name in schema if name != "run_ref" and runs[name].null_count() < runs.height
    )
    if not names:
        return pl.Series("content_mark", [_digest("")] * runs.height, dtype=pl.String)
    spoken = runs.select(
        pl.concat_str(
            [_spoken(name, schema[name]) for name in names], separator="", ignore_nulls=True
        ).alias("content")
    )["content"]
    return pl.Series("content_mark", [_digest(text) for text in spoken], dtype=pl.String)


def made_references(runs: pl.DataFrame, *, sheets: pl.Series | None = None) -> pl.DataFrame:
    """Fill missing references from the content, so that a second import adds nothing.

    Rows of one sheet that agree in everything are runs of their own (two clean loads on one
    morning look alike): the second, third … get references of their own, the same ones at
    every import. Content is only looked at where a reference is wanting. ``sheets`` numbers the
    sheet of each row, where the rows are of several.
    """
    absent = runs["run_ref"].is_null()
    if not absent.any():
        return runs
    unnamed = runs.filter(absent)
    numbers = pl.Series("sheet", [0], dtype=pl.Int64).new_from_index(0, unnamed.height)
    numbers = numbers if sheets is None else sheets.filter(absent).alias("sheet")
    nth = pl.col("content_mark").cum_count().over("content_mark", "sheet")
    made = pl.concat_str(
        pl.lit(MADE_PREFIX),
        pl.col("content_mark").str.slice(0, 20),
        pl.when(nth > 1)
        .then(pl.concat_str(pl.lit("-"), nth.cast(pl.String)))
        .otherwise(pl.lit("")),
    )
    references = pl.DataFrame([content_digests(unnamed), numbers]).select(made.alias("made"))[
        "made"
    ]
    return runs.with_columns(runs["run_ref"].scatter(absent.arg_true(), references))


def twins(runs: pl.DataFrame) -> Sequence[int]:
    """Positions of rows without a reference that repeat an earlier row to the letter."""
    marked = runs.with_columns(content_digests(runs)).with_row_index("position")
    unnamed = marked.filter(pl.col("run_ref").is_null())
    return unnamed.filter(~pl.col("content_mark").is_first_distinct())["position"].to_list()


def _spoken(name: str, dtype: pl.DataType) -> pl.Expr:
    value = pl.col(name)
    if isinstance(dtype, pl.Datetime):
        text = value.dt.to_string("%Y-%m-%dT%H:%M:%S%.6f")
    elif dtype.is_float():
        # The number's bits, since the digits written for a number may change with a library.
        number = pl.when(value == 0).then(0.0).otherwise(value.cast(pl.Float64))
        text = number.reinterpret(dtype=pl.UInt64).cast(pl.String)
    elif dtype == pl.String:
        # The separator doubled, or one text could pass for two columns.
        text = value.str.replace_all(_END, _END * 2, literal=True)
    else:
        text = value.cast(pl.String)
    return pl.concat_str(pl.lit(f"{name}="), text, pl.lit(_END))


def _digest(text: str) -> str:
    return hashlib.blake2b(text.encode(), digest_size=16).hexdigest()
