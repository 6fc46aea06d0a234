"""Suppliers compared on the same jobs, with the uncertainty that lots leave."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from logbook.adjusted_comparison.lately import (
    LATELY,
    LATELY_TERM,
    LateChange,
    late_changes,
    with_late_changes,
)
from logbook.adjusted_comparison.rows import CodedRows, coded_rows
from logbook.adjusted_comparison.supplier_figures import AdjustedSupplier
from logbook.adjusted_comparison.terms import LOT, SUPPLIER, terms_for
from logbook.adjusted_comparison.unseen import ControlFit, control_fit, unseen_of, work_ratio
from logbook.errors import AnalysisError
from logbook.kernels.arguments import BoolArray
from logbook.kernels.setup_model import (
    NO_LEVEL,
    LevelComparison,
    SetupFit,
    compare,
    fit,
    more_needed,
    shared_rows,
    verdict,
)
from logbook.kernels.setup_model.levels import Verdict, rows_of_both
from logbook.kernels.setup_model.setups import IntArray
from logbook.vocabulary.defects import DefectKind


def adjusted_suppliers(
    cells: pl.DataFrame,
    *,
    kind: DefectKind,
    backing: str | None = None,
    reference: str | None = None,
    margin: float | None = None,
    level: float = 0.95,
    controls: Sequence[DefectKind] = (),
) -> Mapping[str, AdjustedSupplier]:
    """Compare suppliers of backing with one of them.

    Parameters
    ----------
    cells
        Cells grouped by :data:`logbook.adjusted_comparison.CELLS_BY`, of every backing: also what
        was sewn on other backings tells of fabrics, designs and machines.
    kind
        The kind compared.
    backing
        One backing only, or None for each compared within itself.
    reference
        The supplier set against, spelled as in the cells; None for the one with the most
        exposure.
    margin
        Difference that does not matter, as a fraction; None for events.
    level
        Two-sided confidence level, of all differences together.
    controls
        Kinds that no backing causes; those in the cells are looked at for signs of something
        unseen.

    Returns
    -------
    Mapping
        Supplier → figures, for every supplier named on that backing.

    Raises
    ------
    TooLittleData
        Too few defects in all, or every piece shows it.
    AnalysisError
        The reference has no runs there, or the cells lack a column.
    """
    rows = coded_rows(cells, kind=kind)
    population = _population(rows, backing)
    present = _suppliers(rows, population)
    against = _reference(present, reference)
    if against is None:
        return {}
    comparing = _fitted(rows, present, against, margin, level)
    rows = comparing.rows
    shared = {name: _shared(rows, name, against, population) for name in present if name != against}
    comparable = {name: mask for name, mask in shared.items() if mask.any()}
    every = np.logical_or.reduce([population & False, *comparable.values()])
    found = {
        name: _compared(comparing, name, mask, len(comparable)) for name, mask in comparable.items()
    }
    judged = {
        name: verdict(each.difference, margin=comparing.margin) for name, each in found.items()
    }
    decided = [name for name, said in judged.items() if said != "not_enough_data"]
    control = control_fit(cells, controls) if decided and kind not in controls else None
    return {
        against: _reference_figures(
            comparing, every, _common_notes(comparing, population, len(comparable))
        ),
        **{
            name: (
                _figures(comparing, name, found[name], judged[name], control)
                if name in found
                else _nothing_shared(comparing, name)
            )
            for name in shared
        },
    }


@dataclass(frozen=True, slots=True, eq=False)
class _Comparing:
    """What every supplier is compared by."""

    rows: CodedRows
    fitted: SetupFit
    reference: str
    margin: float | None
    level: float
    lot_sd: float
    lately: tuple[LateChange, ...]

    def late_code(self, name: str) -> dict[str, int]:
        """What goes with a supplier where some have changed lately: that it has, or has not."""
        if not self.lately:
            return {}
        return {LATELY: self.rows.code(LATELY, name)}


def _fitted(
    rows: CodedRows,
    present: Mapping[str, float],
    against: str,
    margin: float | None,
    level: float,
) -> _Comparing:
    """Fit; and where a supplier has changed lately once more, with that allowed for."""
    terms = terms_for("comparing", rows.varying)
    fitted = fit(setups=rows.setups, terms=terms)
    changes = late_changes(rows, fitted, sorted(present))
    if changes:
        rows = with_late_changes(rows, changes)
        fitted = fit(setups=rows.setups, terms=(*terms, LATELY_TERM))
    allowed = None if rows.setups.measure == "events" else margin
    return _Comparing(rows, fitted, against, allowed, level, _lot_sd(rows, fitted), changes)


def _population(rows: CodedRows, backing: str | None) -> BoolArray:
    """Rows on backing of a named or unnamed supplier; of one backing where one is asked for."""
    factors = rows.setups.factors
    population = factors[SUPPLIER] != NO_LEVEL
    if backing is not None:
        population = population & (factors["backing"] == rows.code("backing", backing))
    return np.asarray(population)


def _suppliers(rows: CodedRows, population: BoolArray) -> dict[str, float]:
    """Exposure of each named supplier."""
    codes = rows.setups.factors[SUPPLIER][population]
    words = rows.levels[SUPPLIER]
    summed = np.bincount(codes, weights=rows.setups.trials[population], minlength=len(words))
    return {
        word: float(total)
        for word, total in zip(words, summed, strict=True)
        if word is not None and total > 0
    }


def _reference(present: Mapping[str, float], reference: str | None) -> str | None:
    if reference is None:
        return min(present, key=lambda name: (-present[name], name), default=None)
    if reference not in present:
        raise AnalysisError(
            f"No pieces on backing from a supplier called {reference!r} are in this comparison.",
            f"Suppliers here: {', '.join(sorted(present))}.",
        )
    return reference


def _shared(rows: CodedRows, name: str, against: str, population: BoolArray) -> BoolArray:
    """Rows on a fabric and backing that both were used on."""
    factors = rows.setups.factors
    strata: IntArray = factors["fabric"] * len(rows.levels["backing"]) + factors["backing"]
    return shared_rows(
        strata=np.where(population, strata, NO_LEVEL),
        codes=factors[SUPPLIER],
        runs=rows.setups.runs,
        level=rows.code(SUPPLIER, name),
        reference=rows.code(SUPPLIER, against),
    )


def _nothing_shared(comparing: _Comparing, name: str) -> AdjustedSupplier:
    why = f"{name} and {comparing.reference} share no fabric and backing with 3 runs of each."
    return AdjustedSupplier(lot_sd=comparing.lot_sd, notes=(why,))


def _figures(
    comparing: _Comparing,
    name: str,
    found: LevelComparison,
    judged: Verdict,
    control: ControlFit | None,
) -> AdjustedSupplier:
    rows = comparing.rows
    unseen = unseen_of(
        found,
        work=work_ratio(rows, comparing.fitted, name, comparing.reference, found.shared),
        control=_control(comparing, name, control),
        verdict=judged,
        margin=comparing.margin,
        level=comparing.level,
    )
    said: Verdict = "not_enough_data" if unseen.undoes else judged
    pieces, lots, remark = (
        (None, None, ()) if unseen.undoes else _needed(comparing, name, found, judged)
    )
    return AdjustedSupplier(
        rate=found.rate.estimate / rows.unit,
        rate_interval=rows.interval(found.rate),
        reference_rate=found.reference_rate.estimate / rows.unit,
        reference_rate_interval=rows.interval(found.reference_rate),
        difference=found.difference.estimate / rows.unit,
        difference_interval=rows.interval(found.difference),
        standard_error=math.sqrt(found.variance) / rows.unit,
        degrees=found.degrees,
        verdict=said,
        pieces_needed=pieces,
        lots_needed=lots,
        lot_sd=comparing.lot_sd,
        shared_pieces=_exposure(rows, found.shared),
        lately=tuple(
            each for each in comparing.lately if each.supplier in (name, comparing.reference)
        ),
        unseen=unseen,
        withheld=judged if unseen.undoes else None,
        notes=(*_few_lots(comparing, name, found.shared), *remark),
    )


def _control(
    comparing: _Comparing, name: str, control: ControlFit | None
) -> LevelComparison | None:
    """The same two by kinds that no backing causes, on the jobs that both had."""
    if control is None:
        return None
    rows = control.rows
    codes = rows.code(SUPPLIER, name), rows.code(SUPPLIER, comparing.reference)
    if NO_LEVEL in codes:
        return None
    shared = _shared(rows, name, comparing.reference, rows.setups.factors[SUPPLIER] != NO_LEVEL)
    if not shared.any():
        return None
    return compare(
        fit=control.fitted,
        factor=SUPPLIER,
        level=codes[0],
        reference=codes[1],
        shared=shared,
        renewed=LOT,
        confidence=comparing.level,
    )


def _compared(
    comparing: _Comparing, name: str, shared: BoolArray, comparisons: int = 1
) -> LevelComparison:
    return compare(
        fit=comparing.fitted,
        factor=SUPPLIER,
        level=comparing.rows.code(SUPPLIER, name),
        reference=comparing.rows.code(SUPPLIER, comparing.reference),
        shared=shared,
        renewed=LOT,
        comparisons=comparisons,
        confidence=comparing.level,
        besides=(comparing.late_code(name), comparing.late_code(comparing.reference)),
    )


def _needed(
    comparing: _Comparing,
    name: str,
    found: LevelComparison,
    judged: Verdict,
) -> tuple[int | None, int | None, tuple[str, ...]]:
    """Pieces and lots that it would take to judge, and a remark on lots."""
    if judged != "not_enough_data":
        return 0, 0, ()
    rows = comparing.rows
    codes = rows.code(SUPPLIER, name), rows.code(SUPPLIER, comparing.reference)
    both = rows_of_both(rows.setups, factor=SUPPLIER, levels=codes, shared=found.shared)
    more = more_needed(
        fit=comparing.fitted, comparison=found, rows=both, renewed=LOT, margin=comparing.margin
    )
    if more is None:
        return None, None, ()
    remark = (
        ()
        if more.same_lots_suffice
        else (f"{name}: more pieces of the lots on record would not tell, only new lots.",)
    )
    return math.ceil(more.pieces * rows.unit), more.lots, remark


def _reference_figures(
    comparing: _Comparing, shared: BoolArray, notes: tuple[str, ...]
) -> AdjustedSupplier:
    if not shared.any():
        return AdjustedSupplier(lot_sd=comparing.lot_sd, notes=notes)
    rows = comparing.rows
    found = _compared(comparing, comparing.reference, shared).rate
    return AdjustedSupplier(
        rate=found.estimate / rows.unit,
        rate_interval=rows.interval(found),
        lot_sd=comparing.lot_sd,
        shared_pieces=_exposure(rows, shared),
        notes=notes,
    )


def _exposure(rows: CodedRows, shared: BoolArray) -> float:
    return float(rows.setups.trials[shared].sum()) * rows.unit


def _lot_sd(rows: CodedRows, fitted: SetupFit) -> float:
    """Spread of lots, where some supplier and backing has two recorded ones."""
    recorded = [
        word for word, there in zip(rows.levels[LOT], rows.lot_recorded, strict=True) if there
    ]
    families = [str(word).rsplit("\u0001", 1)[0] for word in recorded]
    return fitted.sd(LOT) if len(set(families)) < len(families) else math.nan


def _few_lots(comparing: _Comparing, name: str, shared: BoolArray) -> tuple[str, ...]:
    rows = comparing.rows
    own = shared & (rows.setups.factors[SUPPLIER] == rows.code(SUPPLIER, name))
    lots = np.unique(rows.setups.factors[LOT][own])
    recorded = sum(rows.lot_recorded[lot] for lot in lots)
    if recorded > 1:
        return ()
    what = "one lot" if recorded == 1 else "no recorded lot"
    known = (
        "how its lots differ is taken from other suppliers' lots"
        if math.isfinite(comparing.lot_sd)
        else "how lots differ is not on record at all, and a usual spread is taken"
    )
    return (f"{name}'s pieces on the jobs compared are from {what}: {known}.",)


def _common_notes(
    comparing: _Comparing, population: BoolArray, comparisons: int
) -> tuple[str, ...]:
    rows = comparing.rows
    notes = list(comparing.fitted.warnings)
    if comparisons > 1:
        notes.append(
            f"The intervals of the differences are widened so that all {comparisons} hold together."
        )
    unknown = population & ~np.append(rows.lot_recorded, True)[rows.setups.factors[LOT]]
    if unknown.any():
        runs = int(rows.setups.runs[unknown].sum())
        notes.append(
            f"{runs:,} runs name no lot of backing. They count as one lot for each supplier and "
            "backing; writing lots down would narrow the intervals."
        )
    unsure = population & rows.lot_unsure & ~unknown
    if unsure.any():
        runs = int(rows.setups.runs[unsure].sum())
        notes.append(
            f"{runs:,} runs name no lot of backing, or one that does not fit. They count to the "
            "lot in use at the time."
        )
    return tuple(notes)
