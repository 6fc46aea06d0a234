"""Suppliers compared on the same jobs, with the uncertainty that lots leave."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import polars as pl

from logbook.adjusted_comparison.rows import CodedRows, coded_rows
from logbook.adjusted_comparison.supplier_comparison import (
    Comparing,
    compared,
    exposure_of,
    fitted_comparison,
    shared_jobs,
)
from logbook.adjusted_comparison.supplier_figures import AdjustedSupplier, OnBacking
from logbook.adjusted_comparison.supplier_notes import common_notes, few_lots
from logbook.adjusted_comparison.terms import LOT, SUPPLIER
from logbook.adjusted_comparison.unseen import ControlFit, control_fit, unseen_of, work_ratio
from logbook.errors import AnalysisError
from logbook.kernels.arguments import BoolArray
from logbook.kernels.setup_model import NO_LEVEL, LevelComparison, compare, more_needed, verdict
from logbook.kernels.setup_model.levels import Verdict, rows_of_both
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
    comparing = fitted_comparison(rows, present, against, margin, level)
    rows = comparing.rows
    shared = {
        name: shared_jobs(rows, name, against, population) for name in present if name != against
    }
    comparable = {name: mask for name, mask in shared.items() if mask.any()}
    every = np.logical_or.reduce([population & False, *comparable.values()])
    found = {
        name: compared(comparing, name, mask, len(comparable)) for name, mask in comparable.items()
    }
    judged = {
        name: verdict(each.difference, margin=comparing.margin) for name, each in found.items()
    }
    apart = _on_backings(comparing, comparable) if backing is None else {}
    decided = [name for name, said in judged.items() if said != "not_enough_data"]
    control = control_fit(cells, controls) if decided and kind not in controls else None
    return {
        against: _reference_figures(
            comparing, every, common_notes(comparing, population, len(comparable))
        ),
        **{
            name: (
                replace(
                    _figures(comparing, name, found[name], judged[name], control),
                    on_backings=apart.get(name, ()),
                )
                if name in found
                else _nothing_shared(comparing, name)
            )
            for name in shared
        },
    }


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


def _nothing_shared(comparing: Comparing, name: str) -> AdjustedSupplier:
    why = f"{name} and {comparing.reference} share no fabric and backing with 3 runs of each."
    return AdjustedSupplier(lot_sd=comparing.lot_sd, notes=(why,))


def _figures(
    comparing: Comparing,
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
        shared_pieces=exposure_of(rows, found.shared),
        lately=tuple(
            each for each in comparing.lately if each.supplier in (name, comparing.reference)
        ),
        unseen=unseen,
        withheld=judged if unseen.undoes else None,
        notes=(*few_lots(comparing, name, found.shared), *remark),
    )


def _on_backings(
    comparing: Comparing, comparable: Mapping[str, BoolArray]
) -> dict[str, tuple[OnBacking, ...]]:
    """Each supplier on each backing by itself; the intervals of all of them hold together."""
    rows = comparing.rows
    codes = rows.setups.factors["backing"]
    masks = {
        (name, word): there
        for name, shared in comparable.items()
        for code, word in enumerate(rows.levels["backing"])
        if word is not None and (there := shared & (codes == code)).any()
    }
    found: dict[str, list[OnBacking]] = {name: [] for name in comparable}
    for (name, word), there in masks.items():
        one = compared(comparing, name, there, len(masks))
        found[name].append(
            OnBacking(
                backing=word,
                rate=one.rate.estimate / rows.unit,
                reference_rate=one.reference_rate.estimate / rows.unit,
                difference=one.difference.estimate / rows.unit,
                difference_interval=rows.interval(one.difference),
                shared_pieces=exposure_of(rows, there),
            )
        )
    return {name: tuple(each) for name, each in found.items()}


def _control(comparing: Comparing, name: str, control: ControlFit | None) -> LevelComparison | None:
    """The same two by kinds that no backing causes, on the jobs that both had."""
    if control is None:
        return None
    rows = control.rows
    codes = rows.code(SUPPLIER, name), rows.code(SUPPLIER, comparing.reference)
    if NO_LEVEL in codes:
        return None
    shared = shared_jobs(rows, name, comparing.reference, rows.setups.factors[SUPPLIER] != NO_LEVEL)
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


def _needed(
    comparing: Comparing,
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
    comparing: Comparing, shared: BoolArray, notes: tuple[str, ...]
) -> AdjustedSupplier:
    if not shared.any():
        return AdjustedSupplier(lot_sd=comparing.lot_sd, notes=notes)
    rows = comparing.rows
    found = compared(comparing, comparing.reference, shared).rate
    return AdjustedSupplier(
        rate=found.estimate / rows.unit,
        rate_interval=rows.interval(found),
        lot_sd=comparing.lot_sd,
        shared_pieces=exposure_of(rows, shared),
        notes=notes,
    )
