"""Which setup factors go with a defect, on like jobs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import groupby

import polars as pl

from logbook.adjusted_comparison import CELLS_BY, AdjustedEffect, Aliased, adjusted_factors
from logbook.questions.factors.confounding import crude_of
from logbook.questions.factors.result import FactorEffect, FactorsResult, Level
from logbook.shop import Shop
from logbook.vocabulary.defects import DefectKind


def analyse(
    cells: pl.DataFrame, *, kind: DefectKind, shop: Shop, level: float = 0.95
) -> FactorsResult:
    """Set every recorded level of every setup factor against the factor's other levels.

    Parameters
    ----------
    cells
        Cells grouped by ``CELLS_BY``. With a ``kind`` column those of ``kind`` are taken.
    kind
        The kind asked about; ``any`` for pieces with any defect.
    shop
        What the shop believes about mills.
    level
        Two-sided confidence level; ratios of findings have a wider interval.

    Returns
    -------
    FactorsResult
        Where no factor varied it says so instead of comparing.

    Raises
    ------
    TooLittleData
        Too few defects in all to compare setups by, or every piece shows the defect.
    AnalysisError
        The cells lack a column.

    Notes
    -----
    One model of all factors, lots and designs (:mod:`logbook.kernels.setup_model`). Crude rates:
    Wilson (1927) or Garwood (1936) intervals. Held to what is planted in the sample logs in
    ``tests/unit/questions/factors/test_planted_factors.py``.
    """
    # The others are laid out along the rows, so that their order must be the record's own.
    found = adjusted_factors(_in_order(cells), kind=kind, level=level)
    return FactorsResult(
        kind=kind,
        level=level,
        exposure=found.exposure,
        count=found.count,
        effects=_by_strength(_effects(found.effects, found.aliased, kind, level)),
        curves=found.curves,
        never_varied=found.never_varied,
        aliased=found.aliased,
        fit_warnings=found.warnings,
        same_mill=shop.same_mill,
    )


def _in_order(cells: pl.DataFrame) -> pl.DataFrame:
    """The cells by what they are grouped by; runs that come in order are left as they are."""
    by = [name for name in (*CELLS_BY, "exposure", "count") if name in cells.columns]
    refs = cells[by[0]]
    if refs.null_count() == 0 and refs.is_sorted() and refs.n_unique() == refs.len():
        return cells
    return cells.sort(by)


def _effects(
    effects: Sequence[AdjustedEffect], pairs: Sequence[Aliased], kind: DefectKind, level: float
) -> list[FactorEffect]:
    found = []
    for _, group in groupby(effects, key=lambda each: each.factor):
        own = list(group)
        crude = crude_of(own, measure=kind.measure, level=level)
        for one, its_crude in zip(own, crude, strict=True):
            found.append(FactorEffect(one, its_crude, _aliases(one, pairs)))
    return found


def _aliases(effect: AdjustedEffect, pairs: Sequence[Aliased]) -> tuple[Level, ...]:
    """What always goes with a level."""
    found: list[Level] = []
    for pair in pairs:
        if pair.level is None:
            continue
        if (pair.factor, pair.level) == (effect.factor, effect.level):
            found.append((pair.other, pair.other_level))
        if (pair.other, pair.other_level) == (effect.factor, effect.level):
            found.append((pair.factor, pair.level))
    return tuple(found)


def _by_strength(effects: Sequence[FactorEffect]) -> tuple[FactorEffect, ...]:
    def key(each: FactorEffect) -> tuple[bool, float, float]:
        # Of two levels one is the other turned round: rounding must not say which comes first.
        p_value = _rounded(each.adjusted.p_value) if each.comparable else math.inf
        return (
            not each.adjusted.finding,
            -_rounded(each.at_least) if each.adjusted.finding else 0.0,
            p_value,
        )

    return tuple(sorted(effects, key=key))


def _rounded(number: float) -> float:
    return float(f"{number:.9g}")
