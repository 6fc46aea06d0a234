"""The rate to expect of setups for a job, against what is used now, and how far to trust it."""

from __future__ import annotations

import math
import os
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import polars as pl
from scipy.special import ndtr

from logbook.adjusted_comparison.affordable import fit_affordable
from logbook.adjusted_comparison.evidence import ExpectedSaving
from logbook.adjusted_comparison.rows import CodedRows, coded_rows, density_slope
from logbook.adjusted_comparison.terms import DENSITY, LOT, SUPPLIER, terms_for
from logbook.errors import TooLittleData
from logbook.kernels.arguments import BoolArray, FloatArray, two_sided_quantile
from logbook.kernels.count_series import Measure
from logbook.kernels.setup_model import NO_LEVEL, SetupFit
from logbook.kernels.setup_model.no_difference import chance_of_difference
from logbook.kernels.setup_model.prediction import (
    Expected,
    Saving,
    expected,
    lot_correlation,
    summed,
    together,
)
from logbook.kernels.setup_model.responses import effect_of, rate_at, slope_at
from logbook.kernels.setup_model.setups import IntArray
from logbook.kernels.setup_model.support import Support, support
from logbook.vocabulary.defects import DefectKind

Setup: TypeAlias = Mapping[str, str | None]
"""Factor → word, as in the cells; None for what was not recorded."""

PACKAGE = ("backing", "weight_band", "backing_layers")
"""Parts of the backing that work together: changing one is judged with the others."""
NEAR_DENSITY = 1.5
"""Jobs this near in stitches/mm² count as alike."""
MOST_AT_ONCE = 4


@dataclass(frozen=True, slots=True, eq=False)
class FittedKind:
    """The model of one kind, fitted for predicting."""

    kind: DefectKind
    rows: CodedRows
    fit: SetupFit


@dataclass(frozen=True, slots=True)
class Prediction:
    """One setup for the job.

    Attributes
    ----------
    changes
        What it changes; empty for what is used now.
    rate, rate_interval
        Share of pieces with any of the kinds asked about (or events per stitch of one kind).
    saved
        Of that rate.
    support
        Like runs that had it; unless ``enough``, it is nothing to promise.
    by_kind
        Kind → expected rate, so that a cure that brings another ill can be seen.
    money
        The saving in the shop's currency, per piece; None where no costs were given.
    """

    changes: Setup
    rate: float
    rate_interval: tuple[float, float]
    saved: ExpectedSaving
    support: Support
    by_kind: Mapping[str, float]
    money: ExpectedSaving | None = None


@dataclass(frozen=True, slots=True)
class UnitCosts:
    """What things cost.

    Attributes
    ----------
    defective
        Kind → cost of one defective piece.
    material
        Cost of the backing of one piece: as it is now, then of each candidate.
    """

    defective: Mapping[str, float]
    material: Sequence[float]


def fit_kinds(cells: pl.DataFrame, *, kinds: Sequence[DefectKind]) -> tuple[FittedKind, ...]:
    """Fit the kinds for predicting; a kind with too few defects to tell is left out.

    Parameters
    ----------
    cells
        Cells of all the kinds, grouped by :data:`logbook.adjusted_comparison.CELLS_BY`.
    kinds
        Piece kinds, or one event kind.
    """
    # Most of a fit is linear algebra that lets other threads run.
    with ThreadPoolExecutor(max_workers=min(os.cpu_count() or 1, MOST_AT_ONCE)) as pool:
        waiting = [pool.submit(_fitted, cells, kind, len(kinds)) for kind in kinds]
        try:
            found = [each.result() for each in waiting]
        except BaseException:
            # Broken off, or refused for want of memory: what has not begun shall not begin.
            pool.shutdown(wait=False, cancel_futures=True)
            raise
        return tuple(each for each in found if each is not None)


