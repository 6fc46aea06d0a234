"""Which backing supplier gives fewer defects on the same jobs, and what a good piece costs."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from logbook.adjusted_comparison import AdjustedSupplier
from logbook.errors import AnalysisError
from logbook.good_piece import same_word
from logbook.kernels.rate_intervals import interval
from logbook.questions.suppliers.adjusted import AdjustedSuppliers, compare_adjusted
from logbook.questions.suppliers.cost import adjusted_costs, recorded_costs
from logbook.questions.suppliers.jobs import Counted, CountsByJob, count_by_job
from logbook.questions.suppliers.result import Stratum, SupplierRow, SuppliersResult
from logbook.questions.suppliers.stratified import compare_over_strata
from logbook.shop import Shop
from logbook.vocabulary.defects import ANY, DefectKind
from logbook.wording import meant_by

MARGIN_ANY = 0.01
MARGIN_ONE_KIND = 0.005
MARGIN_OF_RATE = 0.5
"""No difference is small that is more than half the reference's rate."""


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
        Cells grouped by :data:`logbook.questions.suppliers.jobs.CELLS_BY`, or finer. With a
        ``kind`` column those of ``kind`` are taken. Cells without a supplier, or sewn without
        backing, are left out and said so.
    kind
        The kind compared; ``any`` for pieces with any defect.
    shop
        Prices, costs and what the shop believes about mills.
    backing
        One backing of the closed list; None for all, each compared within itself.
    reference
        Supplier that the others are set against, matched case-blind; None for the one with the
        most pieces inspected (stitches sewn for events) over all backings, of those who deliver
        the backing asked about.
    margin
        Difference that does not matter, as a fraction of the pieces; None for
        :func:`usual_margin`. Events have none.
    level
        Two-sided confidence level.
    totals
        Whole-run sums grouped by :data:`logbook.questions.suppliers.cost.TOTALS_BY`, or finer,
        over the same runs, for the cost of a good piece; a finer grouping (by lot, by week) loses
        less where runs without a record of spoilage share a group with others. None: no cost is
        said.
    setups
        Cells of ``kind`` and of ``any`` grouped by
        :data:`logbook.adjusted_comparison.CELLS_BY`, over the same runs but of every backing, for
        the adjusted comparison: what lots, designs and machines explain is told apart from the
        supplier. None: no verdict is given.

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
    counts = count_by_job(cells, kind=kind, backing=backing)
    against = _reference(counts, reference, _most_used(cells, kind))
    allowed = _margin(kind, margin, None if against is None else counts.total_of(against))
    adjusted = AdjustedSuppliers()
    if setups is not None and against is not None and len(counts.jobs) > 1:
        adjusted = compare_adjusted(
            setups,
            kind=kind,
            costs=shop.costs,
            backing=backing,
            reference=against,
            margin=allowed,
            level=level,
        )
    rows = _rows(counts, against, kind, level, adjusted)
    return SuppliersResult(
        kind=kind,
        backing=backing,
        reference=against,
        margin=allowed,
        level=level,
        currency=shop.currency,
        strata=_strata(counts, against, kind, level),
        suppliers=rows,
        costs=recorded_costs(totals, [row.supplier for row in rows], backing, shop, level),
        adjusted_costs=(
            {}
            if totals is None or against is None or adjusted.losses is None
            else adjusted_costs(
                totals,
                adjusted.any_figures,
                reference=against,
                backing=backing,
                losses=adjusted.losses,
                shop=shop,
            )
        ),
        adjusted_given=bool(adjusted.figures),
        why_not_adjusted=adjusted.why_not,
        unnamed=counts.unnamed,
        without_backing=counts.without_backing,
        same_mill=shop.same_mill,
        costs_assumed=shop.costs_assumed,
    )


def usual_margin(kind: DefectKind, rate: float) -> float:
    """Difference that does not matter where nobody says one, as a fraction of the pieces.

    A point of any defect, half a point of one kind, but no more than half of ``rate``, which is
    the reference's: half a point would hide that a rare kind is ten times as frequent.
    """
    widest = MARGIN_ANY if kind.name == ANY.name else MARGIN_ONE_KIND
    return min(widest, MARGIN_OF_RATE * rate)


def _margin(kind: DefectKind, margin: float | None, reference: Counted | None) -> float | None:
    """The difference that does not matter, as a fraction; None for events."""
    if margin is not None and not 0 <= margin <= 1:
        raise AnalysisError(
            f"A margin of {100 * margin:g} points cannot be used: it is the difference that does "
            "not matter.",
            "Give a margin of zero points or more, such as 0.5.",
        )
    if kind.measure == "events":
        # A share of pieces says nothing of events per stitch.
        return None
    if margin is not None:
        return margin
    return usual_margin(kind, 1.0 if reference is None else reference.count / reference.exposure)


def _most_used(cells: pl.DataFrame, kind: DefectKind) -> tuple[str, ...]:
    """Suppliers by what was sewn on their backing, of whatever sort, the most first."""
    counts = count_by_job(cells, kind=kind, backing=None)
    return tuple(sorted(counts.jobs, key=lambda name: (-counts.total_of(name).exposure, name)))


def _reference(counts: CountsByJob, reference: str | None, most_used: Sequence[str]) -> str | None:
    """The supplier that the others are set against; None where there is no supplier.

    It is the same on every backing that it delivers.
    """
    known = sorted(counts.jobs)
    if reference is None:
        return next((name for name in most_used if name in counts.jobs), None)
    exact = [name for name in known if name == reference]
    near = exact or [name for name in known if same_word(name, reference)]
    if not near:
        raise AnalysisError(
            f"No pieces on backing from a supplier called {reference!r} are in this comparison.",
            _hint(reference, known),
        )
    return near[0]


def _hint(asked: str, known: Sequence[str]) -> str:
    if not known:
        return "No run here names a supplier."
    meant = meant_by(asked, known)
    listed = f"Suppliers here: {', '.join(known)}."
    return listed if meant is None else f"Did you mean {meant}? {listed}"


def _rows(
    counts: CountsByJob,
    against: str | None,
    kind: DefectKind,
    level: float,
    adjusted: AdjustedSuppliers,
) -> tuple[SupplierRow, ...]:
    """One row a supplier: the reference, then the most inspected first."""
    names = sorted(
        counts.jobs, key=lambda name: (name != against, -counts.total_of(name).exposure, name)
    )
    rows = []
    for name in names:
        total = counts.total_of(name)
        doubt = interval(
            count=total.count, exposure=total.exposure, measure=kind.measure, level=level
        )
        rows.append(
            SupplierRow(
                supplier=name,
                counted=total,
                lots=counts.lots[name],
                crude_rate=total.count / total.exposure,
                crude_interval=(doubt.lower, doubt.upper),
                check=(
                    compare_over_strata(counts, name, against, measure=kind.measure, level=level)
                    if against is not None and name != against
                    else None
                ),
                like_for_like_share=counts.shared_share(name, against),
                adjusted=adjusted.figures.get(name, AdjustedSupplier()),
            )
        )
    return tuple(rows)


def _strata(
    counts: CountsByJob, against: str | None, kind: DefectKind, level: float
) -> tuple[Stratum, ...]:
    found = [(name, job, cell) for name, jobs in counts.jobs.items() for job, cell in jobs.items()]
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
            like_for_like=counts.is_shared(name, job, against),
        )
        for (name, job, cell), lower, upper in zip(found, doubt.lower, doubt.upper, strict=True)
    )
