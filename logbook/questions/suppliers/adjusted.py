"""The adjusted comparison behind the verdicts: jobs, designs, lots and luck allowed for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import polars as pl

from logbook.adjusted_comparison import AdjustedSupplier, adjusted_suppliers
from logbook.cells import of_kind
from logbook.errors import TooLittleData
from logbook.good_piece import Losses, losses_of
from logbook.shop import Costs
from logbook.vocabulary.defects import ANY, NOT_OF_BACKING, DefectKind
from logbook.vocabulary.defects import kind as kind_of


@dataclass(frozen=True, slots=True)
class AdjustedSuppliers:
    """What the model says.

    Attributes
    ----------
    figures
        By supplier, of the kind asked about; empty where it says nothing.
    any_figures
        The same of any defect, for what a good piece costs.
    losses
        What becomes of a defective piece; None where any defect was not handed in.
    why_not
        The reason, where there are no figures.
    """

    figures: Mapping[str, AdjustedSupplier] = field(default_factory=dict)
    any_figures: Mapping[str, AdjustedSupplier] = field(default_factory=dict)
    losses: Losses | None = None
    why_not: str | None = None


def compare_adjusted(
    setups: pl.DataFrame,
    *,
    kind: DefectKind,
    costs: Costs,
    backing: str | None,
    reference: str,
    margin: float | None,
    level: float,
) -> AdjustedSuppliers:
    """Compare suppliers by the model.

    Parameters
    ----------
    setups
        Cells of the kind, and of ``any`` where costs are wanted, grouped by
        :data:`logbook.adjusted_comparison.CELLS_BY`, of every backing.
    kind, backing, reference, margin, level
        As in :func:`logbook.questions.suppliers.analyse.analyse`, checked.
    costs
        The shop's prices of a piece and of a minute.
    """
    controls = tuple(map(kind_of, NOT_OF_BACKING))
    figures, why_not = _figures(setups, kind, backing, reference, margin, level, controls)
    whole = of_kind(setups, ANY.name)
    if whole.is_empty():
        return AdjustedSuppliers(figures, why_not=why_not)
    any_figures = (
        figures
        if kind.name == ANY.name
        else _figures(setups, ANY, backing, reference, None, level)[0]
    )
    return AdjustedSuppliers(figures, any_figures, losses_of(whole, costs), why_not)


def _figures(
    setups: pl.DataFrame,
    kind: DefectKind,
    backing: str | None,
    reference: str,
    margin: float | None,
    level: float,
    controls: tuple[DefectKind, ...] = (),
) -> tuple[Mapping[str, AdjustedSupplier], str | None]:
    try:
        found = adjusted_suppliers(
            setups,
            kind=kind,
            backing=backing,
            reference=reference,
            margin=margin,
            level=level,
            controls=controls,
        )
    except TooLittleData as problem:
        # Too little to model is an answer here: the plain figures stand, and the reason is said.
        return {}, problem.message
    return found, None
