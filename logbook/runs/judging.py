"""Part a run frame into runs that can be true and rows that cannot, with the reasons."""

from __future__ import annotations

import operator
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import polars as pl

from logbook.runs.columns import run_schema
from logbook.runs.rules import Rule, rules_for, sentence
from logbook.vocabulary.own_columns import Own

REASONS = pl.Schema(
    {
        "position": pl.Int64(),
        "column": pl.String(),
        "reason": pl.String(),
    }
)
"""Columns of every frame of reasons; positions are 0-based rows of the frame judged."""


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """A run frame parted in two.

    ``good`` holds the run sheet's columns in order, ``positions`` which rows they were;
    ``reasons`` one row for every reason found, ``bad`` one row for every row rejected, its
    reasons joined.
    """

    good: pl.DataFrame
    positions: pl.Series
    reasons: pl.DataFrame

    @property
    def bad(self) -> pl.DataFrame:
        """``position, column, reason``: columns joined by commas, reasons by semicolons."""
        return joined(self.reasons)


def judge(
    frame: pl.DataFrame,
    *,
    own: Sequence[Own] = (),
    now: datetime,
    unread: pl.DataFrame | None = None,
) -> Judged:
    """Which runs can be true, and why the others cannot.

    Parameters
    ----------
    frame
        A run frame; ``backing_oz_yd2`` may be there besides and is left out of ``good``.
    own
        Columns and defect kinds that the shop has added; their columns are in the frame.
    now
        The present in the shop's zone, without offset.
    unread
        Cells that could not be read (``position, column, reason``; null in ``frame``). Their
        rows are rejected, and no rule that looks at such a cell speaks about its row.

    Returns
    -------
    Judged
    """
    there = frozenset(frame.columns)
    recorded = {name for name in there if frame[name].null_count() < frame.height}
    rules = [
        rule
        for rule in rules_for(own, now=now)
        if rule.reads <= there and (rule.needs is None or rule.needs in recorded)
    ]
    unread = pl.DataFrame(schema=REASONS) if unread is None else unread.cast(REASONS)
    numbered = frame.with_row_index("position").with_columns(pl.col("position").cast(pl.Int64))
    mask = _breaches(numbered, rules).fold(operator.or_) | numbered["position"].is_in(
        unread["position"].unique().implode()
    )
    kept = numbered.filter(~mask)
    return Judged(
        good=kept.select(list(run_schema(own))),
        positions=kept["position"],
        reasons=_reasons(numbered.filter(mask).rechunk(), rules, unread),
    )


def _breaches(frame: pl.DataFrame, rules: Sequence[Rule]) -> pl.DataFrame:
    """One column a rule: true where the run cannot be."""
    # One by one and not as one long "or": planning that takes longer than judging 100,000 rows.
    each = frame.lazy().select(rule.broken.fill_null(False).alias(rule.name) for rule in rules)
    return each.collect(optimizations=pl.QueryOptFlags.none())


def joined(reasons: pl.DataFrame) -> pl.DataFrame:
    """One row for each position: its columns joined by ", ", its reasons by "; "."""
    return reasons.group_by("position", maintain_order=True).agg(
        pl.col("column").unique(maintain_order=True).str.join(", "),
        pl.col("reason").unique(maintain_order=True).str.join("; "),
    )


def _reasons(bad: pl.DataFrame, rules: Sequence[Rule], unread: pl.DataFrame) -> pl.DataFrame:
    if bad.is_empty():
        return pl.DataFrame(schema=REASONS)
    found = [unread.with_columns(pl.lit(-1, pl.Int64).alias("order"))]
    breaches = _breaches(bad, rules)
    for order, rule in enumerate(rules):
        if breaches[rule.name].any():
            found.append(_spoken(bad.filter(breaches[rule.name]), rule, order, unread))
    return pl.concat(found).sort("position", "order", maintain_order=True).drop("order")


def _spoken(broken: pl.DataFrame, rule: Rule, order: int, unread: pl.DataFrame) -> pl.DataFrame:
    blind = unread.filter(pl.col("column").is_in(list(rule.reads)))["position"]
    return broken.filter(~pl.col("position").is_in(blind.unique().implode())).select(
        "position",
        pl.lit(rule.column).alias("column"),
        sentence(rule),
        pl.lit(order, pl.Int64).alias("order"),
    )
