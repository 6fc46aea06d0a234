"""Suppliers compared on the same jobs, with the doubt that lots leave."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import polars as pl

from logbook.adjusted_comparison.rows import CodedRows, coded_rows
from logbook.adjusted_comparison.terms import LOT, SUPPLIER, terms_for
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
from logbook.kernels.setup_model.levels import Doubted, Verdict, rows_of_both
from logbook.kernels.setup_model.setups import IntArray
from logbook.vocabulary.defects import DefectKind

Bounds: TypeAlias = tuple[float, float]
_UNKNOWN: Bounds = (math.nan, math.nan)


@dataclass(frozen=True, slots=True)
class AdjustedSupplier:
    """What can be said of one supplier, against the reference.

    Rates and differences are fractions of pieces, or per stitch for events. For the reference
    there is a rate and no difference.

    Attributes
    ----------
    rate, rate_interval
        On new lots of this supplier, over all pieces of the jobs shared with the reference (for
        the reference: over the jobs shared with any other).
    reference_rate, reference_rate_interval
        The reference's on those same pieces.
    difference, difference_interval
        Rate less the reference's; the intervals of all suppliers hold together.
    verdict
        None where the two share no jobs.
    pieces_needed, lots_needed
        More pieces, of both suppliers together, and more lots that it would take to judge; 0
        where it is judged, None where no reasonable number would do.
    lots_within
        Standard deviation of lots of one supplier and backing, in log odds (or log rate); NaN
        where no two lots of one were recorded.
    shared_pieces
        Exposure of all suppliers on the jobs compared: what the rate is averaged over.
    notes
        What to keep in mind.
    """

    rate: float = math.nan
    rate_interval: Bounds = _UNKNOWN
    reference_rate: float = math.nan
    reference_rate_interval: Bounds = _UNKNOWN
    difference: float = math.nan
    difference_interval: Bounds = _UNKNOWN
    verdict: Verdict | None = None
    pieces_needed: int | None = None
    lots_needed: int | None = None
    lots_within: float = math.nan
    shared_pieces: float = 0.0
    notes: tuple[str, ...] = ()

    @property
    def known(self) -> bool:
        """Whether the model says anything of this supplier."""
        return not math.isnan(self.rate)


def adjusted_suppliers(
    cells: pl.DataFrame,
    *,
    kind: DefectKind,
    backing: str | None = None,
    reference: str | None = None,
    margin: float | None = None,
    level: float = 0.95,
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
    wanted = _wanted(rows, backing)
    present = _suppliers(rows, wanted)
    against = _reference(present, reference)
    if against is None:
        return {}
    fitted = fit(setups=rows.setups, terms=terms_for("comparing", rows.varying))
    shared = {name: _shared(rows, name, against, wanted) for name in present if name != against}
    able = {name: mask for name, mask in shared.items() if mask.any()}
    lots_within = _lots_within(rows, fitted)
    common = _common_notes(rows, fitted, wanted, able)
    figures = {
        name: (
            _figures(rows, fitted, name, against, able[name], len(able), margin, level, lots_within)
            if name in able
            else AdjustedSupplier(
                lots_within=lots_within,
                notes=(f"{name} and {against} share no fabric and backing with 3 runs of each.",),
            )
        )
        for name in shared
    }
    every = np.logical_or.reduce(list(able.values())) if able else wanted & False
    return {
        against: _reference_figures(rows, fitted, against, every, level, lots_within, common),
        **figures,
    }


def _wanted(rows: CodedRows, backing: str | None) -> BoolArray:
    factors = rows.setups.factors
    wanted = factors[SUPPLIER] != NO_LEVEL
    if backing is not None:
        wanted = wanted & (factors["backing"] == rows.code("backing", backing))
    return np.asarray(wanted)


def _suppliers(rows: CodedRows, wanted: BoolArray) -> dict[str, float]:
    """Exposure of each named supplier."""
    codes = rows.setups.factors[SUPPLIER][wanted]
    words = rows.levels[SUPPLIER]
    summed = np.bincount(codes, weights=rows.setups.trials[wanted], minlength=len(words))
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


def _shared(rows: CodedRows, name: str, against: str, wanted: BoolArray) -> BoolArray:
    """Rows on a fabric and backing that both were used on."""
    factors = rows.setups.factors
    strata: IntArray = factors["fabric"] * len(rows.levels["backing"]) + factors["backing"]
    return shared_rows(
        strata=np.where(wanted, strata, NO_LEVEL),
        codes=factors[SUPPLIER],
        runs=rows.setups.runs,
        level=rows.code(SUPPLIER, name),
        reference=rows.code(SUPPLIER, against),
    )


def _figures(
    rows: CodedRows,
    fitted: SetupFit,
    name: str,
    against: str,
    shared: BoolArray,
    comparisons: int,
    margin: float | None,
    level: float,
    lots_within: float,
) -> AdjustedSupplier:
    codes = rows.code(SUPPLIER, name), rows.code(SUPPLIER, against)
    found = compare(
        fit=fitted,
        factor=SUPPLIER,
        level=codes[0],
        reference=codes[1],
        shared=shared,
        renewed=LOT,
        comparisons=comparisons,
        confidence=level,
    )
    allowed = None if margin is None or rows.setups.measure == "events" else margin
    judged = verdict(found.difference, margin=allowed)
    pieces, lots, remark = _needed(rows, fitted, found, codes, allowed, judged)
    return AdjustedSupplier(
        rate=found.rate.estimate / rows.unit,
        rate_interval=_bounds(found.rate, rows.unit),
        reference_rate=found.reference_rate.estimate / rows.unit,
        reference_rate_interval=_bounds(found.reference_rate, rows.unit),
        difference=found.difference.estimate / rows.unit,
        difference_interval=_bounds(found.difference, rows.unit),
        verdict=judged,
        pieces_needed=pieces,
        lots_needed=lots,
        lots_within=lots_within,
        shared_pieces=float(rows.setups.trials[shared].sum()) * rows.unit,
        notes=(*_few_lots(rows, name, codes[0], shared, lots_within), *remark),
    )


def _needed(
    rows: CodedRows,
    fitted: SetupFit,
    found: LevelComparison,
    codes: tuple[int, int],
    margin: float | None,
    judged: Verdict,
) -> tuple[int | None, int | None, tuple[str, ...]]:
    if judged != "not_enough_data":
        return 0, 0, ()
    both = rows_of_both(rows.setups, factor=SUPPLIER, levels=codes, shared=found.shared)
    more = more_needed(fit=fitted, comparison=found, rows=both, renewed=LOT, margin=margin)
    if more is None:
        return None, None, ()
    name = rows.levels[SUPPLIER][codes[0]]
    remark = (
        ()
        if more.same_lots_suffice
        else (f"{name}: more pieces of the lots on record would not tell, only new lots.",)
    )
    return math.ceil(more.pieces * rows.unit), more.lots, remark


def _reference_figures(
    rows: CodedRows,
    fitted: SetupFit,
    name: str,
    shared: BoolArray,
    level: float,
    lots_within: float,
    notes: tuple[str, ...],
) -> AdjustedSupplier:
    if not shared.any():
        return AdjustedSupplier(lots_within=lots_within, notes=notes)
    code = rows.code(SUPPLIER, name)
    found = compare(
        fit=fitted,
        factor=SUPPLIER,
        level=code,
        reference=code,
        shared=shared,
        renewed=LOT,
        confidence=level,
    ).rate
    return AdjustedSupplier(
        rate=found.estimate / rows.unit,
        rate_interval=_bounds(found, rows.unit),
        lots_within=lots_within,
        shared_pieces=float(rows.setups.trials[shared].sum()) * rows.unit,
        notes=notes,
    )


def _lots_within(rows: CodedRows, fitted: SetupFit) -> float:
    """Spread of lots, where some supplier and backing has two recorded ones."""
    recorded = [
        word for word, there in zip(rows.levels[LOT], rows.lot_recorded, strict=True) if there
    ]
    families = [str(word).rsplit("\u0001", 1)[0] for word in recorded]
    return fitted.sd(LOT) if len(set(families)) < len(families) else math.nan


def _few_lots(
    rows: CodedRows, name: str, code: int, shared: BoolArray, lots_within: float
) -> tuple[str, ...]:
    own = shared & (rows.setups.factors[SUPPLIER] == code)
    lots = np.unique(rows.setups.factors[LOT][own])
    recorded = sum(rows.lot_recorded[lot] for lot in lots)
    if recorded > 1:
        return ()
    what = "one lot" if recorded == 1 else "no recorded lot"
    known = (
        "how its lots differ is taken from other suppliers' lots"
        if math.isfinite(lots_within)
        else "how lots differ is not on record at all, and a usual spread is taken"
    )
    return (f"{name}'s pieces on the jobs compared are from {what}: {known}.",)


def _common_notes(
    rows: CodedRows, fitted: SetupFit, wanted: BoolArray, able: Mapping[str, BoolArray]
) -> tuple[str, ...]:
    notes = list(fitted.warnings)
    if len(able) > 1:
        notes.append(
            f"The intervals of the differences are widened so that all {len(able)} hold together."
        )
    codes = rows.setups.factors[LOT]
    unknown = wanted & ~np.append(rows.lot_recorded, True)[codes]
    if unknown.any():
        runs = int(rows.setups.runs[unknown].sum())
        notes.append(
            f"{runs:,} runs name no lot of backing. They count as one lot for each supplier and "
            "backing; writing lots down would narrow the intervals."
        )
    return tuple(notes)


def _bounds(found: Doubted, unit: float) -> Bounds:
    return found.lower / unit, found.upper / unit