def _fitted(cells: pl.DataFrame, kind: DefectKind, kept: int) -> FittedKind | None:
    """Fit one kind; a kind that hardly ever happens has no setup to blame, and is None."""
    try:
        rows = coded_rows(cells, kind=kind)
    except TooLittleData:
        return None
    terms = terms_for("predicting", rows.varying)
    return FittedKind(kind, rows, fit_affordable(setups=rows.setups, terms=terms, kept=kept))


def predict_setups(
    fitted: Sequence[FittedKind],
    *,
    job: Setup,
    candidates: Sequence[Setup],
    costs: UnitCosts | None = None,
    level: float = 0.95,
) -> tuple[Prediction, ...]:
    """Predict what is used now and what could be.

    Parameters
    ----------
    fitted
        Kinds to be taken together; not empty.
    job
        Fabric, shade, design or density band, and the whole setup used now. A factor left out is
        taken as of middling effect; so is a word the record does not know.
    candidates
        Changes, each from the setup now.
    costs
        What a defective piece of each kind and the backing of each setup cost, where savings in
        money are wanted.
    level
        Two-sided confidence level.

    Returns
    -------
    tuple
        What is used now first, then the candidates in the order given.
    """
    setups: list[Setup] = [{}, *candidates]
    whole = [{**job, **changes} for changes in setups]
    kinds = [expected_rates(each, whole) for each in fitted]
    correlation = _correlation(fitted)
    chance = chance_of_difference(kinds=kinds)
    saved = together(kinds=kinds, correlation=correlation, chance=chance)
    money: Sequence[ExpectedSaving | None] = [None] * len(setups)
    if costs is not None:
        money = _money(fitted, kinds, costs, correlation, chance, level)
    most = max(fitted, key=lambda each: float(each.rows.setups.trials.sum()) * each.rows.unit)
    unit = fitted[0].rows.unit
    return tuple(
        _predicted(
            changes,
            row,
            saved,
            unit,
            most.kind.measure,
            support_of(most.rows, job=job, changes=changes),
            {
                each.kind.name: _believed(kind, differs, row) / each.rows.unit
                for each, kind, differs in zip(fitted, kinds, chance, strict=True)
            },
            level,
            money[row],
        )
        for row, changes in enumerate(setups)
    )


def support_of(rows: CodedRows, *, job: Setup, changes: Setup) -> Support:
    """Count runs on the same fabric, near in density, that had the changes.

    Without changes: runs that had the job's whole backing.
    """
    setups = rows.setups
    like = _had(rows, "fabric", job)
    dense = _density(rows, job)
    if dense is not None:
        like &= np.abs(setups.slopes[DENSITY] - dense) <= NEAR_DENSITY
    after = {**job, **changes}
    groups: list[tuple[str, ...]] = []
    if not changes or set(changes) & set(PACKAGE):
        groups.append(PACKAGE)
    if SUPPLIER in changes:
        groups.append((SUPPLIER, "backing"))
    groups += [(name,) for name in changes if name not in (*PACKAGE, SUPPLIER)]
    return support(
        like=like,
        changed=[
            np.logical_and.reduce([_had(rows, name, after) for name in group]) for group in groups
        ],
        runs=setups.runs,
        pieces=setups.trials * rows.unit,
        design=setups.factors["design"],
    )


def _had(rows: CodedRows, name: str, setup: Setup) -> BoolArray:
    """Rows with the setup's word of a factor; all where it has none."""
    codes = rows.setups.factors[name]
    if name not in setup:
        return np.ones(codes.size, dtype=bool)
    code = rows.code(name, setup[name])
    return np.asarray((codes == code) & (code != NO_LEVEL))


def _density(rows: CodedRows, job: Setup) -> float | None:
    """The job's density slope: that of its band, else of its design's runs."""
    band = job.get("density_band")
    if band is not None and (known := density_slope(rows, band)) is not None:
        return known
    if "design" in job and (had := _had(rows, "design", job)).any():
        return float(np.median(rows.setups.slopes[DENSITY][had]))
    return None


