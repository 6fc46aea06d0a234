"""Which setup factors go with a defect: every level against the others on like jobs."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
import polars as pl

from logbook.fairness.rows import CodedRows, coded_rows
from logbook.fairness.terms import DENSITY, LOT, PLAIN, SUPPLIER, terms_for
from logbook.kernels.arguments import FloatArray
from logbook.kernels.multiplicity import false_discovery_by_family
from logbook.kernels.setup_model import SetupFit, fit
from logbook.kernels.setup_model.effects import LevelEffect, effect
from logbook.kernels.setup_model.setups import IntArray
from logbook.vocabulary.defects import DefectKind

Bounds: TypeAlias = tuple[float, float]
_UNKNOWN: Bounds = (math.nan, math.nan)

FALSE_FINDINGS = 0.10
"""Share of false ones accepted among the findings."""
LITTLE_SHARED = 0.5

_ALIKE: Mapping[str, tuple[str, ...]] = {
    "fabric": ("backing", "weight_band"),
    "backing": ("fabric", "weight_band"),
    "weight_band": ("fabric", "backing"),
    "backing_layers": ("fabric", "backing"),
    "backing_shade": ("fabric", "backing"),
    SUPPLIER: ("fabric", "backing"),
}
_BOUGHT = {SUPPLIER, "backing", "weight_band"}
"""Changing one of these changes the lot too."""


@dataclass(frozen=True, slots=True)
class FairEffect:
    """One level of a factor, against the factor's other levels.

    Rates are fractions of pieces, or per stitch for events; NaN where the level shares no jobs
    with the others.

    Attributes
    ----------
    factor, level
        The column, and the word of it.
    runs, exposure, count
        All that was sewn with the level, and how often it happened there.
    crude_rate
        ``count`` over ``exposure``, whatever the jobs were.
    rate, rate_interval, others_rate
        Over the same like jobs, with the level and with the others.
    ratio, ratio_interval
        Of these two rates; the interval is at 99 % for a finding, since the most striking of
        many is apt to be partly luck.
    p_value, q_value, finding
        Whether it stands out; false findings among all factors' are held at 10 %.
    like_for_like_share
        Share of the level's exposure on jobs that others were used on too.
    notes
        What to keep in mind.
    """

    factor: str
    level: str
    runs: int
    exposure: float
    count: int
    crude_rate: float
    rate: float = math.nan
    rate_interval: Bounds = _UNKNOWN
    others_rate: float = math.nan
    ratio: float = math.nan
    ratio_interval: Bounds = _UNKNOWN
    p_value: float = math.nan
    q_value: float = math.nan
    finding: bool = False
    like_for_like_share: float = 0.0
    notes: tuple[str, ...] = ()


def fair_effects(
    cells: pl.DataFrame, *, kind: DefectKind, level: float = 0.95
) -> tuple[FairEffect, ...]:
    """Set every recorded level of every factor against the factor's other levels.

    Parameters
    ----------
    cells
        Cells grouped by :data:`logbook.fairness.CELLS_BY`.
    kind
        The kind.
    level
        Two-sided confidence level.

    Returns
    -------
    tuple
        Factors in the order of the terms, levels by name; a factor that never varies is left
        out.

    Raises
    ------
    TooLittleData
        Too few defects in all.
    AnalysisError
        The cells lack a column.

    Notes
    -----
    False discovery on two levels, factors as families: Benjamini & Bogomolov (2014).
    """
    rows = coded_rows(cells, kind=kind)
    fitted = fit(setups=rows.setups, terms=terms_for("comparing", rows.varying))
    asked = [
        (factor, code)
        for factor in PLAIN
        if factor in rows.varying
        for code, word in enumerate(rows.levels[factor])
        if word is not None
    ]
    found = [_effect(rows, fitted, factor, code, level) for factor, code in asked]
    p_values = np.array([math.nan if each is None else each.p_value for each in found])
    q_values = false_discovery_by_family(
        p_values=p_values, family=np.array([factor for factor, _ in asked])
    )
    return tuple(
        _fair_effect(rows, fitted, factor, code, each, float(q_value), level)
        for (factor, code), each, q_value in zip(asked, found, q_values, strict=True)
    )


def strata_for(rows: CodedRows, factor: str) -> IntArray:
    """What must be alike for levels of a factor to be compared, as one code a row."""
    strata: IntArray = np.zeros(rows.setups.trials.size, dtype=np.intp)
    for name in _ALIKE.get(factor, ("fabric",)):
        strata = strata * len(rows.levels[name]) + rows.setups.factors[name]
    return strata


def _effect(
    rows: CodedRows, fitted: SetupFit, factor: str, code: int, level: float
) -> LevelEffect | None:
    return effect(
        fit=fitted,
        factor=factor,
        level=code,
        strata=strata_for(rows, factor),
        renewed=LOT if factor in _BOUGHT else None,
        slope=DENSITY if factor == "density_band" else None,
        slope_of_level=_density_of(rows) if factor == "density_band" else None,
        confidence=level,
    )


def _density_of(rows: CodedRows) -> FloatArray:
    """Density slope at each density band."""
    codes = rows.setups.factors["density_band"]
    values = np.zeros(len(rows.levels["density_band"]))
    values[codes] = rows.setups.slopes[DENSITY]
    return values


def _fair_effect(
    rows: CodedRows,
    fitted: SetupFit,
    factor: str,
    code: int,
    found: LevelEffect | None,
    q_value: float,
    level: float,
) -> FairEffect:
    setups, unit = rows.setups, rows.unit
    own = setups.factors[factor] == code
    exposure = float(setups.trials[own].sum()) * unit
    count = int(setups.count[own].sum())
    plain = FairEffect(
        factor=factor,
        level=str(rows.levels[factor][code]),
        runs=int(setups.runs[own].sum()),
        exposure=exposure,
        count=count,
        crude_rate=count / exposure,
    )
    if found is None:
        return replace(plain, notes=("It was never used on the same jobs as another.",))
    finding = q_value <= FALSE_FINDINGS
    shown = found
    if finding:
        wider = _effect(rows, fitted, factor, code, 1.0 - (1.0 - level) / 5.0)
        shown = found if wider is None else wider
    return replace(
        plain,
        rate=found.rate.estimate / unit,
        rate_interval=(found.rate.lower / unit, found.rate.upper / unit),
        others_rate=found.others_rate.estimate / unit,
        ratio=found.ratio.estimate,
        ratio_interval=(shown.ratio.lower, shown.ratio.upper),
        p_value=found.p_value,
        q_value=q_value,
        finding=finding,
        like_for_like_share=found.like_for_like_share,
        notes=_notes(plain, found),
    )


def _notes(plain: FairEffect, found: LevelEffect) -> tuple[str, ...]:
    notes = []
    if found.like_for_like_share < LITTLE_SHARED:
        notes.append(
            f"Only {found.like_for_like_share:.0%} of it lies on jobs that others were used on too."
        )
    if plain.count == 0:
        notes.append(
            f"None in {plain.exposure:,.0f}: the rate is probably below 3 in {plain.exposure:,.0f}."
        )
    return tuple(notes)
