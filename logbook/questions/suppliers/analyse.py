"""Which backing supplier gives fewer defects on the same jobs, and what a good piece costs."""

from __future__ import annotations

import polars as pl

from logbook.adjusted_comparison import FairFigures
from logbook.kernels.counted import interval
from logbook.questions.suppliers.asked import margin_for, reference_among
from logbook.questions.suppliers.counting import CELLS_BY, Gathered, gather
from logbook.questions.suppliers.fair_cost import fair_costs
from logbook.questions.suppliers.fairly import Fairly, compare_fairly
from logbook.questions.suppliers.good_pieces import TOTALS_BY, costs_of
from logbook.questions.suppliers.like_for_like import compare
from logbook.questions.suppliers.notes import notes_of, warnings_of
from logbook.questions.suppliers.result import Stratum as Stratum
from logbook.questions.suppliers.result import SupplierRow, SuppliersResult
from logbook.shop import Shop
from logbook.vocabulary.defects import DefectKind

__all__ = [
    "CELLS_BY",
    "QUESTION",
    "TOTALS_BY",
    "Stratum",
    "SupplierRow",
    "SuppliersResult",
    "analyse",
]

QUESTION = "Which backing supplier gives fewer defects on the same jobs?"


def analyse(
    cells: pl.DataFrame,
    *,
    kind: DefectKind,
    shop: Shop,
    backing: str | None = None,
    reference: str | None = None,
    margin: float | None = None,
    level: float = 0.95,
    totals: pl.DataFrame | None = None,
    setups: pl.DataFrame | None = None,
) -> SuppliersResult:
    """Compare backing suppliers by one kind of defect, like for like.

    Parameters
    ----------
    cells
        Cells grouped by ``CELLS_BY``, or finer. With a ``kind`` column those of ``kind`` are
        taken. Cells without a supplier, or sewn without backing, are left out and said so.
    kind
        The kind compared; ``any`` for pieces with any defect.
    shop
        Prices, costs and what the shop believes about mills.
    backing
        One backing of the closed list; None for all, each compared within itself.
    reference
        Supplier that the others are set against, matched case-blind; None for the one with the
        most pieces inspected (stitches sewn for events).
    margin
        Difference that does not matter, as a fraction of the pieces; None for 0.01 for ``any``
        and 0.005 for a single kind. Events have none.
    level
        Two-sided confidence level.
    totals
        Whole-run sums grouped by ``TOTALS_BY``, or finer, over the same runs, for the cost of a
        good piece; a finer grouping (by lot, by week) loses less where runs without a record of
        spoilage share a group with others. None: no cost is said.
    setups
        Cells of ``kind`` and of ``any`` grouped by
        :data:`logbook.adjusted_comparison.CELLS_BY`, over the same runs but of every backing, for
        the fair comparison: what lots, designs and machines
        explain is told apart from the supplier. None: no verdict is given.

    Returns
    -------
    SuppliersResult
        With a single supplier, or none, it says so instead of comparing.

    Raises
    ------
    TooLittleData
        There are no cells at all, or none with that backing.
    AnalysisError
        The backing is not one of the list, the reference is not among the suppliers, the
        margin is negative, or the cells are not grouped as needed.

    Notes
    -----
    Crude rates: Wilson (1927) or Garwood (1936) intervals. Like for like: Mantel & Haenszel
    (1959) over the groups of fabric, backing and weight band in which both suppliers have
    pieces (:mod:`logbook.kernels.strata`). Neither allows for lots differing from one another.
    Held to Charig et al. (1986), Doll & Hill (1950) and others in
    ``tests/reference/test_published_supplier_comparisons.py``.
    """
    allowed = margin_for(kind, margin)
    gathered = gather(cells, kind=kind, backing=backing)
    against = reference_among(gathered, reference)
    fair = (
        compare_fairly(
            setups,
            kind=kind,
            costs=shop.costs,
            backing=backing,
            reference=against,
            margin=allowed,
            level=level,
        )
        if setups is not None and against is not None and len(gathered.jobs) > 1
        else Fairly()
    )
    rows = _rows(gathered, against, kind, level, fair)
    costs = costs_of(totals, [row.supplier for row in rows], backing, shop, level)
    result = SuppliersResult(
        kind=kind,
        backing=backing,
        reference=against,
        margin=allowed,
        level=level,
        currency=shop.currency,
        strata=_strata(gathered, against, kind, level),
        suppliers=rows,
        costs=costs,
        fair_costs=(
            {}
            if totals is None or against is None or fair.losses is None
            else fair_costs(
                totals,
                fair.any_figures,
                reference=against,
                backing=backing,
                losses=fair.losses,
                shop=shop,
            )
        ),
        fair_given=bool(fair.figures),
        why_not_fair=fair.why_not,
        warnings=(),
        notes=(),
    )
    return result.with_words(warnings_of(result), notes_of(result, gathered, shop))


def _rows(
    gathered: Gathered,
    against: str | None,
    kind: DefectKind,
    level: float,
    fair: Fairly,
) -> tuple[SupplierRow, ...]:
    """One row a supplier: the reference, then the most inspected first."""
    names = sorted(
        gathered.jobs, key=lambda name: (name != against, -gathered.whole(name).exposure, name)
    )
    rows = []
    for name in names:
        whole = gathered.whole(name)
        doubt = interval(
            count=whole.count, exposure=whole.exposure, measure=kind.measure, level=level
        )
        rows.append(
            SupplierRow(
                supplier=name,
                counted=whole,
                lots=gathered.lots[name],
                crude_rate=whole.count / whole.exposure,
                crude_interval=(doubt.lower, doubt.upper),
                check=(
                    compare(gathered, name, against, measure=kind.measure, level=level)
                    if against is not None and name != against
                    else None
                ),
                like_for_like_share=gathered.shared_share(name, against),
                fair=fair.figures.get(name, FairFigures()),
            )
        )
    return tuple(rows)


def _strata(
    gathered: Gathered, against: str | None, kind: DefectKind, level: float
) -> tuple[Stratum, ...]:
    found = [
        (name, job, cell) for name, jobs in gathered.jobs.items() for job, cell in jobs.items()
    ]
    found.sort(key=lambda each: (each[1].order, each[0]))
    # One call for all: there can be thousands of strata.
    doubt = interval(
        count=[cell.count for *_, cell in found],
        exposure=[cell.exposure for *_, cell in found],
        measure=kind.measure,
        level=level,
    )
    return tuple(
        Stratum(
            job=job,
            supplier=name,
            counted=cell,
            rate=cell.count / cell.exposure,
            interval=(float(lower), float(upper)),
            like_for_like=gathered.is_shared(name, job, against),
        )
        for (name, job, cell), lower, upper in zip(found, doubt.lower, doubt.upper, strict=True)
    )