def expected_rates(each: FittedKind, whole: Sequence[Setup]) -> Expected:
    """Predict one kind for whole setups, on new lots."""
    rows = each.rows
    factors: dict[str, IntArray] = {
        name: np.array([_code(rows, name, setup) for setup in whole], dtype=np.intp)
        for name in rows.levels
    }
    dense: FloatArray = np.array([_density(rows, setup) or 0.0 for setup in whole])
    bare = np.array([without_backing(setup) for setup in whole])
    return expected(
        fit=each.fit, factors=factors, slopes={DENSITY: dense}, renewed=LOT, without=bare
    )


def without_backing(setup: Setup) -> bool:
    """Whether a setup has neither backing, nor supplier and lot of it."""
    return setup.get("backing") == "none"


def _code(rows: CodedRows, name: str, setup: Setup) -> int:
    bare = name == SUPPLIER and without_backing(setup)
    return NO_LEVEL if bare or name not in setup else rows.code(name, setup[name])


def _believed(kind: Expected, differs: FloatArray, row: int) -> float:
    """Rate of a kind, as far from that of the setup now as a difference is likely."""
    now = float(kind.rate[0])
    return now + float(differs[row]) * (float(kind.rate[row]) - now)


def _correlation(fitted: Sequence[FittedKind]) -> FloatArray:
    """Of the kinds, by their lots; lots are matched by name."""
    words = sorted({str(word) for each in fitted for word in each.rows.levels[LOT]})
    effects = []
    for each in fitted:
        own = each.fit.coefficients[each.fit.layout.place(LOT)]
        named = dict(zip(map(str, each.rows.levels[LOT]), own, strict=False))
        effects.append(np.array([named.get(word, math.nan) for word in words]))
    return lot_correlation(effects=effects)


def _predicted(
    changes: Setup,
    row: int,
    saved: Saving,
    unit: float,
    measure: Measure,
    backed: Support,
    by_kind: Mapping[str, float],
    level: float,
    money: ExpectedSaving | None,
) -> Prediction:
    rate = float(saved.rate[row])
    reach = two_sided_quantile(level) * float(saved.rate_error[row])
    lower, upper = _rate_interval(rate, reach, measure)
    return Prediction(
        changes=changes,
        rate=rate / unit,
        rate_interval=(lower / unit, upper / unit),
        saved=_saving(
            float(saved.saving[row]) / unit,
            float(saved.saving_error[row]) / unit,
            float(saved.told[row]) / unit,
            level,
        ),
        support=backed,
        by_kind=by_kind,
        money=money,
    )


def _saving(expected: float, error: float, told: float, level: float) -> ExpectedSaving:
    reach = two_sided_quantile(level) * error
    return ExpectedSaving(
        expected=expected,
        error=error,
        interval=(expected - reach, expected + reach),
        told=told,
        chance_better=_chance(expected, error),
    )


def _rate_interval(rate: float, reach: float, measure: Measure) -> tuple[float, float]:
    """Bounds on the scale of the effects, so that they stay rates."""
    middle = effect_of(rate, measure)
    off = reach / float(slope_at(np.asarray(rate), measure))
    lower, upper = rate_at(np.array([middle - off, middle + off]), measure)
    return float(lower), float(upper)


def _money(
    fitted: Sequence[FittedKind],
    kinds: Sequence[Expected],
    costs: UnitCosts,
    correlation: FloatArray,
    chance: FloatArray,
    level: float,
) -> list[ExpectedSaving]:
    each_kind = [costs.defective[each.kind.name] for each in fitted]
    sums = summed(kinds=kinds, worth=each_kind, correlation=correlation, chance=chance)
    now = costs.material[0]
    return [
        _saving(float(saving) + now - material, float(error), float(told) + now - material, level)
        for saving, error, told, material in zip(*sums, costs.material, strict=True)
    ]


def _chance(saving: float, error: float) -> float:
    """Chance that a saving is above zero; without doubt where only prices differ."""
    if error > 0:
        return float(ndtr(saving / error))
    return 0.5 + 0.5 * float(np.sign(saving))
