"""Run frames for tests of the book, made from plain mappings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

import polars as pl

from logbook.runs.columns import run_schema
from logbook.vocabulary.own_columns import Own

MONDAY = datetime(2026, 10, 5, 8, 30)


def run(run_ref: str, **values: Any) -> dict[str, Any]:
    """One run: ten pieces inspected on a Monday, one of them with gaps, unless told otherwise."""
    usual = {"finished_at": MONDAY, "pieces_inspected": 10, "gaps": 1}
    return {**usual, **values, "run_ref": run_ref}


def frame(runs: Sequence[Mapping[str, Any]], own: Sequence[Own] = ()) -> pl.DataFrame:
    """A run frame with every column; what a mapping leaves out is not recorded."""
    schema = run_schema(own)
    strangers = {name for each in runs for name in each} - set(schema)
    assert not strangers, strangers
    return pl.DataFrame([{name: each.get(name) for name in schema} for each in runs], schema=schema)


def many(count: int, *, prefix: str = "R-", **values: Any) -> pl.DataFrame:
    """A frame of ``count`` runs that differ in their reference alone."""
    one = frame([run("", **values)])
    references = [f"{prefix}{number}" for number in range(count)]
    rows = pl.concat([one.select(pl.all().repeat_by(count).explode())]) if count else one.clear()
    return rows.with_columns(run_ref=pl.Series(references, dtype=pl.String))
