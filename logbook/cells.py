"""The cells frame: what runs become once they are counted.

A cell is a group of runs that agree in some factors. For one or more defect kinds it holds
how much was at risk and how often it happened:

=================  ======  ==============================================================
``kind``           text    the defect kind, or ``any``
factors            text    the columns grouped by (none: one cell per kind)
``runs``           int     runs that recorded this kind and had something at risk
``exposure``       float   pieces inspected, or stitches sewn for event kinds
``count``          int     pieces that show it, or events
``spoiled``        float   pieces spoiled, allotted to the kind (see below)
``reworked``       float   pieces reworked, allotted to the kind, whose minutes are not known
``rework_minutes`` float   minutes of rework, allotted to the kind
=================  ======  ==============================================================

The last three are null where no run of the cell that showed the kind recorded them: not recorded
is not zero.

A run that did not record a kind is in no cell of that kind. Spoilage and rework of a run are
recorded for the run, not for a kind: they are allotted to its piece kinds in proportion to
their counts, so that the parts add up to the whole.
"""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from logbook.errors import AnalysisError
from logbook.runs.factors import FACTORS

MEASURES: tuple[str, ...] = ("runs", "exposure", "count", "spoiled", "reworked", "rework_minutes")
_LOSSES = frozenset({"spoiled", "reworked", "rework_minutes"})

PERIODS: tuple[str, ...] = ("day", "week", "month")
"""Labels such as ``2026-10-05``, ``2026-W41`` (ISO 8601) and ``2026-10``."""

GROUPINGS: tuple[str, ...] = (*PERIODS, "run_ref", *(each.column for each in FACTORS))
"""Everything that runs can be grouped by; bands are those of the table of columns."""


def pool(cells: pl.DataFrame, *, by: Sequence[str] = ()) -> pl.DataFrame:
    """Merge cells that agree in ``by``; the sums stay what they were.

    A loss that no cell of a group recorded stays null.

    Parameters
    ----------
    cells
        A cells frame.
    by
        Columns to keep; the rest are pooled over. Unrecorded values (null) form a group.

    Returns
    -------
    pl.DataFrame
        Cells again, one row a group, in order of ``by``.

    Raises
    ------
    AnalysisError
        A column of ``by`` is not there.
    """
    keys = list(by)
    if missing := [key for key in keys if key not in cells.columns]:
        raise AnalysisError(f"Cells hold no column {missing[0]!r} to group by.")
    sums = [_sum(name) for name in MEASURES if name in cells.columns]
    if not keys:
        return cells.select(sums)
    return cells.group_by(keys).agg(sums).sort(keys, nulls_last=True)


def _sum(name: str) -> pl.Expr:
    column = pl.col(name)
    if name not in _LOSSES:
        return column.sum()
    return pl.when(column.count() > 0).then(column.sum()).alias(name)


def of_kind(cells: pl.DataFrame, kind: str) -> pl.DataFrame:
    """The cells of one defect kind, without the ``kind`` column."""
    return with_kind(cells, kind).drop("kind")


def with_kind(cells: pl.DataFrame, kind: str) -> pl.DataFrame:
    """The cells of one defect kind.

    Where they stand together, as the store hands them over, they are not copied: a kind of a long
    record is a frame of a million rows.
    """
    own = (cells["kind"] == kind).fill_null(False)
    count = int(own.sum())
    start = own.arg_max() or 0
    if own.slice(start, count).all():
        return cells.slice(start, count)
    return cells.filter(own)
