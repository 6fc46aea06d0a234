"""Which setup factors go with a defect: every level against the others on like jobs."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import polars as pl

from logbook.adjusted_comparison.affordable import fit_affordable
from logbook.adjusted_comparison.aliasing import Aliased, aliased
from logbook.adjusted_comparison.curves import ORDERED, AdjustedCurve, curve_along
from logbook.adjusted_comparison.departures import Apart, JudgedLevel, depart, without
from logbook.adjusted_comparison.rows import (
    UNKNOWN,
    Bounds,
    CodedRows,
    coded_rows,
    renewed_with,
    slope_with,
    strata_for,
)
from logbook.adjusted_comparison.terms import MAIN_EFFECTS, terms_for
from logbook.kernels.setup_model import SetupFit
from logbook.kernels.setup_model.effects import AskedEffect, LevelEffect, effects
from logbook.kernels.setup_model.levels import FEWEST_RUNS
from logbook.kernels.setup_model.setups import IntArray
from logbook.vocabulary.defects import DefectKind

FALSE_DISCOVERY_RATE = 0.10
"""Share of false ones accepted among the findings."""
LITTLE_SHARED = 0.5


@dataclass(frozen=True, slots=True)
class AdjustedEffect:
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
    ratio, ratio_interval, ratio_level
        Of these two rates, and the level of the interval: 99 % for a finding, since the most
        striking of many is apt to be partly luck.
    p_value, q_value, finding
        Whether it stands out; false findings among all factors' are held at 10 %.
    like_for_like_share
        Share of the level's exposure on jobs that others were used on too.
    apart
        Levels that the others do not hold, as they depart from the rest themselves.
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
    rate_interval: Bounds = UNKNOWN
    others_rate: float = math.nan
    ratio: float = math.nan
    ratio_interval: Bounds = UNKNOWN
    ratio_level: float = math.nan
    p_value: float = math.nan
    q_value: float = math.nan
    finding: bool = False
    like_for_like_share: float = 0.0
    apart: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class AdjustedFactors:
    """All that one fit says of the setup factors.

    Attributes
    ----------
    effects
        Factors in the order of the terms, levels by name.
    curves
        Of ordered factors that vary.
    never_varied
        Factors of one level, and that level; None where none is recorded at all.
    aliased
        What never varies apart.
    exposure, count
        In all.
    warnings
        Of the fit.
    """

    effects: tuple[AdjustedEffect, ...]
    curves: tuple[AdjustedCurve, ...]
    never_varied: Mapping[str, str | None]
    aliased: tuple[Aliased, ...]
    exposure: float
    count: int
    warnings: tuple[str, ...]


def adjusted_factors(
    cells: pl.DataFrame, *, kind: DefectKind, level: float = 0.95
) -> AdjustedFactors:
    """Set every recorded level of every factor against the factor's other levels.

    Parameters
    ----------
    cells
        Cells grouped by :data:`logbook.adjusted_comparison.CELLS_BY`.
    kind
        The kind.
    level
        Two-sided confidence level.

    Raises
    ------
    TooLittleData
        Too few defects in all, or every piece shows it.
    AnalysisError
        The cells lack a column.

    Notes
    -----
    False discovery on two levels, factors as families: Benjamini & Bogomolov (2014). A level that
    stands out is not among the others of the rest (:mod:`.departures`).
    """
    rows = coded_rows(cells, kind=kind)
    fitted = fit_affordable(setups=rows.setups, terms=terms_for("comparing", rows.varying))
    recorded = {
        factor: [word for word in rows.levels[factor] if word is not None]
        for factor in MAIN_EFFECTS
    }
    several = [factor for factor in MAIN_EFFECTS if len(recorded[factor]) > 1]
    return AdjustedFactors(
        effects=_effects(rows, fitted, several, level),
        curves=tuple(
            curve_along(rows, fitted, factor, level=level)
            for factor in ORDERED
            if factor in several
        ),
        never_varied={
            factor: words[0] if words else None
            for factor, words in recorded.items()
            if factor not in several
        },
        aliased=aliased(rows),
        exposure=float(rows.setups.trials.sum()) * rows.unit,
        count=int(rows.setups.count.sum()),
        warnings=fitted.warnings,
    )


def _effects(
    rows: CodedRows, fitted: SetupFit, factors: Sequence[str], level: float
) -> tuple[AdjustedEffect, ...]:
    asked = [
        (factor, code)
        for factor in factors
        for code, word in enumerate(rows.levels[factor])
        if word is not None
    ]
    matched = {factor: strata_for(rows, factor) for factor in factors}

    def judge(
        levels: Sequence[tuple[str, int]], apart: Mapping[str, Apart]
    ) -> list[LevelEffect | None]:
        strata = {
            factor: without(rows, factor, matched, apart.get(factor, ()))
            for factor in dict.fromkeys(factor for factor, _ in levels)
        }
        wanted = [_asked(rows, factor, code, strata[factor]) for factor, code in levels]
        return effects(fit=fitted, asked=wanted, confidence=level)

    judged = depart(asked, judge=judge, rate=FALSE_DISCOVERY_RATE)
    return tuple(_adjusted_effect(rows, each, level) for each in judged)


def _asked(rows: CodedRows, factor: str, code: int, strata: IntArray) -> AskedEffect:
    slope, slope_of_level = slope_with(rows, factor)
    return AskedEffect(factor, code, strata, renewed_with(factor), slope, slope_of_level)


def _adjusted_effect(rows: CodedRows, judged: JudgedLevel, level: float) -> AdjustedEffect:
    runs, exposure, count = rows.counted(judged.factor, judged.code)
    words = rows.levels[judged.factor]
    found = judged.found
    plain = AdjustedEffect(
        factor=judged.factor,
        level=str(words[judged.code]),
        runs=runs,
        exposure=exposure,
        count=count,
        crude_rate=count / exposure,
        apart=tuple(str(words[code]) for code in judged.apart),
    )
    if found is None:
        return replace(
            plain,
            notes=(f"It shares no jobs with the others on which both have {FEWEST_RUNS} runs.",),
        )
    finding = judged.q_value <= FALSE_DISCOVERY_RATE
    shown_level = 1.0 - (1.0 - level) / 5.0 if finding else level
    shown = found.ratio_at(shown_level)
    return replace(
        plain,
        rate=found.rate.estimate / rows.unit,
        rate_interval=rows.interval(found.rate),
        others_rate=found.others_rate.estimate / rows.unit,
        ratio=found.ratio.estimate,
        ratio_interval=(shown.lower, shown.upper),
        ratio_level=shown_level,
        p_value=found.p_value,
        q_value=judged.q_value,
        finding=finding,
        like_for_like_share=found.like_for_like_share,
        notes=_notes(plain, found),
    )


def _notes(plain: AdjustedEffect, found: LevelEffect) -> tuple[str, ...]:
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
