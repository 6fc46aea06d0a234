"""Few kinds by themselves, the rest together: a fit a kind would keep the person waiting."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import polars as pl

from logbook.adjusted_comparison.rows import CELLS_BY
from logbook.cells import with_kind
from logbook.vocabulary.defects import ANY, DefectKind

OTHERS = replace(
    ANY,
    name="other_kinds",
    label="All other kinds together",
    definition="Pieces with a defect that is not followed by itself here, counted kind by kind.",
)
_LOSSES = ("spoiled", "reworked", "rework_minutes")
LEAST_RECORDED = 0.8
"""A kind recorded in a smaller share of the runs is left out of the rest."""


@dataclass(frozen=True, slots=True, eq=False)
class PooledKinds:
    """Cells in which the rest of the kinds is one.

    Attributes
    ----------
    cells
        Of the kinds that stand by themselves and of ``other_kinds``.
    separate
        Kinds that stand by themselves.
    pooled
        Kinds that are in the rest.
    left_out
        Kinds that too few runs recorded.
    """

    cells: pl.DataFrame
    separate: tuple[DefectKind, ...]
    pooled: tuple[DefectKind, ...]
    left_out: tuple[DefectKind, ...]

    @property
    def kinds(self) -> tuple[DefectKind, ...]:
        """Those to be fitted."""
        return (*self.separate, OTHERS) if self.pooled else self.separate


def pooled_kinds(
    cells: pl.DataFrame, *, kinds: Sequence[DefectKind], separate: Sequence[DefectKind]
) -> PooledKinds:
    """Put all but a few kinds together.

    Parameters
    ----------
    cells
        Cells of piece kinds, grouped by :data:`logbook.adjusted_comparison.CELLS_BY`.
    kinds
        All piece kinds asked about.
    separate
        Those that stand by themselves.

    Returns
    -------
    PooledKinds
        The rest holds runs that recorded all of its kinds. Its count adds up the kinds, a piece
        with two of them counting twice, up to the number of pieces.
    """
    rest = [each for each in kinds if each not in separate]
    recorded = dict(
        cells.group_by("kind").agg(pl.col("runs").sum()).select("kind", "runs").iter_rows()
    )
    most = max(recorded.values(), default=0)
    pooled = tuple(each for each in rest if recorded.get(each.name, 0) >= LEAST_RECORDED * most > 0)
    left_out = tuple(each for each in rest if each not in pooled)
    parts = [with_kind(cells, each.name) for each in separate]
    if pooled:
        parts.append(_pool([with_kind(cells, each.name) for each in pooled]))
    return PooledKinds(pl.concat(parts), tuple(separate), pooled, left_out)


def _pool(parts: Sequence[pl.DataFrame]) -> pl.DataFrame:
    """One cell of several kinds, where all of them were recorded."""
    columns = parts[0].columns
    rest = _alongside(parts) if _the_same_runs(parts) else _grouped(parts)
    return rest.with_columns(
        pl.lit(OTHERS.name).alias("kind"),
        pl.min_horizontal("count", pl.col("exposure").cast(pl.Int64)).alias("count"),
    ).select(columns)


def _the_same_runs(parts: Sequence[pl.DataFrame]) -> bool:
    """Whether all hold the same runs by themselves, in order: then their rows are alike."""
    first = parts[0]["run_ref"]
    return (
        first.null_count() == 0
        and first.is_sorted()
        and first.is_unique().all()
        and all(first.equals(each["run_ref"]) for each in parts[1:])
    )


def _alongside(parts: Sequence[pl.DataFrame]) -> pl.DataFrame:
    """Kinds that the same runs recorded, row by row: a million rows are not grouped for it."""

    def every(name: str) -> pl.DataFrame:
        return pl.DataFrame({str(place): each[name] for place, each in enumerate(parts)})

    def added(name: str) -> pl.Series:
        values = every(name)
        some = ~values.select(pl.all_horizontal(pl.all().is_null())).to_series()
        return values.sum_horizontal().set(~some, None).alias(name)

    return parts[0].with_columns(
        every("runs").min_horizontal().alias("runs"),
        every("exposure").min_horizontal().alias("exposure"),
        every("count").sum_horizontal().alias("count"),
        *(added(name) for name in _LOSSES if name in parts[0].columns),
    )


def _grouped(parts: Sequence[pl.DataFrame]) -> pl.DataFrame:
    columns = parts[0].columns
    return (
        pl.concat(parts)
        .group_by(CELLS_BY)
        .agg(
            pl.len().alias("_kinds"),
            pl.col("runs").min(),
            pl.col("exposure").min(),
            pl.col("count").sum(),
            *(_sum_of(name) for name in _LOSSES if name in columns),
        )
        .filter(pl.col("_kinds") == len(parts))
        .sort(CELLS_BY)
    )


def _sum_of(name: str) -> pl.Expr:
    """Sum of what was recorded; null where nothing was."""
    return pl.when(pl.col(name).count() > 0).then(pl.col(name).sum()).alias(name)
